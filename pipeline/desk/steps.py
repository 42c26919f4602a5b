"""The desk in order: one application, every address of it, and what stands around them.

A request passes the shield (measure and headers), is met by one handler (below), and leaves one of three things
behind: nothing; a line in the accounts file; a request or a sheet in the pool's inbox, which the next run of
the month carries out and writes into the journal. The desk reads the readers' copy of the pool only.

    front    front page, reports, blank sheets       send          check a sheet, its receipt, send it
    door     invitations, signing in and out         fill          the form for a small test, stopwatch
    climate  climate class from monthly means        query         the pooled comparison for a part
    mine     own tests, withdraw, answer, leave      room, month   the coordinator's
"""

from __future__ import annotations

import traceback
from itertools import chain
from typing import cast

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from pipeline.desk.pages import (
    assets,
    climate,
    door,
    fill,
    front,
    how_to_test,
    mine,
    month,
    query,
    room,
    send,
    waiting,
)
from pipeline.desk.web.addresses import DeskForm, DeskPage, admitted, navigation
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.refusals import NotHereError, RefusedError, SignInFirstError
from pipeline.desk.web.render import refusal, to
from pipeline.desk.web.shield import Shield
from pipeline.errors import DrainpoolError

ROOMS = (send, fill, how_to_test, query, front, room, month, mine, waiting, door, climate, assets)
"""In the order in which their pages stand in the navigation."""
ADDRESSES = tuple(chain.from_iterable(pages_room.ADDRESSES for pages_room in ROOMS))
PAGES: tuple[DeskPage, ...] = tuple(address for address in ADDRESSES if isinstance(address, DeskPage))
"""Every page and file of the desk, as the rooms of `pages` list them."""
FORMS: tuple[DeskForm, ...] = tuple(address for address in ADDRESSES if isinstance(address, DeskForm))
"""What changes something comes in by POST only, and only with the CSRF token of the page that it was sent from."""


def application(desk: Desk) -> ASGIApp:
    """The desk as an ASGI application."""
    routes = [Route(page.path, admitted(page), methods=["GET"]) for page in PAGES]
    routes += [Route(form.path, admitted(form), methods=["POST"]) for form in FORMS]
    inner = Starlette(
        routes=routes,
        exception_handlers={
            RefusedError: _refused,
            SignInFirstError: _sign_in_first,
            DrainpoolError: _not_now,
            HTTPException: _no_such_page,
            Exception: _unforeseen,
        },
    )
    inner.state.desk, inner.state.navigation = desk, navigation(PAGES)
    return Shield(inner)


async def _refused(request: Request, error: Exception) -> Response:
    return refusal(request, cast(RefusedError, error))


async def _sign_in_first(_request: Request, error: Exception) -> Response:
    return to(f"/sign-in?then={cast(SignInFirstError, error).then}")


async def _not_now(request: Request, error: Exception) -> Response:
    """The pool can't be read, or a setting is broken: the coordinator's log has the words."""
    told = "Nothing was changed. Try again in a minute; if it stays like this, tell the coordinator."
    return refusal(request, RefusedError(503, "The pool can’t be read just now", told, str(error)))


async def _no_such_page(request: Request, error: Exception) -> Response:
    """Unknown addresses and wrong methods, in the same words as a page that is not for this person."""
    return refusal(request, NotHereError())


async def _unforeseen(request: Request, error: Exception) -> Response:
    """Something of ours broke: the log has the details, the person a sentence."""
    desk_of(request).log(request, f"not foreseen at {request.method} {request.url.path}")
    desk_of(request).say("".join(traceback.format_exception(error)))
    return PlainTextResponse(
        "Something went wrong that was not foreseen. Nothing was sent to the pool by this step. Go back and try once more; if it happens again, tell the coordinator when it was.",
        500,
    )
