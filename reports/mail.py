"""A ready mail to each contributor: their result, the answer, what to check. Public figures only, plain text."""

from __future__ import annotations

import textwrap

import polars as pl

from reports.answer import Answer
from reports.changed import changed_sentences
from reports.headline import BASE, POTS, claim
from reports.pages.shared.growers import Grower, growers
from reports.view import MonthView
from reports.words import as_straight, count, mix, month_name, plain, times_as_fast

WIDTH = 72
CHECK_A_DRAFT = (
    "This is a draft. Please look at your page, and write to the coordinator if a number is not what you measured; "
    "nothing is published before contributors have had time to look."
)
MEND_LATER = (
    "If a number is not what you measured, send the sheet again with the row mended: it replaces the old one."
)


def mail_texts(view: MonthView) -> dict[str, str]:
    """Mail text per grower's code, for every grower with runs in force."""
    known = view.answers
    return {grower.member: _mail(view, grower, known) for grower in growers(view)}


def _mail(view: MonthView, grower: Grower, known: list[Answer]) -> str:
    month = month_name(view.month)
    lines = [f"Subject: {view.pool_name}, {month}: your drain tests", "", f"Hello {grower.member},", ""]
    if view.results.get("invented"):
        lines += ["Invented data: not growing advice.", ""]
    lines += _wrapped(
        f"Your {count(grower.series, 'series', 'series')} with {count(grower.runs, 'run')} stand in the pool of {month}. Thank you."
    )
    for answer in known:
        lines += _own(view, grower, answer)
    if known:
        lines += ["", "The pool together:", *_wrapped(claim(known[0], view.results))]
    if view.changed is not None:
        lines += ["", *_wrapped("Since the report before: " + " ".join(changed_sentences(view.changed)))]
    lines += [
        "",
        *_wrapped(CHECK_A_DRAFT if view.draft else MEND_LATER),
        "",
        f"Your page: {grower.page}" if grower.page else "",
        "The whole report: index.html",
    ]
    return "\n".join(lines).strip() + "\n"


def _own(view: MonthView, grower: Grower, answer: Answer) -> list[str]:
    own = view.members.filter(
        (pl.col("member") == grower.member) & (pl.col("component") == answer.component)
    ).drop_nulls(["ratio"])
    case = view.case_of(answer)
    decided = own.filter(pl.col("state") == case.state)
    state, rows = (case.other_state, own) if decided.is_empty() else (case.state, decided)
    rows = rows.sort("component_share")
    if rows.is_empty():
        return []
    head = f"Your {plain(answer.component)}, {POTS[state]}, against your own {as_straight(BASE)}:"
    return [
        "",
        head,
        *(
            f"  {mix(row['component_share'])}: {times_as_fast(row['ratio'])}"
            for row in rows.iter_rows(named=True)
        ),
    ]


def published_mail(text: str) -> str:
    """The mail of a draft as it reads once the month is published; any other text as it is."""
    return text.replace("\n".join(_wrapped(CHECK_A_DRAFT)), "\n".join(_wrapped(MEND_LATER)))


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH)
