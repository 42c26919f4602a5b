"""Asking the pool: the address carries the question, and the answer is the one that `drainpool query` gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypedDict
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.pages.pictures import answer_picture
from pipeline.desk.web.addresses import ANYONE, DeskPage
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.refusals import RefusedError, too_often
from pipeline.desk.web.render import page
from pipeline.desk.web.visitor import visitor_of
from pipeline.errors import DrainpoolError, WrongUseError
from pipeline.jobs.query.part import Part, read_part
from pipeline.jobs.query.steps import BY, QueryResult
from pipeline.jobs.query.text import as_csv, counted_text, tables, where_text
from reports.words import between, percent, plain, two_figures, verdict
from schemas.trade.small_numbers import FEWER
from schemas.vocabulary import CHOICES, CLIMATE_MAIN_GROUPS, Choice

OPTIONS = ("component", "climate", "setup", "grade", "base", "since", "until", "by")
POT_ENDS = ("pot_from", "pot_to")
LONGEST = 120
MOST_WAITING = 12
CHOSEN = {"component": "component", "setup": "setup_type", "grade": "component_grade", "base": "base"}


@dataclass(frozen=True)
class ShownShare:
    """One line of an answer's table, in words."""

    share: str
    ratio: str
    average: str
    new_grower: str
    members: str
    series: str
    verdict: str
    why: str


@dataclass(frozen=True)
class ShownComponent:
    """A component's sentence, its drawing (SVG; None where no share has figures) and its table."""

    name: str
    text: str
    picture: str | None
    rows: list[ShownShare]


@dataclass(frozen=True)
class ShownPart:
    """The answer for the whole part that was asked for (`level` empty), or for one level of it.
    `few`: too few growers to say more."""

    level: str
    who: str
    few: bool
    components: list[ShownComponent]


class AnswerPage(TypedDict):
    """What `query.html` shows of an answer; `answered` is None where there is none."""

    answered: Mapping[str, Any] | None
    answers: list[ShownPart]
    where: str
    csv_address: str


class QueryPage(AnswerPage):
    """The answer below the form: what was asked, what was wrong with it, and what there is to choose from."""

    asked: Mapping[str, str]
    wrong: str
    choices: Mapping[str, tuple[Choice, ...]]
    climates: tuple[Choice, ...]
    levels: tuple[str, ...]


NO_ANSWER: AnswerPage = {"answered": None, "answers": [], "where": "", "csv_address": ""}


async def query_page(request: Request) -> Response:
    """The form; below it the answer, where the address carries a question."""
    asked = query_in(request)
    if "ask" not in request.query_params and not asked:
        return page(request, "query.html", **_page(asked))
    try:
        answered = await _answer(request, asked)
    except WrongUseError as error:
        return page(request, "query.html", 400, **_page(asked, wrong=in_page_words(str(error))))
    except DrainpoolError:
        wrong = "There is no pool to ask yet: it begins with the first month."
        return page(request, "query.html", **_page(asked, wrong=wrong))
    return page(request, "query.html", **_page(asked, answer_values(answered, asked)))


async def query_csv(request: Request) -> Response:
    """The same answer as rows for a spreadsheet."""
    try:
        answered = await _answer(request, query_in(request))
    except DrainpoolError as error:
        return page(
            request,
            "message.html",
            400,
            title="That question can’t be read",
            sentence=in_page_words(str(error)),
        )
    return Response(
        as_csv(answered),
        media_type="text/csv; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="answer.csv"'},
    )


def query_in(request: Request) -> dict[str, str]:
    """What the address asks for, blanks left out."""
    query = request.query_params
    return {name: text for name in (*OPTIONS, *POT_ENDS) if (text := query.get(name, "").strip()[:LONGEST])}


