"""The coordinator's room: what needs a human, the inbox, the month, withdrawals; members and their invitations."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypedDict

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.accounts.people import members_of
from pipeline.desk.pages.door import CODE, note_access
from pipeline.desk.pages.receipt_values import receipt_values
from pipeline.desk.pages.send import as_kept_sheet
from pipeline.desk.pool.month_runs import MonthRun
from pipeline.desk.pool.own import of_member
from pipeline.desk.pool.reports import ShownMonth
from pipeline.desk.sheets.receipts import KeptSheet
from pipeline.desk.web.addresses import COORDINATOR, DeskForm, DeskPage
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.forms import field, read_form
from pipeline.desk.web.refusals import NotHereError, RefusedError
from pipeline.desk.web.render import page, to
from pipeline.desk.web.visitor import coordinator
from pipeline.jobs.attention import ListedMatter, matters, with_outcomes
from pipeline.jobs.decisions.questions import Aside, Question, questions, set_aside_now
from pipeline.jobs.decisions.requests import KINDS, drop_request, leave_request, waiting_requests
from pipeline.jobs.decisions.requests import Request as PoolRequest
from pipeline.jobs.pool_view import SHORTEST_HASH, View
from pipeline.jobs.receiving.inbox import waiting
from pipeline.jobs.receiving.sheets import INBOX, read_sheet
from schemas.trade.labels import label_key
from schemas.trade.moments import moment_text
from schemas.trade.public_reasons import OTHER, PUBLIC_REASONS

DECIDE = {"ask": "asked", "keep": "kept", "set_aside": "set aside"}
TAKE = {"withdraw", "restore"}
UNDOES = {"keep", "restore"}
"""What may be about runs that are out just now, and so not to be seen in the pool."""


class RoomPage(TypedDict):
    """What `room.html` shows. `requests`: name of the file, what it asks, the request. `receipts`: sent at the desk,
    not in the pool yet. `month`: this month; `months`: those with a report; `runs`: the newest runs of a month."""

    matters: list[ListedMatter]
    answers: list[Question]
    aside: list[Aside]
    requests: list[tuple[str, str, PoolRequest]]
    inbox: list[str]
    receipts: list[KeptSheet]
    month: str
    months: list[ShownMonth]
    running: str | None
    runs: list[MonthRun | None]
    counts: Mapping[str, int]
    public_reasons: Mapping[str, str]


async def room_page(request: Request) -> Response:
    """One list of what needs a human, and everything for the month."""
    coordinator(request)
    desk = desk_of(request)
    values = await run_in_threadpool(_values, desk)
    return page(request, "room.html", **values, said=request.query_params.get("said", "")[:20])


def _values(desk: Desk) -> RoomPage:
    seen = desk.reader.view()
    contrasts = desk.reader.contrasts()
    requests = waiting_requests(desk.pool)
    return {
        "matters": with_outcomes(
            matters(contrasts, seen.held, seen.counts["runs"]),
            _outcomes(desk, [request for _, request in requests]),
        ),
        "answers": [
            question
            for question in (questions(desk.pool) if desk.reader.there else [])
            if question.answer and not question.settled
        ],
        "aside": set_aside_now(desk.pool) if desk.reader.there else [],
        "requests": [(name, KINDS[request.kind], request) for name, request in requests],
        "inbox": inbox_names(desk),
        "receipts": [kept for kept in desk.kept_sheets.receipts() if not _in_pool(seen, kept.submission)][
            :100
        ],
        "month": f"{desk.clock():%Y-%m}",
        "months": desk.reports.months(),
        "running": desk.months.running,
        "runs": [desk.months.look(name) for name in desk.months.names()[:8]],
        "counts": seen.counts,
        "public_reasons": PUBLIC_REASONS,
    }


def _in_pool(seen: View, submission: str) -> bool:
    return not seen.receipts.is_empty() and submission in seen.receipts["submission"]


def _outcomes(desk: Desk, requests: list[PoolRequest]) -> dict[tuple[str, str], str]:
    """What was asked or decided already about a member's series, journalled or waiting in the inbox."""
    outcomes: dict[tuple[str, str], str] = {}
    for question in questions(desk.pool) if desk.reader.there else []:
        outcome = question.settled or (
            f"answered: {question.answer}" if question.answer else f"asked on {question.asked:%Y-%m-%d}"
        )
        outcomes.setdefault((question.member_key, question.series_key or ""), outcome)
    for request in requests:
        if request.kind in DECIDE:
            key = (label_key(request.member or ""), label_key(request.series or ""))
            outcomes[key] = f"{DECIDE[request.kind]}, from the next run on"
    return outcomes


def inbox_names(desk: Desk) -> list[str]:
    """Names of the sheets in the inbox."""
    return waiting(desk.pool, lambda _line: None)


async def inbox_page(request: Request) -> Response:
    """The verdict on one sheet in the inbox, whoever put it there."""
    visitor = coordinator(request)
    desk, name = desk_of(request), request.path_params["name"]
    path = desk.pool / INBOX / name
    if name not in await run_in_threadpool(inbox_names, desk):
        raise NotHereError()
    sheet = await run_in_threadpool(read_sheet, path, name)
    if sheet.content is None:
        raise NotHereError()
    kept = as_kept_sheet(name, await desk.checker.check(sheet), moment_text(desk.clock()), None)
    return page(request, "receipt.html", **receipt_values(kept, visitor), token="", hours=0)


