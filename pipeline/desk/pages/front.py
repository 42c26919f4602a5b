"""The front page, the report pages and the blank sheets."""

from __future__ import annotations

from functools import cache

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from pipeline.desk.pool.reports import MONTH
from pipeline.desk.web.addresses import ANYONE, DeskPage
from pipeline.desk.web.desk import desk_of
from pipeline.desk.web.refusals import NotHereError
from pipeline.desk.web.render import page, to
from pipeline.desk.web.visitor import visitor_of

HOUR_S = 3_600
KEPT_AN_HOUR = {".js", ".css", ".svg", ".png"}
"""Files of a report that a browser may keep for an hour; pages and figures are asked for anew."""
BLANK_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


async def front_page(request: Request) -> Response:
    """What a visitor can do here, and the newest report."""
    desk, visitor = desk_of(request), visitor_of(request)
    months = await run_in_threadpool(desk.reports.months)
    shown = [month for month in months if month.published or visitor.account is not None]
    return page(request, "front.html", months=shown, started=desk.accounts.read().has_coordinator)


async def reports_page(request: Request) -> Response:
    """All months that this visitor may read."""
    desk, visitor = desk_of(request), visitor_of(request)
    months = await run_in_threadpool(desk.reports.months)
    return page(
        request,
        "reports.html",
        months=[month for month in months if month.published or visitor.account is not None],
    )


async def report_file(request: Request) -> Response:
    """One file of a month's report."""
    desk, visitor = desk_of(request), visitor_of(request)
    typed = request.path_params["path"]
    if typed == "index.html":
        return to("/reports")
    if MONTH.match(typed):
        return to(f"/reports/{typed}/")
    if visitor.account is None:
        address = await run_in_threadpool(desk.reports.for_readers, typed)
        if address is None or await run_in_threadpool(desk.reports.file, address) is None:
            raise NotHereError()
        if address != typed:
            return to(f"/reports/{address}")
    path = await run_in_threadpool(desk.reports.file, typed)
    if path is None:
        raise NotHereError()
    kept = {"cache-control": f"private, max-age={HOUR_S}"} if path.suffix in KEPT_AN_HOUR else {}
    return FileResponse(path, headers=kept)


async def blank_sheet(request: Request) -> Response:
    """A blank run sheet to fill in at home."""
    ending = request.path_params["ending"]
    if ending not in BLANK_TYPES:
        raise NotHereError()
    return _download(await run_in_threadpool(_blank, ending), BLANK_TYPES[ending], f"run_sheet.{ending}")


@cache
def _blank(ending: str) -> bytes:
    from reports.blank_sheet import blank_sheet_csv, blank_sheet_xlsx
    from schemas.kinds.run import RUN

    return blank_sheet_csv(RUN).encode() if ending == "csv" else blank_sheet_xlsx(RUN)


def _download(content: bytes, media_type: str, name: str) -> Response:
    return Response(
        content, media_type=media_type, headers={"content-disposition": f'attachment; filename="{name}"'}
    )


ADDRESSES = (
    DeskPage("/", front_page, ANYONE),
    DeskPage("/reports", reports_page, ANYONE, label="Reports"),
    DeskPage("/blank.{ending:str}", blank_sheet, ANYONE),
    DeskPage("/reports/{path:path}", report_file, ANYONE),
)
