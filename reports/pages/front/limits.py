"""Front page: whom the answer is for, how new it is, and what is still unknown."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from reports.answer import Answer, Share, Table, answers
from reports.headline import smallest_clearing
from reports.view import MonthView
from reports.words import count, listed, mix, month_name, percent, plain
from schemas.results.keys import ONE_STEP
from schemas.results.whole import ResultsValue
from schemas.trade import verdicts
from schemas.trade.headline import AGED, DRY, PLANTED, Reason

NEW_MEMBERS_TO_STAND = 3
MOST_OF_THE_SERIES = 0.5
"""Part of all series from one grower above which the pages say so."""
NAMED_FROM = 3
"""Fewer growers than this are never counted out on a page."""


def whom_lines(view: MonthView, answer: Answer) -> list[str]:
    """How far up the answer goes, whether it lasts, whom it is for."""
    return [line for line in (band_line(answer.overall), _settled(answer), _whom(view, answer)) if line]


def band_line(table: Table) -> str:
    """From the advised share up to the largest tested; at that edge, that nothing lies above it."""
    largest, share = table.deciding_table.largest_tested(), table.recommendation.share
    if largest is None or share is None:
        return ""
    upper = (
        f"From {mix(share)} up to {mix(largest)}, the largest tested."
        if largest > share
        else f"{mix(share)} is the largest share tested: the answer lies at the edge of what is known."
    )
    return f"{upper} Beyond it nothing is known. A more open mix can dry out sooner and draw less water from the tray; that was not measured."


def _settled(answer: Answer) -> str:
    table, name = answer.overall, plain(answer.component)
    settled = table.settled.recommendation if table.settled is not None else None
    if table.recommendation.verdict != verdicts.ENOUGH:
        if settled is not None and settled.verdict == verdicts.NOT_REACHED:
            return "In settled pots no share tested is shown to be enough."
        return ""
    if settled is None or settled.verdict != verdicts.ENOUGH or settled.share is None:
        return "This holds for freshly filled pots; not yet known for settled pots (poured before)."
    fresh = smallest_clearing(table)
    if fresh is not None and fresh.share < settled.share:
        return f"Freshly filled pots need {mix(fresh.share)} {name}, settled pots {mix(settled.share)}; the larger counts."
    return f"It holds for freshly filled pots and for settled ones ({percent(settled.share)} there)."


def first_look(view: MonthView, answer: Answer) -> str:
    """First look, or standing since a named month: a share newly enough waits for a later month with
    three more growers at that share."""
    row = answer.overall.deciding
    if row is None or answer.overall.recommendation.verdict != verdicts.ENOUGH:
        return ""
    since = _standing_since(view, answer, row)
    if since:
        return f"Standing since {month_name(since)}"
    return f"A first look: {NEW_MEMBERS_TO_STAND} more growers have to confirm it"


def _standing_since(view: MonthView, answer: Answer, row: Share) -> str:
    """First month of the unbroken run up to now that recommended this share, if enough growers joined since."""
    since = ""
    for results in reversed(view.earlier):
        before = _same_share(results, answer.component, row.share)
        if before is None or view.correction is not None:
            break
        if row.members >= before + NEW_MEMBERS_TO_STAND:
            since = str(results["month"])
    return since


def _same_share(results: ResultsValue, component: str, share: float) -> int | None:
    """Growers at that share in an earlier month that recommended it, if it did."""
    for earlier in answers(results):
        recommendation = earlier.overall.recommendation
        if (
            earlier.component == component
            and recommendation.verdict == verdicts.ENOUGH
            and recommendation.share == share
        ):
            row = earlier.overall.deciding
            return row.members if row is not None else None
    return None


def _whom(view: MonthView, answer: Answer) -> str:
    runs = view.runs
    if runs.is_empty() or not answer.overall.known:
        return ""
    setups = _holders(list(runs["setup_type"].unique()))
    pots = runs["pot_volume_ml"].to_numpy() / 1000
    smallest, largest = float(pots.min()), float(pots.max())
    whom = (
        "growers in these clubs"
        if view.results["scope"] == "these clubs"
        else "a grower who tests as these did"
    )
    sizes = f"{smallest:.2g} to {largest:.2g}" if smallest < largest else f"{smallest:.2g}"
    return f"For {whom}: pots of {sizes} l, held {setups}."


def _holders(setups: Sequence[str]) -> str:
    """On a rack, a sieve or in another way."""
    named = [f"a {plain(name)}" for name in sorted(setups) if name != "other"]
    ways = [f"on {named[0]}", *named[1:]] if named else []
    return listed([*ways, *(["in another way"] if "other" in setups else [])], "or")


def unknowns(view: MonthView, answer: Answer) -> list[str]:
    """What the pool can't say yet, each as one line."""
    lines = []
    if many_stopped(answer):
        lines.append(
            "Where the average lies to a few parts in a hundred: many clocks were stopped before the water was out. The answer "
            "allows for that; where growers’ pots differ in a lopsided way it may still lie 2 to 5 % off."
        )
    if not answer.overall.settled_known:
        lines.append("Whether the answer holds once a pot has settled.")
    lines.append(hardly_tested(view.runs))
    lines.append(
        "Air, water drawn up from the tray and plants were not measured; drainage only stands in for air."
    )
    lines += leaning(answer)
    return lines


