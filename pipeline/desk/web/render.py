"""Pages from templates: every value escaped, the same head and foot around each."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.refusals import RefusedError
from pipeline.desk.web.visitor import start_anonymous_session, visitor_of
from pipeline.errors import DrainpoolError
from pipeline.jobs.receiving.checking import pool_settings
from pipeline.settings import Settings


def page(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A page of the desk as an answer. `visitor`, `navigation`, `csrf_token` and `pool_name` are known to every template."""
    visitor = visitor_of(request)
    text = (
        environment()
        .get_template(template)
        .render(
            visitor=visitor,
            csrf_token=visitor.csrf_token,
            pool_name=_pool_name(desk_of(request)),
            here=request.url.path,
            navigation=[item for item in request.app.state.navigation if item.listed_for(visitor)],
            invented=desk_of(request).reader.invented,
            **values,
        )
    )
    response = HTMLResponse(text, status)
    start_anonymous_session(request, response)
    return response


def _pool_name(desk: Desk) -> str:
    """What the pool calls itself; its settings file may be broken just now, and the pages still stand."""
    try:
        return pool_settings(desk.pool).pool_name
    except DrainpoolError:
        return Settings().pool_name


def to(path: str) -> Response:
    """On to another page, after a form was taken."""
    return RedirectResponse(path, status_code=303)


def refusal(request: Request, refused: RefusedError) -> Response:
    """The page that says what was refused, and why; logged where it is an offence."""
    if refused.logged:
        desk_of(request).log(request, f"refused {refused.status}: {refused.logged}")
    return page(
        request,
        "message.html",
        refused.status,
        title=refused.title,
        sentence=refused.sentence,
        way=refused.way,
    )


@cache
def environment() -> Environment:
    """The desk's templates."""
    made = Environment(
        loader=PackageLoader("pipeline.desk"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["drawn"] = lambda svg: Markup(svg)  # noqa: S704 - built as an element tree, never from text
    made.filters["count"] = count
    return made


def count(number: int, noun: str, plural: str | None = None) -> str:
    """1 row, 2 rows."""
    return f"{number} {noun if number == 1 else plural or noun + 's'}"
