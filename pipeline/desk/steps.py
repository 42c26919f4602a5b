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
from typing import cast

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from pipeline.desk.pages import assets, climate, door, fill, front, mine, month, query, room, send
from pipeline.desk.web.addresses import ANYONE, COORDINATOR, MEMBERS, DeskForm, DeskPage, admitted, navigation
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.refusals import NotHereError, RefusedError, SignInFirstError
from pipeline.desk.web.render import refusal, to
from pipeline.desk.web.shield import Shield
from pipeline.errors import DrainpoolError

PAGES: tuple[DeskPage, ...] = (
    DeskPage("/", front.front_page, ANYONE),
    DeskPage("/send", send.send_page, ANYONE, label="Send a sheet"),
    DeskPage("/fill", fill.fill_page, ANYONE, label="Fill one in"),
    DeskPage("/ask", query.query_page, ANYONE, label="Ask"),
    DeskPage("/reports", front.reports_page, ANYONE, label="Reports"),
    DeskPage("/room", room.room_page, COORDINATOR, label="The room"),
    DeskPage("/mine", mine.mine_page, MEMBERS, label="My tests"),
    DeskPage("/sign-in", door.sign_in_page, ANYONE, label="Sign in", signed_out_only=True),
    DeskPage("/desk.css", assets.style, ANYONE),
    DeskPage("/desk.js", assets.script, ANYONE),
    DeskPage("/mark.svg", assets.logo, ANYONE),
    DeskPage("/robots.txt", assets.robots, ANYONE, reached_by="asked for by search engines"),
    DeskPage("/blank.{ending:str}", front.blank_sheet, ANYONE),
    DeskPage("/reports/{path:path}", front.report_file, ANYONE),
    DeskPage("/checked/{token}", send.checked_page, ANYONE, reached_by="the answer to a sheet sent"),
    DeskPage("/checked/{token}/sheet.csv", send.checked_sheet, ANYONE),
    DeskPage("/checked/{token}/change", fill.change_page, ANYONE),
    DeskPage("/receipts/{number}", send.receipt_page, MEMBERS),
    DeskPage("/climate", climate.climate_page, ANYONE),
    DeskPage("/ask.csv", query.query_csv, ANYONE, reached_by="a link under each answer"),
    DeskPage(
        "/invitation/{token}",
        door.invitation_page,
        ANYONE,
        reached_by="a link that the coordinator passes on",
    ),
    DeskPage("/mine/runs.csv", mine.own_file, MEMBERS),
    DeskPage("/mine/mend", fill.mend_page, MEMBERS),
    DeskPage("/room/inbox/{name}", room.inbox_page, COORDINATOR),
    DeskPage("/room/people", room.people_page, COORDINATOR),
    DeskPage("/room/month/{name}", month.run_page, COORDINATOR),
    DeskPage(
        "/room/month/{name}/words",
        month.run_words,
        COORDINATOR,
        reached_by="asked for by the script of the run's page",
    ),
)
"""Every page and file of the desk: address, handler, who may see it, and how a visitor gets there: a `label` puts it
into the navigation of those who may see it; other pages are linked from a template or say how they are reached."""

FORMS: tuple[DeskForm, ...] = (
    DeskForm("/send", send.take_sheet, ANYONE),
    DeskForm("/checked/{token}/send", send.send_checked, MEMBERS),
    DeskForm("/fill", fill.take_filled, ANYONE),
    DeskForm("/climate", climate.take_means, ANYONE),
    DeskForm("/sign-in", door.take_sign_in, ANYONE),
    DeskForm("/sign-out", door.take_sign_out, ANYONE),
    DeskForm("/invitation/{token}", door.take_invitation, ANYONE),
    DeskForm("/mine/withdraw", mine.take_withdrawal, MEMBERS),
    DeskForm("/mine/answer", mine.take_answer, MEMBERS),
    DeskForm("/mine/nickname", mine.take_nickname, MEMBERS),
    DeskForm("/mine/leave", mine.take_leave, MEMBERS),
    DeskForm("/room/decide", room.take_decision, COORDINATOR),
    DeskForm("/room/withdraw", room.take_withdrawal, COORDINATOR),
    DeskForm("/room/drop", room.take_drop, COORDINATOR),
    DeskForm("/room/invite", room.take_invitation_order, COORDINATOR),
    DeskForm("/room/revoke", room.take_revocation, COORDINATOR),
    DeskForm("/room/month", month.take_run, COORDINATOR),
)
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
