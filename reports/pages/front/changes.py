"""Front page: what moved since the month before, or since the edition that this one corrects, and why."""

from __future__ import annotations

from reports.answer import Answer, answers
from reports.changed import changed_sentences
from reports.headline import POTS
from reports.page import Block, Inline, Link, Section, items, say
from reports.view import MonthView
from reports.words import (
    capital,
    count,
    day,
    listed,
    mix,
    month_name,
    newcomers,
    out_of_twenty,
    percent,
    plain,
    setting_number,
    two_figures,
)
from schemas.results.whole import ResultsValue
from schemas.trade import verdicts


def changed_section(view: MonthView) -> Section | None:
    """What moved, and why: new sheets, corrected sheets, or only more certainty; nothing in a pool's first month."""
    before = view.correction.before if view.correction is not None else view.previous
    if before is None:
        return None
    blocks: list[Block] = [say(*_against(view, before), tone="small")]
    runs = changed_sentences(view.changed) if view.changed is not None else []
    blocks.append(items(*runs, *_counts_change(before, view.results), *_answer_changes(before, view)))
    return Section("What changed?", tuple(blocks), "changed")


def _against(view: MonthView, before: ResultsValue) -> tuple[Inline, ...]:
    month, edition = before["month"], int(before["edition"])
    words = f"{month_name(month)}, edition {edition}"
    if view.correction is None:
        return ("Against ", Link(words, f"../{month}/index.html"), ".")
    link = Link(words, f"edition-{edition}/index.html")
    return (f"Corrected {day(view.correction.made_on)}: {view.correction.reason} Against ", link, ".")


def _counts_change(before: ResultsValue, now: ResultsValue) -> list[str]:
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
    return [f"{capital(listed(moved))}."] if moved else ["The same growers, series and runs."]


def _answer_changes(before: ResultsValue, view: MonthView) -> list[str]:
    earlier = {answer.component: answer for answer in answers(before)}
    lines = []
    for answer in view.answers:
        old = earlier.pop(answer.component, None)
        if old is None:
            lines.append(f"{capital(plain(answer.component))}: new this month.")
            continue
        lines.append(_recommendation_change(old, answer, view))
        lines += _average_change(old, answer, view)
    lines += [f"{capital(plain(name))}: no longer in the pool." for name in earlier]
    return lines


def _recommendation_change(old: Answer, new: Answer, view: MonthView) -> str:
    was, now = old.overall.recommendation, new.overall.recommendation
    name = capital(plain(new.component))
    if (was.verdict, was.share) != (now.verdict, now.share):
        return (
            f"{name}: {_short(now.verdict, now.share)}. No longer said: {_short(was.verdict, was.share)} "
            f"({_reason(old, new, view)})."
        )
    unchanged = f"{name}: {_short(now.verdict, now.share)}, as before"
    before_row, row = old.overall.deciding, new.overall.deciding
    if row is None or before_row is None or row.p_clears is None or before_row.p_clears is None:
        return f"{unchanged}."
    often, often_before = (out_of_twenty(share.p_clears or 0.0) for share in (row, before_row))
    moved = "as before" if often == often_before else f"{often_before} before"
    target = setting_number(view.settings.target_ratio)
    return (
        f"{unchanged}; in {often} {newcomers(new.overall.scope)} at least {target} times as fast ({moved})."
    )


def _reason(old: Answer, new: Answer, view: MonthView) -> str:
    """Why another thing is said now: corrections, new tests, another pour state, or only a wider range."""
    if view.correction is not None:
        return "sheets were corrected"
    share = old.overall.recommendation.share or new.overall.recommendation.share
    was, now = old.overall.deciding_table.at(share), new.overall.deciding_table.at(share)
    if old.overall.recommendation.state != new.overall.recommendation.state:
        return f"{POTS[new.overall.recommendation.state]} decide now"
    if was is not None and now is not None and now.series > was.series:
        return f"{count(now.series - was.series, 'more series', 'more series')} at {percent(now.share)}"

    ratios = [row.ratio for row in (was, now) if row is not None and row.ratio is not None]
    if len(ratios) == 2 and two_figures(ratios[0]) == two_figures(ratios[1]):
        return "the average stayed, its range is wider"
    return "the tests in force changed"


def _short(verdict: str, share: float | None) -> str:
    if verdict == verdicts.ENOUGH and share is not None:
        return f"{percent(share)} is enough"
    return {
        verdicts.GRADES_DIFFER: "how much is enough depends on the grade",
        verdicts.HINGES_ON_ONE: "not settled, it hinges on one grower",
        verdicts.NOT_REACHED: "no tested share is shown to be enough",
    }.get(verdict, "too few growers to say")


def _average_change(old: Answer, new: Answer, view: MonthView) -> list[str]:
    """The average at the share in focus, where its figures moved in the same pour state."""
    case = view.case_of(new)
    if case.row is None or case.row.ratio is None or old.overall.recommendation.state != case.state:
        return []
    was = old.overall.deciding_table.at(case.row.share)
    if was is None or was.ratio is None or two_figures(was.ratio) == two_figures(case.row.ratio):
        return []
    return [
        f"The average at {mix(case.row.share)}, {case.pots}: {two_figures(was.ratio)} before, {two_figures(case.row.ratio)} now."
    ]