def as_options(asked: Mapping[str, str]) -> dict[str, str | None]:
    """The question as the options of `drainpool query`."""
    low, high = (asked.get(name, "") for name in POT_ENDS)
    ends = [f"{end}l" if end and end[-1:].isdigit() else end for end in (low, high)]
    options: dict[str, str | None] = {name: asked.get(name) for name in OPTIONS if name != "by"}
    return {**options, "pot_volume": "..".join(ends) if low or high else None}


async def _answer(request: Request, asked: Mapping[str, str]) -> QueryResult:
    desk, visitor = desk_of(request), visitor_of(request)
    part, by = read_part(as_options(asked)), asked.get("by")
    if by is not None and by not in BY:
        raise WrongUseError(f"--by: “{by}” is not known. Choose from: {', '.join(BY)}.")
    if desk.limits.queries.full(visitor.sender, desk.clock()):
        logged = f"more than {desk.limits.queries.most} questions in 10 minutes from {visitor.sender}"
        raise too_often("That were many questions.", 10, logged)
    desk.limits.queries.count(visitor.sender, desk.clock())
    return await _in_turn(desk, part, by, asked, visitor.is_coordinator)


async def _in_turn(
    desk: Desk, part: Part, by: str | None, asked: Mapping[str, str], in_full: bool
) -> QueryResult:
    """One question at a time is computed; a few wait for their turn, more are asked to come back."""
    if desk.queries_waiting >= MOST_WAITING:
        raise RefusedError(
            503, "Many are asking just now", "Try again in a minute.", "too many questions at once"
        )
    desk.queries_waiting += 1
    try:
        async with desk.one_query:
            return await run_in_threadpool(desk.reader.answer, part, by, asked, in_full)
    finally:
        desk.queries_waiting -= 1


def answer_values(answered: QueryResult, asked: Mapping[str, str]) -> AnswerPage:
    """What the page shows of an answer: for the whole part, then for each group."""
    target = answered.settings.target_ratio
    groups = [("", answered.value["components"], answered.counts)]
    groups += [
        (plain(group["level"]), group["components"], counts)
        for group, counts in zip(answered.value["groups"], answered.group_counts, strict=True)
    ]
    return {
        "answered": answered.value,
        "answers": [
            ShownPart(
                level,
                counted_text(answered, counts),
                counted_text(answered, counts) == FEWER,
                [_component(name, table, target) for name, table in tables(components)],
            )
            for level, components, counts in groups
        ],
        "where": where_text(answered.value["where"]),
        "csv_address": "/ask.csv?" + urlencode(asked),
    }


def _component(name: str, table: Mapping[str, Any], target: float) -> ShownComponent:
    return ShownComponent(
        plain(name),
        table["recommendation"]["text"],
        answer_picture(plain(name), table["shares"]),
        [
            ShownShare(
                percent(row["share"]),
                "–" if row["ratio"] is None else two_figures(row["ratio"]),
                _range(row["ci"]),
                _range(row["new_series"]),
                FEWER if row["members"] is None else str(row["members"]),
                "" if row["series"] is None else str(row["series"]),
                verdict(row["verdict"], target),
                row.get("why") or "",
            )
            for row in table["shares"]
        ],
    )


def _range(ends: Any) -> str:
    return "–" if not ends or None in ends else between(*ends)


def in_page_words(text: str) -> str:
    """A message about an option of the command line, as the page's fields are called."""
    return text.replace("--pot-volume", "pot size").replace("--", "")


def _page(asked: Mapping[str, str], answer: AnswerPage = NO_ANSWER, wrong: str = "") -> QueryPage:
    return {
        **answer,
        "asked": asked,
        "wrong": wrong,
        "choices": {name: CHOICES[column] for name, column in CHOSEN.items()},
        "climates": (*CLIMATE_MAIN_GROUPS, *CHOICES["climate_zone"]),
        "levels": tuple(BY),
    }


ADDRESSES = (
    DeskPage("/ask", query_page, ANYONE, label="Ask"),
    DeskPage("/ask.csv", query_csv, ANYONE, reached_by="a link under each answer"),
)
