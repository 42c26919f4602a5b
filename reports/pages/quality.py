"""What came in: received, accepted, held by rule, left out of the headline and why."""

from __future__ import annotations

import polars as pl

from reports.frame import Content
from reports.page import Block, Link, Section, TableBlock, cell, items, say
from reports.pages.shared.held_rows import became_of, held_table, waiting_blocks
from reports.view import MonthView
from reports.words import count, percent, plain, who
from schemas.trade.headline import ANSWERED_ELSEWHERE, REASONS


def quality_content(view: MonthView) -> Content:
    """`quality.html`: counts and reasons, no rows and no names."""
    received = view.received
    accepted, rows = received.get("accepted", 0), received.get("rows", 0)
    headline = (
        f"{count(accepted, 'row')} of {rows:,} accepted".replace(",", "\u202f")
        if rows
        else "Nothing has come in yet"
    )
    sections = [
        Section("How much came in?", tuple(_received(view)), "received"),
        Section("What was held, and why?", tuple(_by_rule(view)), "held"),
        Section("What counts, but not in the headline?", tuple(_outside(view)), "outside"),
        Section("Where did clocks stop or pots run dry?", tuple(_ended(view)), "ended"),
    ]
    unlike = _unlike(view)
    if unlike is not None:
        sections.append(Section("Is anyone’s result unlike the rest?", (unlike,), "unlike"))
    aside = _set_aside(view)
    if aside is not None:
        sections.append(Section("What was set aside?", (aside,), "aside"))
    return Content(
        (headline,),
        ("Held rows wait for their sender; each sender has them with what was read and how to mend it.",),
        tuple(sections),
    )


def _received(view: MonthView) -> list[Block]:
    received, counts = view.received, view.results["counts"]
    rows = tuple(
        (cell(words), cell(f"{received.get(name, 0):,}".replace(",", "\u202f")))
        for name, words in (
            ("sheets", "sheets received"),
            ("rows", "rows in them"),
            ("accepted", "rows accepted"),
            ("held", f"rows held{became_of(view)}"),
        )
    )
    in_force = say(
        f"In force after mendings and withdrawals: {who(counts['members'], counts['series'], counts['runs'])}."
    )
    return [
        TableBlock("Since the pool began", ("what", "how many"), rows, frozenset({1}), stays=True),
        in_force,
        *waiting_blocks(view.results),
    ]


def _by_rule(view: MonthView) -> list[Block]:
    held = held_table(view)
    blocks: list[Block] = [held if held is not None else say("No row is held.")]
    advice = view.held_by_rule.filter(pl.col("level") == "advice").sort(
        ["rows", "rule"], descending=[True, False]
    )
    if not advice.is_empty():
        rows = tuple((cell(row["title"]), cell(str(row["rows"]))) for row in advice.iter_rows(named=True))
        blocks.append(TableBlock("Advice given", ("what", "rows"), rows, frozenset({1}), stays=True))
    blocks.append(
        say(
            "Every rule, with how to mend: ",
            Link("columns and rules", "dictionary.html#rules"),
            ".",
            tone="small",
        )
    )
    return blocks


def _outside(view: MonthView) -> list[Block]:
    runs = view.runs
    if runs.is_empty():
        return [say("No runs yet.")]
    reasons = (*ANSWERED_ELSEWHERE, *REASONS)
    counts = runs.select(reason.holds.sum().alias(reason.name) for reason in reasons).row(0)
    rows = tuple(
        (cell(reason.words), cell(str(number)))
        for reason, number in zip(reasons, counts, strict=True)
        if number
    )
    if not rows:
        return [say("All accepted runs stand in the headline."), _without_baseline(runs)]
    note = "A run may count under several."
    return [
        TableBlock(
            "Accepted runs outside the headline", ("why", "runs"), rows, frozenset({1}), note, stays=True
        ),
        _without_baseline(runs),
    ]


def _without_baseline(runs: pl.DataFrame) -> Block:
    series = runs.group_by("member", "series").agg((pl.col("component_share") == 0).any().alias("has"))
    missing = series.filter(~pl.col("has")).height
    if not missing:
        return say("Every series has its own straight base.")
    return say(
        f"{count(missing, 'series', 'series')} of {series.height} without straight base: only their own shares can be set side by side."
    )


def _unlike(view: MonthView) -> Block | None:
    """How many growers stand apart from the rest, beside how many would by luck; never who."""
    for answer in view.answers:
        agreement = answer.details.get("agreement")
        if agreement is None:
            continue
        apart, share = agreement["members_beyond_2"], agreement["share"]
        if apart is None or share is None:
            continue
        row = answer.overall.at(share)
        growers = row.members if row is not None else answer.overall.members
        by_luck = round(growers * view.shown.unlike_by_luck)
        lucky = count(by_luck, "grower") if by_luck else "nobody"
        return say(
            f"At {percent(share)} {plain(answer.component)}, {count(apart, 'grower')} of {growers} {'lies' if apart == 1 else 'lie'} further from the rest than pots, "
            f"growers and series explain in 19 of 20; by luck alone, about {lucky}. Their tests count like all others: a slow pot "
            "may be true. The coordinator asks in private."
        )
    return None


def _ended(view: MonthView) -> list[Block]:
    runs = view.runs
    if runs.is_empty():
        return [say("No runs yet.")]
    table = (
        runs.group_by("component_share")
        .agg(
            pl.len().alias("runs"),
            (pl.col("ended") == "stopped").sum().alias("stopped"),
            (pl.col("ended") == "ran_dry").sum().alias("ran_dry"),
        )
        .sort("component_share")
    )
    rows = tuple(
        (
            cell(percent(row["component_share"])),
            cell(str(row["runs"])),
            cell(str(row["stopped"])),
            cell(str(row["ran_dry"])),
        )
        for row in table.iter_rows(named=True)
    )
    meaning = items(
        "Clock stopped: still dripping when the watch was stopped, so the true time is longer.",
        "Ran dry: dripping ended first, the mix kept the water; no rate can be given.",
        tone="small",
    )
    return [
        TableBlock(
            "How runs ended, by share",
            ("share", "runs", "clock stopped", "ran dry"),
            rows,
            frozenset({1, 2, 3}),
            stays=True,
        ),
        meaning,
    ]


def _set_aside(view: MonthView) -> Block | None:
    if view.set_aside is None or view.set_aside.is_empty():
        return None
    rows = tuple(
        (cell(row["reason"]), cell(str(row["runs"]))) for row in view.set_aside.iter_rows(named=True)
    )
    return TableBlock("Set aside by the coordinator", ("reason", "runs"), rows, frozenset({1}), stays=True)
