"""My tests: own dots, series, receipts and held rows; withdraw, answer, choose a name, take the data, leave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypedDict

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.pages.door import CODE
from pipeline.desk.pages.pictures import dots_picture
from pipeline.desk.pages.waiting import WaitingQuestion, waiting_questions
from pipeline.desk.pool import own
from pipeline.desk.sheets.receipts import KeptSheet
from pipeline.desk.web.addresses import MEMBERS, DeskForm, DeskPage
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.forms import field, read_form
from pipeline.desk.web.refusals import NotHereError, RefusedError
from pipeline.desk.web.render import page, to
from pipeline.desk.web.visitor import sign_out, signed_in
from pipeline.jobs.decisions.questions import Question, questions
from pipeline.jobs.decisions.requests import KINDS, leave_request, waiting_requests
from pipeline.jobs.decisions.requests import Request as PoolRequest
from pipeline.jobs.own_result.wording import HEADING, SeriesText, series_texts
from reports.words import plain
from schemas.trade.labels import label_key

CSV = "text/csv; charset=utf-8"


@dataclass(frozen=True)
class WaitingSheet:
    """A sheet that was sent and is not in the pool yet, with its own result in words, and its series by label."""

    kept: KeptSheet
    own_result: list[SeriesText]
    series: list[str]


class MinePage(TypedDict):
    """What `mine.html` shows. `held`: the rows of the store's table of that name. `pictures`: dots with their drawing.
    `receipts`: each with whether it is in the pool. `waiting`: requests in the inbox, what and about what."""

    waiting_sheets: list[WaitingSheet]
    own_result_heading: str
    series: list[own.OwnSeries]
    runs: int
    held: list[dict[str, Any]]
    pictures: list[tuple[own.OwnDots, str]]
    receipts: list[tuple[KeptSheet, bool]]
    waiting: list[tuple[str, str]]
    questions: list[Question]
    runs_waiting: list[WaitingQuestion]


async def mine_page(request: Request) -> Response:
    """Everything that the pool holds of the member signed in, and what they asked of it."""
    visitor = signed_in(request)
    desk, code = desk_of(request), visitor.code or ""
    said = {
        "withdrawn": "Noted. The series leaves the pool with the next run of the month.",
        "answered": "Thank you. Your answer goes to the coordinator.",
        "named": "Noted.",
        "decided": "Thank you. Your answer counts from the next run of the month.",
    }
    values = await run_in_threadpool(_values, desk, code)
    return page(
        request, "mine.html", **values, code=code, said=said.get(request.query_params.get("said", ""), "")
    )


def _values(desk: Desk, code: str) -> MinePage:
    seen = desk.reader.view()
    runs, held = own.of_member(seen.standing, code), own.of_member(seen.held, code)
    in_pool = set() if seen.receipts.is_empty() else set(seen.receipts["submission"].to_list())
    waits = [
        request for _, request in waiting_requests(desk.pool) if label_key(request.by) == label_key(code)
    ]
    pictures = own.dots(desk.reader.contrasts(), code) if not runs.is_empty() else []
    asked = questions(desk.pool) if desk.reader.there else []
    receipts = desk.kept_sheets.receipts(code)
    return {
        "waiting_sheets": [
            WaitingSheet(
                kept, series_texts(kept.results), sorted({result["series"] for result in kept.results})
            )
            for kept in receipts
            if kept.submission not in in_pool
        ],
        "own_result_heading": HEADING,
        "runs_waiting": waiting_questions(desk, code, waits),
        "series": own.own_series(runs),
        "runs": runs.height,
        "held": held.filter("waits").to_dicts() if not held.is_empty() else [],
        "pictures": [
            (picture, dots_picture(_described(picture), picture.own, picture.others)) for picture in pictures
        ],
        "receipts": [(kept, kept.submission in in_pool) for kept in receipts],
        "waiting": [
            (KINDS[request.kind], request.series or request.words)
            for request in waits
            if request.kind not in ("joined", "invited")
        ],
        "questions": [
            question
            for question in asked
            if question.member_key == label_key(code)
            and question.open
            and not _answered(waits, question.series)
        ],
    }


def _answered(waits: list[PoolRequest], series: str | None) -> bool:
    return any(
        request.kind == "answer" and label_key(request.series or "") == label_key(series or "")
        for request in waits
    )


def _described(picture: own.OwnDots) -> str:
    count = len(picture.others)
    others = f"{count} tests of {picture.growers} other growers" if count else "no others yet"
    return f"Your {len(picture.own)} tests with {plain(picture.component)}, grade {picture.grade}, beside {others}; times as fast as each grower's own straight base."


async def own_file(request: Request) -> Response:
    """All own data as a file, or one series as a sheet to mend."""
    visitor = signed_in(request)
    desk, code = desk_of(request), visitor.code or ""
    seen = await run_in_threadpool(desk.reader.view)
    runs = own.of_member(seen.standing, code)
    series = request.query_params.get("series")
    if series is not None:
        runs = runs if runs.is_empty() else runs.filter(series_key=label_key(series))
        if runs.is_empty():
            raise NotHereError()
        return _file(own.as_sheet(runs), "series_to_mend.csv")
    if runs.is_empty() and not seen.runs.columns:
        raise NotHereError()
    return _file(own.everything(runs, own.of_member(seen.held, code)), f"all_of_{code}.csv")


def _file(text: str, name: str) -> Response:
    return Response(
        "\ufeff" + text, media_type=CSV, headers={"content-disposition": f'attachment; filename="{name}"'}
    )


async def take_withdrawal(request: Request) -> Response:
    """Leaves a request that takes one own series out of later months."""
    visitor = signed_in(request)
    form = await read_form(request)
    desk, code = desk_of(request), visitor.code or ""
    series, reason = field(form, "series", 64), field(form, "reason", 300)
    seen = await run_in_threadpool(desk.reader.view)
    runs = own.of_member(seen.standing, code)
    if runs.is_empty() or runs.filter(series_key=label_key(series)).is_empty():
        raise NotHereError(f"{code} asked to withdraw a series that is not theirs")
    _leave(desk, "withdraw", code, reason or "asked by the member", series)
    return to("/mine?said=withdrawn")


async def take_answer(request: Request) -> Response:
    """Leaves a member's answer to a question about an odd run."""
    visitor = signed_in(request)
    form = await read_form(request)
    desk, code = desk_of(request), visitor.code or ""
    series, words = field(form, "series", 64), field(form, "words", 800)
    asked = await run_in_threadpool(questions, desk.pool) if desk.reader.there else []
    if not any(
        question.member_key == label_key(code) and (question.series_key or "") == label_key(series)
        for question in asked
    ):
        raise NotHereError(f"{code} answered a question that was not put to them")
    if "happened" in form:
        words = f"Yes, that really happened. {words}".strip()
    if not words:
        raise RefusedError(
            400,
            "There is no answer yet",
            "Go back and choose “Yes, that really happened”, or write a few words.",
        )
    _leave(desk, "answer", code, words, series or None)
    return to("/mine?said=answered")


