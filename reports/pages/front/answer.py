"""Front page, upper part: the mix as parts, per grade, fresh and settled, and what is still unknown."""

from __future__ import annotations

from collections.abc import Sequence

from reports.answer import Answer, Share, Table, answers
from reports.charts.parts import parts_drawing
from reports.headline import BASE, MEMBERS_AT_SHARE, finding, how_often, smallest_clearing
from reports.page import Block, Card, Cards, DrawingBlock, Inline, Minutes, say
from reports.view import MonthView
from reports.words import (
    as_straight,
    capital,
    count,
    listed,
    minutes,
    month_name,
    newcomer,
    percent,
    plain,
    who,
)
from schemas.results.keys import ONE_STEP
from schemas.results.whole import ResultsValue
from schemas.trade import verdicts
from schemas.trade.pots import StandardPot

NEW_MEMBERS_TO_STAND = 3


def mix_picture(name: str, table: Table, component: str) -> DrawingBlock | None:
    """The recommended mix as scoops; nothing where there is no mix in parts to recommend."""
    recommendation = table.recommendation
    if (
        recommendation.verdict != verdicts.ENOUGH
        or recommendation.parts is None
        or recommendation.share is None
    ):
        return None
    return parts_drawing(name, recommendation.parts, recommendation.share, BASE, component)


def grade_cards(view: MonthView, answer: Answer) -> Cards | None:
    """One card per grade: its finding, its mix, how sure, how many stand behind it."""
    cards = []
    if all(table.recommendation.verdict == verdicts.TOO_FEW for table in answer.grades):
        return None
    for table in answer.grades:
        blocks: list[Block] = [say(finding(table, answer.component), tone="lead")]
        picture = mix_picture(f"mix-{table.name}", table, answer.component)
        if picture is not None:
            blocks.append(picture)
        blocks.append(say(how_often(table, view.settings, view.results["scope"])))
        row = table.deciding
        if row is not None:
            blocks.append(say(f"{percent(row.share)}: {who(row.members, row.series)}.", tone="small"))
        cards.append(Card(capital(plain(table.name)), tuple(blocks)))
    return Cards(tuple(cards)) if cards else None


def settled_words(view: MonthView, answer: Answer, pot: StandardPot) -> list[str | tuple[Inline, ...]]:
    """Short lines under the headline: the band, settled pots, minutes, standing, whom it is for."""
    lines: list[str | tuple[Inline, ...]] = []
    band = _band(answer.overall)
    if band:
        lines.append(band)
    lasts = _settled(answer)
    if lasts:
        lines.append(lasts)
    timed = _minutes_line(view, answer, pot)
    if timed:
        lines.append(timed)
    standing = first_look(view, answer)
    if standing:
        lines.append(standing)
    whom = _whom(view, answer)
    if whom:
        lines.append(whom)
    return lines


def _band(table: Table) -> str:
    largest = table.largest_tested()
    share = table.recommendation.share
    if largest is None or share is None:
        return ""
    upper = f"From {percent(share)} up to {percent(largest)}," if largest > share else f"{percent(share)} is"
    return (
        f"{upper} the largest share tested. Beyond that nothing is known. More drains faster and so dries sooner; "
        "how far up a mix still draws water from the tray is not part of this test."
    )


def _settled(answer: Answer) -> str:
    table, name = answer.overall, plain(answer.component)
    settled = table.settled.recommendation if table.settled is not None else None
    if table.recommendation.verdict != verdicts.ENOUGH:
        if settled is not None and settled.verdict == verdicts.NOT_REACHED:
            return "In settled pots (poured before) no share tested is shown to be enough."
        return ""
    if settled is None or settled.verdict != verdicts.ENOUGH or settled.share is None:
        return "This holds for freshly filled pots; not yet known for settled pots (poured before)."
    fresh = smallest_clearing(table)
    if fresh is not None and fresh.share < settled.share:
        return (
            f"Freshly filled pots need {percent(fresh.share)} {name}, settled pots (poured before) {percent(settled.share)}; "
            "the larger counts."
        )
    return f"It holds for freshly filled pots and for settled ones (poured before; {percent(settled.share)} there)."


