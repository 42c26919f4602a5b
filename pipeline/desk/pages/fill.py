"""Filling in a sheet in the page: the form, and the way from it to the same check as a file's."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.pages.send import check_and_keep, may_check
from pipeline.desk.pool.own import of_member
from pipeline.desk.sheets import bench_form
from pipeline.desk.sheets.bench_form import MORE_POURS, MOST_POURS, UNITS, WITH_CHOICES
from pipeline.desk.web.addresses import ANYONE, MEMBERS, DeskForm, DeskPage
from pipeline.desk.web.desk import desk_of
from pipeline.desk.web.forms import field, read_form
from pipeline.desk.web.refusals import NotHereError
from pipeline.desk.web.render import page, to
from pipeline.desk.web.visitor import signed_in, visitor_of
from schemas.trade.labels import label_key

NAME = "filled_in_at_the_desk.csv"
LONGEST_FIELD = 500


async def fill_page(request: Request) -> Response:
    """The form, blank, or with the class that the climate finder found."""
    visitor = visitor_of(request)
    found = request.query_params.get("climate_zone", "")[:8]
    fields = {
        "member": visitor.code or "",
        "climate_zone": found,
        "tested_on": f"{desk_of(request).clock():%Y-%m-%d}",
    }
    return _form(request, fields)


async def change_page(request: Request) -> Response:
    """The form again, as it was when a checked sheet was made from it."""
    desk = desk_of(request)
    kept = desk.kept_sheets.check(request.path_params["token"], desk.clock())
    if kept is None or kept.form is None:
        raise NotHereError()
    return _form(request, kept.form)


async def mend_page(request: Request) -> Response:
    """The form with one own series in it as the pool has it; a series that the form can't hold comes as a sheet."""
    visitor = signed_in(request)
    series = request.query_params.get("series", "")
    seen = await run_in_threadpool(desk_of(request).reader.view)
    runs = of_member(seen.runs, visitor.code or "")
    runs = runs if runs.is_empty() else runs.filter(series_key=label_key(series))
    if runs.is_empty():
        raise NotHereError()
    fields = bench_form.as_fields(runs.to_dicts())
    return to(f"/mine/runs.csv?{urlencode({'series': series})}") if fields is None else _form(request, fields)


async def take_filled(request: Request) -> Response:
    """More lines, or the check of the sheet that the form makes."""
    desk, visitor = desk_of(request), visitor_of(request)
    form = await read_form(request)
    pours = bench_form.how_many({"pours": field(form, "pours")})
    fields = {name: field(form, name, LONGEST_FIELD) for name in bench_form.field_names(pours)}
    if "more" in form:
        return _form(request, {**fields, "pours": str(min(pours + MORE_POURS, MOST_POURS))})
    if all(pour.blank for pour in bench_form.pours_in(fields)):
        return _form(request, fields, "No pour is filled in yet: each needs its mix and its time.", 400)
    may_check(desk, visitor)
    return await check_and_keep(request, NAME, bench_form.as_csv(fields), fields)


def _form(request: Request, fields: dict[str, str], wrong: str = "", status: int = 200) -> Response:
    return page(
        request,
        "fill.html",
        status,
        fields=fields,
        wrong=wrong,
        pours=bench_form.pours_in(fields),
        units=UNITS,
        choices={name: bench_form.choices(name) for name in WITH_CHOICES},
        most=MOST_POURS,
    )


ADDRESSES = (
    DeskPage("/fill", fill_page, ANYONE, label="Fill one in"),
    DeskPage("/checked/{token}/change", change_page, ANYONE),
    DeskPage("/mine/mend", mend_page, MEMBERS),
    DeskForm("/fill", take_filled, ANYONE),
)
