"""A member's answer to runs that wait: it is true and counts, or it is left out; a mended sheet is the third answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.pool.own import of_member
from pipeline.desk.web.addresses import MEMBERS, DeskForm
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.forms import field, read_form
from pipeline.desk.web.refusals import NotHereError
from pipeline.desk.web.render import to
from pipeline.desk.web.visitor import signed_in
from pipeline.jobs.decisions.requests import Request as PoolRequest
from pipeline.jobs.decisions.requests import leave_request
from pipeline.jobs.decisions.waiting import question_about
from schemas.rules.waits import RUN_WAITS

ANSWERS = {
    "keep": "the member says that it is true",
    "set_aside": "the member says that it is to be left out",
}


@dataclass(frozen=True)
class WaitingQuestion:
    """One question about a run that waits, or about a whole series that equals another one (`row` None)."""

    series: str
    submission: str
    row: int | None
    sentence: str


def waiting_questions(desk: Desk, code: str, requests: Sequence[PoolRequest]) -> list[WaitingQuestion]:
    """What waits for an answer of this member and has none in the inbox yet. Slow: call it off the event loop."""
    waiting = of_member(desk.reader.view().waiting, code)
    asked: dict[tuple[str, int | None], WaitingQuestion] = {}
    for run in waiting.to_dicts():
        row = run["sheet_row"] if run["rule"] == RUN_WAITS else None
        asked.setdefault(
            (run["submission"] if row else run["series_key"], row),
            WaitingQuestion(run["series"], run["submission"], row, question_about(run)),
        )
    answered = [_about(request) for request in requests if request.kind in ANSWERS]
    return [question for question in asked.values() if _about(question) not in answered]


def _about(asked: WaitingQuestion | PoolRequest) -> tuple[str | None, str | None, int | None]:
    row = asked.row if isinstance(asked, WaitingQuestion) else asked.sheet_row
    return (asked.series, None, None) if row is None else (None, asked.submission, row)


async def take_waiting_answer(request: Request) -> Response:
    """Leaves a member's answer about own runs that wait."""
    visitor = signed_in(request)
    form = await read_form(request)
    desk, code = desk_of(request), visitor.code or ""
    submission, row, series = field(form, "submission", 64), field(form, "row", 12), field(form, "series", 64)
    asked = await run_in_threadpool(waiting_questions, desk, code, [])
    chosen = [
        question
        for question in asked
        if (question.submission, question.series, str(question.row or "")) == (submission, series, row)
    ]
    kind = field(form, "answer", 12)
    if kind not in ANSWERS or not chosen:
        raise NotHereError(f"{code} answered about a run that does not wait")
    question, words = chosen[0], field(form, "words", 800)
    about = (
        {"series": question.series}
        if question.row is None
        else {"submission": question.submission, "sheet_row": question.row}
    )
    leave_request(
        desk.pool,
        PoolRequest(kind, code, desk.clock(), words or ANSWERS[kind], member=code, **about),
        desk.token(8),
    )
    return to("/mine?said=decided")


ADDRESSES = (DeskForm("/mine/waiting", take_waiting_answer, MEMBERS),)