def _minutes_line(view: MonthView, answer: Answer, pot: StandardPot) -> tuple[Inline, ...] | None:
    row = answer.overall.deciding
    if pot.straight_minutes is None or row is None or row.ratio is None or row.new_series is None:
        return None
    low, high = pot.straight_minutes / row.new_series[1], pot.straight_minutes / row.new_series[0]
    straight, mean = pot.straight_minutes, pot.straight_minutes / row.ratio
    return (
        f"In minutes: where straight peat{' in a settled pot' if answer.overall.decided_by_settled else ''} takes ",
        Minutes(straight, minutes(straight)),
        ", this mix takes about ",
        Minutes(mean, minutes(mean)),
        f" ({newcomer(view.results['scope'])}: ",
        Minutes(low, minutes(low)),
        " to ",
        Minutes(high, minutes(high)),
        ").",
    )


def first_look(view: MonthView, answer: Answer) -> str:
    """First look, or standing since a named month: a share newly enough waits for a later month with
    three more growers at that share."""
    row = answer.recommended
    if row is None or answer.overall.recommendation.verdict != verdicts.ENOUGH:
        return ""
    since = _standing_since(view, answer, row)
    if since:
        return f"A standing answer: found in {month_name(since)}, and it has held as more growers joined."
    return (
        f"A first look: it becomes a standing answer once {NEW_MEMBERS_TO_STAND} more growers have tested "
        f"{percent(row.share)} and it still holds."
    )


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
            row = earlier.overall.at(share)
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
    return (
        f"It applies to {whom}: pots of {sizes} l, held {setups}; against {as_straight(BASE)} of their own."
    )


def _holders(setups: Sequence[str]) -> str:
    """On a rack, a sieve or in another way."""
    named = [f"a {plain(name)}" for name in sorted(setups) if name != "other"]
    ways = [f"on {named[0]}", *named[1:]] if named else []
    return listed([*ways, *(["in another way"] if "other" in setups else [])], "or")


def _many_stopped(answer: Answer) -> bool:
    """Whether stopped clocks were so many that the fresh or the settled answer rests on a model of them."""
    tables = (answer.overall, answer.settled)
    return any(table.refits.variances == ONE_STEP for table in tables if table is not None)


def unknowns(view: MonthView, answer: Answer) -> list[str]:
    """What the pool can't say yet, each as one line."""
    name = plain(answer.component)
    lines = []
    largest = answer.overall.largest_tested()
    if largest is not None:
        lines.append(f"Shares above {percent(largest)} {name}: not tested by enough growers.")
    thin = [row for row in answer.overall.shares if row.verdict == verdicts.TOO_FEW]
    if thin:
        shares = listed(f"{percent(row.share)} ({count(row.members, 'grower')})" for row in thin)
        lines.append(
            f"Too few growers (under {MEMBERS_AT_SHARE} at the share, or under 5 in all) to judge: {shares}."
        )
    undecided = [row for row in answer.overall.shares if row.verdict == verdicts.UNDECIDED]
    if undecided:
        lines.append(f"Not decided either way: {listed(percent(row.share) for row in undecided)}.")
    if _many_stopped(answer):
        lines.append(
            "Where the average lies to a few parts in a hundred: many clocks were stopped before the water was out. The answer "
            "allows for that, but in trials with a known truth it came out 2 to 6 % too fast."
        )
    if not answer.overall.settled_known:
        lines.append("Whether the answer holds once a pot has settled.")
    for table in answer.grades:
        if table.recommendation.verdict == verdicts.TOO_FEW:
            lines.append(f"{capital(plain(table.name))} {name}: {count(table.members, 'grower')} so far.")
    lines.append(
        "How far up a mix still draws water from the tray: this test times drainage and nothing else."
    )
    return lines