async def take_nickname(request: Request) -> Response:
    """Leaves a request to be named otherwise than by the code; blank goes back to the code."""
    visitor = signed_in(request)
    form = await read_form(request)
    desk, code = desk_of(request), visitor.code or ""
    name = " ".join(field(form, "nickname", 60).split())
    if name and (not CODE.match(name) or taken(desk, name, code)):
        raise RefusedError(
            400,
            "That name can’t be used",
            "A nickname has 2 to 32 letters, digits or hyphens, begins with a letter or digit, and is nobody else’s name or code.",
        )
    desk.accounts.call(code, name or None)
    _leave(desk, "nickname", code, name)
    return to("/mine?said=named")


def taken(desk: Desk, name: str, code: str) -> bool:
    """Whether a name is another member's code or nickname."""
    others = [
        account
        for account in desk.accounts.read().accounts.values()
        if label_key(account.code) != label_key(code)
    ]
    names = {label_key(text) for account in others for text in (account.code, account.nickname) if text}
    runs = desk.reader.view().standing
    codes = set() if runs.is_empty() else set(runs["member_key"].unique().to_list()) - {label_key(code)}
    return label_key(name) in names | codes


async def take_leave(request: Request) -> Response:
    """Leaves the pool: all own runs go out of later months, the account is closed."""
    visitor = signed_in(request)
    form = await read_form(request)
    desk, code = desk_of(request), visitor.code or ""
    if label_key(field(form, "sure", 64)) != label_key(code):
        raise RefusedError(
            400, "Nothing was changed", f"To leave, type your code, {code}, into the field beside the button."
        )
    if visitor.is_coordinator:
        raise RefusedError(
            409, "A coordinator can’t leave like this", "Let another coordinator close this account."
        )
    _leave(desk, "leave", code, "the member leaves")
    desk.accounts.revoke(code)
    desk.log(request, f"left: {code}")
    response = page(
        request,
        "message.html",
        title="You have left",
        sentence="Your account is closed. With the next run of the month your runs leave all later reports; reports already made are history. To have your data erased, write to the coordinator.",
    )
    sign_out(response)
    return response


def _leave(desk: Desk, kind: str, code: str, words: str, series: str | None = None) -> None:
    leave_request(
        desk.pool, PoolRequest(kind, code, desk.clock(), words, member=code, series=series), desk.token(8)
    )


ADDRESSES = (
    DeskPage("/mine", mine_page, MEMBERS, label="My tests"),
    DeskPage("/mine/runs.csv", own_file, MEMBERS),
    DeskForm("/mine/withdraw", take_withdrawal, MEMBERS),
    DeskForm("/mine/answer", take_answer, MEMBERS),
    DeskForm("/mine/nickname", take_nickname, MEMBERS),
    DeskForm("/mine/leave", take_leave, MEMBERS),
)
