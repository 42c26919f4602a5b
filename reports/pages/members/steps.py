"""A grower's own page: their series beside the pool in plain words. Held rows and questions never stand on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from reports.answer import FRESH, Answer, Range, Share
from reports.charts.own_dots import own_drawing
from reports.frame import Content
from reports.headline import BASE, POTS
from reports.page import Block, Section, TableBlock, cell, say
from reports.pages.members.series import own_series_sections
from reports.pages.shared.growers import Grower, growers
from reports.view import MonthView
from reports.words import (
    as_straight,
    between,
    capital,
    count,
    listed,
    mix,
    percent,
    plain,
    quantity,
    times_as_fast,
    two_figures,
)
from schemas.trade.pots import StandardPot

CHECK_SECTION = "check"
CHECK = (
    "This is a draft for you to check. If a number is not what you measured, send the sheet again with that row mended, "
    "or write to the coordinator; nothing is published before contributors have had time to look."
)


def member_contents(view: MonthView) -> Iterator[tuple[str, str, Content]]:
    """Path, title and content of one page per grower whose code can name a file."""
    known, pot = view.answers, view.pot_of(FRESH)
    for grower in growers(view):
        if grower.page is not None:
            yield grower.page, f"Grower {grower.member}", _content(view, grower, known, pot)


def _content(view: MonthView, grower: Grower, known: list[Answer], pot: StandardPot) -> Content:
    sections: list[Section] = []
    for answer in known:
        own = _own(view, grower, answer)
        if not own.ratios.is_empty():
            sections.append(_beside_the_pool(answer, own))
    sections += own_series_sections(view, grower, pot)
    sections += _did(view, grower, known)
    sections.append(Section("How alike are your pots?", (say(_repeats(grower)),), "repeats"))
    sections += _years(view, grower)
    if view.draft:
        sections.append(Section("Is this right?", (say(CHECK),), CHECK_SECTION))
    sent = f"{count(grower.series, 'series', 'series')}, {count(grower.runs, 'run')}"
    return Content(
        (f"{grower.member}: {_headline(view, grower, known)}",),
        (f"{capital(sent)} of yours stand in the pool. Thank you.",),
        tuple(sections),
    )


@dataclass(frozen=True)
class _Own:
    """A grower's own ratios in one pour state: that whose answer it is, where the grower tested it, else the other."""

    state: str
    ratios: pl.DataFrame


def _own(view: MonthView, grower: Grower, answer: Answer) -> _Own:
    case = view.case_of(answer)
    own = view.members.filter(
        (pl.col("member") == grower.member) & (pl.col("component") == answer.component)
    ).sort("component_share")
    decided = own.filter(pl.col("state") == case.state)
    if not decided.is_empty():
        return _Own(case.state, decided)
    return _Own(case.other_state, own.filter(pl.col("state") == case.other_state))


def _headline(view: MonthView, grower: Grower, known: list[Answer]) -> str:
    """The grower's own figure at the share in focus, or at the largest share they tested."""
    for answer in known:
        pots = POTS[_own(view, grower, answer).state]
        own = _own(view, grower, answer).ratios.drop_nulls(["ratio"])
        if own.is_empty():
            continue
        focus = view.case_of(answer).row
        wanted = own.filter(pl.col("component_share") == (focus.share if focus is not None else -1.0))
        row = (own if wanted.is_empty() else wanted).row(-1, named=True)
        return (
            f"your {percent(row['component_share'])} {plain(answer.component)} drained {times_as_fast(row['ratio'])} as your own "
            f"{as_straight(BASE)}, in {pots}."
        )
    return "without a straight-base pot in the same series there is nothing to set your mixes against yet."