def hardly_tested(runs: pl.DataFrame) -> str:
    """Months-old pots, dry starts and planted pots: how many growers tested each; other bases than peat."""
    counts = [
        f"{words} ({_growers(runs, reason)})"
        for words, reason in (("pots months old", AGED), ("dry starts", DRY), ("planted pots", PLANTED))
    ]
    return f"Hardly tested: {listed(counts)}; one peat beside another."


def _growers(runs: pl.DataFrame, reason: Reason) -> str:
    growers = 0 if runs.is_empty() else runs.filter(reason.holds)["member"].n_unique()
    if not growers:
        return "nobody yet"
    return count(growers, "grower") if growers >= NAMED_FROM else f"fewer than {NAMED_FROM} growers"


def leaning(answer: Answer) -> list[str]:
    """Where most of the tests are one grower's, or all share a bag or a day: what that leaves open."""
    rests = answer.details.get("rests_on")
    if rests is None:
        return []
    part, shared = rests.get("largest_part_of_series"), rests.get("shared_by_all") or []
    lines = []
    if part is not None and part > MOST_OF_THE_SERIES:
        lines.append(
            f"One grower made {round(100 * part)} of 100 series. A grower counts once, yet more of the others’ tests would say more."
        )
    if shared:
        lines.append(
            f"Whether it holds elsewhere: all tests share {listed(shared)}, so their growers count as one."
        )
    return lines


def many_stopped(answer: Answer) -> bool:
    """Whether stopped clocks were so many that the fresh or the settled answer rests on a model of them."""
    tables = (answer.overall, answer.settled)
    return any(table.refits.variances == ONE_STEP for table in tables if table is not None)


def grade_line(answer: Answer) -> str:
    """Whether a difference between grades is shown; never a recipe of one grade."""
    if not answer.grades:
        return ""
    share = answer.overall.recommendation.share
    whole = (
        f" The whole pool’s {percent(share)} is the best guess for every grade." if share is not None else ""
    )
    if answer.overall.recommendation.verdict == verdicts.GRADES_DIFFER:
        return "Grades differ: one share for all of them is not advised."
    words = {table.difference for table in answer.grades}
    shown = [plain(table.name) for table in answer.grades if table.difference == verdicts.SHOWN]
    if shown:
        return f"A difference between grades is shown: {listed(shown)} beside the rest.{whole}"
    if words == {verdicts.RULED_OUT}:
        return f"Between grades no difference is left that a grower would notice.{whole}"
    return f"We cannot tell whether grade matters.{whole}"
