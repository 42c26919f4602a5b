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
from collections.abc import Awaitable, Callable
from typing import cast

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from pipeline.desk.pages import assets, climate, door, fill, front, mine, month, query, room, send
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.refusals import NotHereError, RefusedError, SignInFirstError
from pipeline.desk.web.render import refusal, to
from pipeline.desk.web.shield import Shield
from pipeline.errors import DrainpoolError

Handler = Callable[[Request], Awaitable[Response]]

PAGES: tuple[tuple[str, Handler], ...] = (
    ("/", front.front_page),
    ("/desk.css", assets.style),
    ("/desk.js", assets.script),
    ("/mark.svg", assets.logo),
    ("/robots.txt", assets.robots),
    ("/blank.{ending:str}", front.blank_sheet),
    ("/reports", front.reports_page),
    ("/reports/{path:path}", front.report_file),
    ("/send", send.send_page),
    ("/checked/{word}", send.checked_page),
    ("/checked/{word}/sheet.csv", send.checked_sheet),
    ("/checked/{word}/change", fill.change_page),
    ("/receipts/{number}", send.receipt_page),
    ("/fill", fill.fill_page),
    ("/climate", climate.climate_page),
    ("/ask", query.query_page),
    ("/ask.csv", query.query_csv),
    ("/sign-in", door.sign_in_page),
    ("/invitation/{word}", door.invitation_page),
    ("/mine", mine.mine_page),
    ("/mine/runs.csv", mine.own_file),
    ("/mine/mend", fill.mend_page),
    ("/room", room.room_page),
    ("/room/inbox/{name}", room.inbox_page),
    ("/room/people", room.people_page),
    ("/room/month/{name}", month.run_page),
    ("/room/month/{name}/words", month.run_words),
)
FORMS: tuple[tuple[str, Handler], ...] = (
    ("/send", send.take_sheet),
    ("/checked/{word}/send", send.send_checked),
    ("/fill", fill.take_filled),
    ("/climate", climate.take_means),
    ("/sign-in", door.take_sign_in),
    ("/sign-out", door.take_sign_out),
    ("/invitation/{word}", door.take_invitation),
    ("/mine/withdraw", mine.take_withdrawal),
    ("/mine/answer", mine.take_answer),
    ("/mine/nickname", mine.take_nickname),
    ("/mine/leave", mine.take_leave),
    ("/room/decide", room.take_decision),
    ("/room/withdraw", room.take_withdrawal),
    ("/room/drop", room.take_drop),
    ("/room/invite", room.take_invitation_order),
    ("/room/revoke", room.take_revocation),
    ("/room/month", month.take_run),
)
"""What changes something comes in by POST only, and only with the CSRF token of the page that it was sent from."""


def application(desk: Desk) -> ASGIApp:
    """The desk as an ASGI application."""
    routes = [Route(path, handler, methods=["GET"]) for path, handler in PAGES]
    routes += [Route(path, handler, methods=["POST"]) for path, handler in FORMS]
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
    inner.state.desk = desk
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
