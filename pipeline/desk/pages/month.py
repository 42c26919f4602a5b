"""Running the month from the room: run, correct, publish; the run's words as they come."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from pipeline.desk.pool.month_runs import MonthRun
from pipeline.desk.web.addresses import COORDINATOR, DeskForm, DeskPage
from pipeline.desk.web.desk import desk_of
from pipeline.desk.web.forms import field, read_form
from pipeline.desk.web.refusals import NotHereError, RefusedError
from pipeline.desk.web.render import page, to
from pipeline.desk.web.visitor import coordinator
from pipeline.errors import DrainpoolError
from pipeline.jobs.dates import read_month

LONGEST_REASON = 400


async def take_run(request: Request) -> Response:
    """Starts the month, as `drainpool month` does, and leads to its words."""
    visitor = coordinator(request)
    form = await read_form(request)
    desk = desk_of(request)
    what, reason = field(form, "what", 20), " ".join(field(form, "reason", LONGEST_REASON).split())
    try:
        month = read_month(field(form, "month", 10), desk.clock())
    except DrainpoolError as error:
        raise RefusedError(400, "That is no month to run", str(error)) from None
    more: list[str] = []
    if what == "correct":
        if not reason:
            raise RefusedError(
                400, "A reason is missing", "Say why in a few words; they are kept in the journal."
            )
        more = ["--correct", f"--reason={reason}"]
    elif what == "publish":
        more = ["--publish"]
    elif what != "run":
        raise NotHereError()
    name = desk.months.start(month, visitor.code or "", desk.clock(), more)
    if name is None:
        raise RefusedError(
            409, "A month is running already", "One month runs at a time. Wait until it has ended."
        )
    desk.log(request, f"month {month} started by {visitor.code} ({what})")
    return to(f"/room/month/{name}")


async def run_page(request: Request) -> Response:
    """A run's words so far; looks again by itself until it has ended."""
    coordinator(request)
    run = _run(request)
    return page(request, "run.html", run=run, going=run.exit_code is None)


async def run_words(request: Request) -> Response:
    """The same for the page's script."""
    coordinator(request)
    run = _run(request)
    return JSONResponse({"lines": run.lines, "ended": run.exit_code is not None})


def _run(request: Request) -> MonthRun:
    run = desk_of(request).months.look(request.path_params["name"])
    if run is None:
        raise NotHereError()
    return run


ADDRESSES = (
    DeskPage("/room/month/{name}", run_page, COORDINATOR),
    DeskPage(
        "/room/month/{name}/words",
        run_words,
        COORDINATOR,
        reached_by="asked for by the script of the run's page",
    ),
    DeskForm("/room/month", take_run, COORDINATOR),
)