def _did(view: MonthView, grower: Grower, known: list[Answer]) -> list[Section]:
    """How much of the average rests on this grower's tests; the grower alone is spoken of."""
    sentences = []
    for answer in known:
        row = view.case_of(answer).row
        if row is None:
            continue
        weights = view.shown.own_weights.filter(
            (pl.col("component") == answer.component)
            & (pl.col("component_share") == row.share)
            & (pl.col("member") == grower.member)
        )
        for weight in weights.iter_rows(named=True):
            sentences.append(_weight_words(answer, row, weight["part"], (weight["low"], weight["high"])))
    note = "A quick estimate: the average itself is held still, only its range moves."
    return (
        [Section("What did your tests add?", (*sentences, say(note, tone="small")), "added")]
        if sentences
        else []
    )


def _weight_words(answer: Answer, row: Share, part: float, range_without: Range) -> Block:
    now, without = between(*(row.ci or range_without)), between(*range_without)
    mix = f"{percent(row.share)} {plain(answer.component)}"
    carried = f"At {mix} your tests carry about 1 part in {round(1 / part)} of the average."
    if now == without:
        return say(
            f"{carried} Its range, {now}, would be a little wider without them: too little to show in two figures."
        )
    return say(f"{carried} Without them its range would be about {without}; with them it is {now}.")


def _beside_the_pool(answer: Answer, own: _Own) -> Section:
    table = answer.overall if own.state == FRESH else answer.overall.settled or answer.overall
    rows = []
    for row in own.ratios.iter_rows(named=True):
        pooled = table.at(row["component_share"])
        average = two_figures(pooled.ratio) if pooled is not None and pooled.ratio is not None else "–"
        wide = between(*pooled.new_series) if pooled is not None and pooled.new_series else "–"
        mine = two_figures(row["ratio"]) if row["ratio"] is not None else "–"
        span = f" ({between(row['ratio_low'], row['ratio_high'])})" if row["ratio_low"] is not None else ""
        rows.append((cell(mix(row["component_share"])), cell(mine + span), cell(average), cell(wide)))
    headings = (plain(answer.component), "yours (own range)", "average", "other growers")
    figures = TableBlock(
        f"Times as fast as straight peat, {POTS[own.state]}: {plain(answer.component)}", headings, tuple(rows), stays=True,
        note=(
            f"Ranges hold 19 in 20. Behind each average: up to {count(table.members, 'grower')}. "
            "Being at an end of the range is no mistake: pots, peat and water differ."
        ),
    )  # fmt: skip
    drawn = own_drawing(f"drawn-{answer.component}".replace("_", "-"), table, own.ratios)
    blocks: tuple[Block, ...] = (drawn, figures) if drawn is not None else (figures,)
    return Section(
        f"Where do you stand with {plain(answer.component)}?",
        blocks,
        f"own-{answer.component}".replace("_", "-"),
    )


def _repeats(grower: Grower) -> str:
    if grower.two_pots_within is None:
        return "You have filled each mix once. A second pot of the same mix, filled afresh, tells how alike pots are: the most useful next test."
    return (
        f"Two pots of one mix by you lie within {two_figures(grower.two_pots_within)} times of each other, 19 times in 20 "
        f"(from {count(grower.replicates, 'repeated filling')})."
    )


def _years(view: MonthView, grower: Grower) -> list[Section]:
    """The same series in more than one calendar year, straight base and mixes apart."""
    several = view.shown.rates_by_year.filter(pl.col("member") == grower.member)
    if several.is_empty():
        return []
    rows = tuple(
        (
            cell(f"{row['series']}, {percent(row['component_share'])}"),
            cell(row["year"]),
            cell(quantity(row["rate_ml_min_l"])),
            cell(str(row["runs"])),
        )
        for row in several.iter_rows(named=True)
    )
    headings = ("pot", "year", "ml a minute and litre", "runs")
    years = listed(sorted(several["year"].unique()))
    table = TableBlock(capital(f"the same pots in {years}"), headings, rows, frozenset({2, 3}), stays=True)
    return [Section("Has it changed over the years?", (table,), "years")]
