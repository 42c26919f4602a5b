"""Filling in a sheet in the page: the form, and the way from it to the same check as a file's."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.mending import series_form
from pipeline.desk.mending.form_sheet import form_sheet
from pipeline.desk.mending.own_runs import own_runs
from pipeline.desk.pages.send import check_and_keep, may_check
from pipeline.desk.sheets import bench_form
from pipeline.desk.sheets.bench_form import ASKED, MORE_POURS, MOST_POURS, UNITS, WITH_CHOICES
from pipeline.desk.web.addresses import ANYONE, MEMBERS, DeskForm, DeskPage
from pipeline.desk.web.desk import desk_of
from pipeline.desk.web.forms import field, read_form
from pipeline.desk.web.refusals import NotHereError
from pipeline.desk.web.render import page
from pipeline.desk.web.visitor import signed_in, visitor_of

NAME, MENDED_NAME = "filled_in_at_the_desk.csv", "mended_at_the_desk.csv"
LONGEST_FIELD = 500


async def fill_page(request: Request) -> Response:
    """The form, blank, or with the class that the climate finder found."""
    visitor = visitor_of(request)
    found = request.query_params.get("climate_zone", "")[:8]
    fields = {
        "member": visitor.code or "",
        "climate_zone": found,
        "tested_on": f"{desk_of(request).clock():%Y-%m-%d}",
        "pours": request.query_params.get("pours", "")[:3],
    }
    return await _form(request, fields)


async def change_page(request: Request) -> Response:
    """The form again, as it was when a checked sheet was made from it."""
    desk = desk_of(request)
    kept = desk.kept_sheets.check(request.path_params["token"], desk.clock())
    if kept is None or kept.form is None:
        raise NotHereError()
    return await _form(request, kept.form)


async def mend_page(request: Request) -> Response:
    """The form with one own series in it, as the pool and the sheets in the inbox have it."""
    visitor = signed_in(request)
    first = bench_form.first_shown({"from": request.query_params.get("from", "")})
    series = request.query_params.get("series", "")
    runs = await run_in_threadpool(own_runs, desk_of(request), visitor.code or "", series)
    shown = series_form.shown_of(runs, first)
    if not shown:
        raise NotHereError()
    fields = {**series_form.as_fields(shown), "mends": shown[0]["series"], "from": str(first)}
    return await _form(request, fields)


async def take_filled(request: Request) -> Response:
    """More lines, or the check of the sheet that the form makes."""
    desk, visitor = desk_of(request), visitor_of(request)
    form = await read_form(request)
    pours = bench_form.how_many({"pours": field(form, "pours")})
    fields = {name: field(form, name, LONGEST_FIELD) for name in bench_form.field_names(pours)}
    if fields["mends"]:
        signed_in(request)
    if "more" in form:
        return await _form(request, {**fields, "pours": str(min(pours + MORE_POURS, MOST_POURS))})
    if all(pour.blank for pour in bench_form.pours_in(fields)):
        return await _form(request, fields, ["No pour is filled in yet: each needs its mix and its time."])
    if asked := bench_form.in_two_readings(fields):
        return await _form(request, fields, asked)
    may_check(desk, visitor)
    content, leaving = await run_in_threadpool(form_sheet, desk, visitor, fields)
    name = MENDED_NAME if fields["mends"] else NAME
    return await check_and_keep(request, name, content, fields, leaving=leaving)


async def _form(request: Request, fields: dict[str, str], wrong: list[str] | None = None) -> Response:
    runs = []
    if fields.get("mends"):
        visitor = signed_in(request)
        runs = await run_in_threadpool(own_runs, desk_of(request), visitor.code or "", fields["mends"])
    first = bench_form.first_shown(fields)
    return page(
        request,
        "fill.html",
        400 if wrong else 200,
        fields=fields,
        wrong=wrong or [],
        pours=bench_form.pours_in(fields),
        asked=ASKED,
        units=UNITS,
        choices={name: bench_form.choices(name) for name in WITH_CHOICES},
        most=MOST_POURS,
        varies=series_form.varying(series_form.shown_of(runs, first)),
        first=first,
        standing=len(runs),
        others=[
            (
                start,
                min(start + MOST_POURS - 1, len(runs)),
                urlencode({"series": fields["mends"], "from": start}),
            )
            for start in range(1, len(runs) + 1, MOST_POURS)
            if start != first
        ],
    )


ADDRESSES = (
    DeskPage("/fill", fill_page, ANYONE, label="Fill one in"),
    DeskPage("/checked/{token}/change", change_page, ANYONE),
    DeskPage("/mine/mend", mend_page, MEMBERS),
    DeskForm("/fill", take_filled, ANYONE),
)
