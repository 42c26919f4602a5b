"""Front page, lower part: what 'enough' means, what changed, what was left out, what may be quoted."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from reports import student_t
from reports.answer import Answer, Share, Table, answers
from reports.headline import BASE, quotable
from reports.page import Block, Inline, Link, Section, TableBlock, cell, items, say
from reports.pages.behind import choice_lines
from reports.view import MonthView
from reports.words import (
    as_straight,
    count,
    listed,
    month_name,
    newcomers,
    out_of_twenty,
    percent,
    plain,
    setting_number,
    times_as_fast,
)

OTHER_CHOICES = ((1.1, 0.8), (1.25, 0.9), (1.5, 0.8), (2.0, 0.8))
SUPPORTED_MEMBERS = 4


def enough_section(view: MonthView, answer: Answer) -> Section:
    """The club's two numbers in one sentence, and what other numbers would have given."""
    target, assurance = float(view.settings["target_ratio"]), float(view.settings["assurance"])
    said = (
        f"“Enough” here means: in {out_of_twenty(assurance).removeprefix('about ')} {newcomers(view.results['scope'])} at least "
        f"{setting_number(target)} times as fast as {as_straight(BASE)}, at that share and every larger one tested. "
        "The club chose both numbers."
    )
    blocks: list[Block] = [say(said)]
    lines, how = (
        choice_lines(answer, target, assurance),
        "With others the answer, with freshly filled pots, would be:",
    )
    if not lines:
        others = [choice for choice in OTHER_CHOICES if choice != (target, assurance)]
        lines = [line for choice in others if (line := _with_others(answer.overall, *choice))]
        how = "With others the answer would be (before the check that leaves out one grower at a time):"
    if lines:
        blocks += [say(how, tone="small"), items(*lines, tone="small")]
    return Section("What does “enough” mean?", tuple(blocks), "enough")


def _with_others(table: Table, target: float, assurance: float) -> str:
    rows = [row for row in table.known if row.members >= SUPPORTED_MEMBERS and row.has_new_series]
    if table.members < 5 or not rows:
        return ""
    enough: Share | None = None
    for row in reversed(rows):
        if _chance(row, target) < assurance:
            break
        enough = row
    asked = f"{setting_number(target)} times as fast in {out_of_twenty(assurance).removeprefix('about ')}"
    return f"{asked}: {percent(enough.share)}" if enough else f"{asked}: not reached"


def _chance(row: Share, target: float) -> float:
    """Chance that a new grower's series reaches `target`, redrawn from its 95 % range."""
    if row.ratio is None or row.new_series is None:
        return 0.0
    reach = (math.log(row.new_series[1]) - math.log(row.new_series[0])) / 2
    if reach <= 0:
        return 1.0 if row.ratio >= target else 0.0
    spread = reach / student_t.quantile(0.975, row.df)
    return student_t.probability_below((math.log(row.ratio) - math.log(target)) / spread, row.df)


def changed_section(view: MonthView) -> Section | None:
    """What moved since the month before, and why: new sheets, corrected sheets, or only more certainty."""
    before, reason = view.previous, ""
    if view.correction is not None:
        before, reason = view.correction.before, f"Corrected: {view.correction.reason} "
    if before is None:
        return None
    lines = [*_counts_change(before, view.results), *_answer_changes(before, view.results)]
    against = f"Against {month_name(before['month'])}, edition {before['edition']}. {reason}"
    return Section(
        "What changed?",
        (say(against, tone="small"), items(*lines)),
        "changed",
        paper=view.correction is not None,
    )


def _counts_change(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    moved = []
    for name, noun, plural in (
        ("members", "grower", "growers"),
        ("series", "series", "series"),
        ("runs", "run", "runs"),
    ):
        step = now["counts"][name] - before["counts"][name]
        if step:
            moved.append(
                f"{abs(step)} {'more' if step > 0 else 'fewer'} {noun if abs(step) == 1 else plural}"
            )
    return [f"{listed(moved)}."] if moved else ["The same growers, series and runs."]


def _answer_changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    earlier = {answer.component: answer for answer in answers(before)}
    lines = []
    for answer in answers(now):
        old = earlier.get(answer.component)
        if old is None:
            lines.append(f"{plain(answer.component)}: new this month.")
            continue
        lines += _recommendation_change(old, answer)
        lines += _share_changes(old.overall, answer.overall)
    return lines


def _recommendation_change(old: Answer, new: Answer) -> list[str]:
    was, now = old.overall.recommendation, new.overall.recommendation
    name = plain(new.component)
    if (was.verdict, was.share) == (now.verdict, now.share):
        return [f"The answer for {name} is the same as before; what moved is how sure it is."]
    return [
        f"The answer for {name}: was {_short(was.verdict, was.share)}, is {_short(now.verdict, now.share)}."
    ]


def _short(verdict: str, share: float | None) -> str:
    if verdict == "enough" and share is not None:
        return f"{percent(share)} is enough"
    return {
        "grades_differ": "it depends on the grade",
        "hinges_on_one": "hinges on one grower",
        "not_reached": "not reached",
    }.get(verdict, "too few growers")


def _share_changes(old: Table, new: Table) -> list[str]:
    lines = []
    for row in new.known:
        was = old.at(row.share)
        if was is None or was.ratio is None or row.ratio is None or not was.new_series or not row.new_series:
            continue
        if times_as_fast(was.ratio) == times_as_fast(row.ratio):
            continue
        more = row.members - was.members
        why = f"{count(more, 'more grower', 'more growers')}" if more > 0 else "corrected or added sheets"
        lines.append(
            f"{percent(row.share)}: was {times_as_fast(was.ratio)}, is {times_as_fast(row.ratio)} ({why})."
        )
    return lines


def left_out_section(view: MonthView) -> Section:
    """What was received, held and left out of the headline, with the reasons."""
    received = view.received
    said = (
        f"{count(received.get('sheets', 0), 'sheet')} received, {count(received.get('rows', 0), 'row')}: "
        f"{count(received.get('accepted', 0), 'row')} accepted, {count(received.get('held', 0), 'row')} held. "
        "Nothing held is thrown away: the sender has each row with what was read and how to mend it."
    )
    blocks: list[Block] = [say(said)]
    table = held_table(view)
    if table is not None:
        blocks.append(table)
    blocks.append(say(Link("All of what came in", "quality.html"), tone="small"))
    return Section("What was left out?", tuple(blocks), "left-out", paper=False)


def held_table(view: MonthView) -> TableBlock | None:
    """Rows held per rule, most first; None where none were."""
    held = view.held_by_rule
    if held.is_empty():
        return None
    held = held.filter(held["level"] == "held").sort(["rows", "rule"], descending=[True, False])
    if held.is_empty():
        return None
    rows = tuple((cell(row["title"]), cell(str(row["rows"]))) for row in held.iter_rows(named=True))
    return TableBlock(
        "Held rows by reason",
        ("reason", "rows"),
        rows,
        frozenset({1}),
        "A row held for two reasons counts under both.",
        stays=True,
    )


def quote_section(view: MonthView, answer: Answer) -> Section:
    """The sentence to paste, and the files."""
    files: list[tuple[Inline, ...]] = [
        (Link(name, name, True), f": {FILES.get(name, '')}") for name in view.downloads
    ]
    blocks = (say(quotable(answer, view.results), tone="quote"), items(*files, tone="small"))
    return Section("To quote or take along", blocks, "quote")


FILES = {
    "pool.csv": "every accepted run, members by code",
    "pool.parquet": "the same, for programs",
    "results.json": "every figure of these pages",
}