async def take_decision(request: Request) -> Response:
    """Keep, ask or set aside: a request for the next run, with reason, person and day."""
    visitor = coordinator(request)
    form = await read_form(request)
    kind = field(form, "kind", 20)
    if kind not in DECIDE:
        raise NotHereError(f"a decision of no kind: {kind}")
    return _leave(request, kind, visitor.code or "", form, "/room?said=decided")


async def take_withdrawal(request: Request) -> Response:
    """A withdrawal with its reason, or its undoing: a request for the next run."""
    visitor = coordinator(request)
    form = await read_form(request)
    kind = field(form, "kind", 20)
    if kind not in TAKE:
        raise NotHereError(f"a withdrawal of no kind: {kind}")
    return _leave(request, kind, visitor.code or "", form, "/room?said=withdrawn")


def _leave(request: Request, kind: str, by: str, form: Any, then: str) -> Response:
    desk = desk_of(request)
    words, member, series = field(form, "words", 900), field(form, "member", 64), field(form, "series", 64)
    submission = field(form, "submission", 64).lower()
    if not words:
        raise RefusedError(
            400, "A reason is missing", "Say why in a few words; they are kept in the journal."
        )
    if not member and not submission:
        raise RefusedError(400, "Nothing was chosen", "Name a member, a member and series, or a submission.")
    if kind not in UNDOES and not in_pool(desk.reader.view(), member, series, submission):
        raise RefusedError(
            404,
            "The pool holds nothing of that",
            "Look at the spelling of the code and the series. Nothing was changed.",
        )
    about = {"submission": submission} if submission else {"member": member, "series": series or None}
    why = field(form, "why", 20) or OTHER
    if why not in PUBLIC_REASONS:
        raise NotHereError(f"a reason of no kind: {why}")
    leave_request(desk.pool, PoolRequest(kind, by, desk.clock(), words, **about, why=why), desk.token(8))
    return to(then)


def in_pool(seen: View, member: str, series: str, submission: str) -> bool:
    """Whether the pool has a run or a held row of this member (and series), or this sheet."""
    if submission:
        long_enough = len(submission) >= SHORTEST_HASH and not seen.receipts.is_empty()
        return long_enough and any(
            submitted.startswith(submission) for submitted in seen.receipts["submission"]
        )
    for frame in (of_member(seen.standing, member), of_member(seen.held, member)):
        labels = set() if frame.is_empty() else {label_key(label or "") for label in frame["series"]}
        if labels and (not series or label_key(series) in labels):
            return True
    return False


async def take_drop(request: Request) -> Response:
    """Takes one request out of the inbox, undone."""
    visitor = coordinator(request)
    form = await read_form(request)
    desk, name = desk_of(request), field(form, "name", 200)
    if not drop_request(desk.pool, name):
        raise NotHereError()
    desk.log(request, f"request {name} dropped by {visitor.code}")
    return to("/room?said=dropped")


async def people_page(request: Request) -> Response:
    """Members: who last sent when, accounts, invitations."""
    coordinator(request)
    return await _people(request)


async def _people(request: Request, link: str = "", code: str = "", status: int = 200) -> Response:
    desk = desk_of(request)
    seen = await run_in_threadpool(desk.reader.view)
    people = members_of(seen, desk.accounts.read(), desk.clock())
    return page(request, "people.html", status, people=people, link=link, code=code)


async def take_invitation_order(request: Request) -> Response:
    """Makes an invitation for a code and shows its link, this once."""
    visitor = coordinator(request)
    form = await read_form(request)
    desk = desk_of(request)
    code, role = field(form, "code", 64), field(form, "role", 20)
    if not CODE.match(code) or role not in ("member", "coordinator"):
        raise RefusedError(
            400,
            "That is no code",
            "A code has 2 to 32 letters, digits or hyphens and begins with a letter or digit.",
        )
    known = desk.accounts.read().account(code)
    if known is not None and known.role != role:
        raise RefusedError(409, "That code has another part", f"{known.code} is a {known.role} already.")
    token = desk.accounts.invite(
        code, "coordinator" if role == "coordinator" else "member", visitor.code or "", desk.clock()
    )
    note_access(desk, "invited", code, visitor.code or "", role)
    desk.log(request, f"invited: {code} by {visitor.code}")
    link = str(request.url.replace(path=f"/invitation/{token}", query=""))
    return await _people(request, link, code)


async def take_revocation(request: Request) -> Response:
    """Closes an account: its sessions end at once."""
    visitor = coordinator(request)
    form = await read_form(request)
    desk, code = desk_of(request), field(form, "code", 64)
    if desk.accounts.read().account(code) is None and not CODE.match(code):
        raise NotHereError()
    if label_key(code) == label_key(visitor.code or ""):
        raise RefusedError(409, "That is your own account", "Let another coordinator close it.")
    desk.accounts.revoke(code)
    note_access(desk, "revoked", code, visitor.code or "", "")
    desk.log(request, f"revoked: {code} by {visitor.code}")
    return to("/room/people")


ADDRESSES = (
    DeskPage("/room", room_page, COORDINATOR, label="The room"),
    DeskPage("/room/inbox/{name}", inbox_page, COORDINATOR),
    DeskPage("/room/people", people_page, COORDINATOR),
    DeskForm("/room/decide", take_decision, COORDINATOR),
    DeskForm("/room/withdraw", take_withdrawal, COORDINATOR),
    DeskForm("/room/drop", take_drop, COORDINATOR),
    DeskForm("/room/invite", take_invitation_order, COORDINATOR),
    DeskForm("/room/revoke", take_revocation, COORDINATOR),
)
