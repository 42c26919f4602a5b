"""Front page, first screen: the answer's figures in sentences, both pour states beside each other, and the twenty dots."""

from __future__ import annotations

from reports.answer import Answer, Share, Table
from reports.charts.dots import counted, dots_drawing, pot_dots
from reports.charts.parts import parts_drawing
from reports.headline import BASE, POTS, Case, average_line, behind_line, compared_in, spread_line
from reports.page import (
    Block,
    DrawingBlock,
    Inline,
    Link,
    Minutes,
    items,
)
from reports.view import MonthView
from reports.words import (
    MEMBERS_FOR_WORDS,
    as_straight,
    between,
    count,
    listed,
    mix,
    newcomer,
    newcomers,
    number_word,
    out_of_twenty,
    percent,
    plain,
    setting_number,
    time_words,
    times_as_fast,
)
from schemas.trade import verdicts


def opening_blocks(view: MonthView, answer: Answer, case: Case) -> tuple[Block, ...]:
    """The mix in parts, the figures of both pour states, the twenty dots."""
    blocks: list[Block | None] = [mix_picture("mix", answer.overall, answer.component)]
    lines = figure_lines(view, answer, case)
    blocks.append(items(*lines) if lines else None)
    blocks.append(dots_block(view, answer, case))
    return tuple(block for block in blocks if block is not None)


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


def figure_lines(view: MonthView, answer: Answer, case: Case) -> list[tuple[Inline, ...]]:
    """The average, a new grower's range, whose tests, the other state, minutes: a sentence each."""
    row = case.row
    if row is None:
        return []
    if row.members < MEMBERS_FOR_WORDS:
        few = few_growers_line(view, answer, case, row)
        return [(few,)] if few else []
    lines: list[tuple[Inline, ...]] = [(average_line(row, case.pots, as_straight(BASE)),)]
    spread = spread_line(row, view.results["scope"])
    if spread:
        lines.append((f"{spread} Ranges on this page hold 19 in 20.",))
    lines.append((f"Behind it: {behind_line(answer, case)}. ", Link("Who they are", "growers.html")))
    beside = other_state_line(view, case)
    if beside:
        lines.append((beside,))
    timed = minutes_line(view, case)
    if timed:
        lines.append(timed)
    return lines


def few_growers_line(view: MonthView, answer: Answer, case: Case, row: Share) -> str:
    """What fewer than five growers found, lowest to highest, without an average."""
    ratios = view.members_at(answer.component, row.share, case.state)["ratio"].drop_nulls()
    if ratios.len() < 2:
        return ""
    lowest, highest = float(ratios.sort()[0]), float(ratios.sort()[-1])
    return (
        f"{count(ratios.len(), 'grower')} tested {mix(row.share)} in {case.pots}: {between(lowest, highest)} times as fast as "
        f"their own {as_straight(BASE)}. Too few for an average."
    )


def other_state_line(view: MonthView, case: Case) -> str:
    """The same share in the other pour state."""
    row = case.other_row
    if row is None or row.ratio is None:
        return ""
    often = ""
    if row.p_clears is not None:
        target = setting_number(view.settings.target_ratio)
        often = f"; {out_of_twenty(row.p_clears)} reach {target} times"
    return (
        f"Beside it, {POTS[case.other_state]}: {times_as_fast(row.ratio)} on average{often}. Settled means poured before, "
        "not weeks old."
    )


def minutes_line(view: MonthView, case: Case) -> tuple[Inline, ...] | None:
    """The answer as drain times of the standard pot, in the state whose answer it is."""
    row, straight = case.row, view.pot_of(case.state).straight_minutes
    if straight is None or row is None or row.ratio is None or row.new_series is None:
        return None
    low, high = straight / row.new_series[1], straight / row.new_series[0]
    return (
        f"In minutes, {case.pots}: straight peat ",
        Minutes(straight, time_words(straight)),
        ", this mix about ",
        Minutes(straight / row.ratio, time_words(straight / row.ratio)),
        f" ({newcomer(view.results['scope'])}: ",
        Minutes(low, time_words(low)),
        " to ",
        Minutes(high, time_words(high)),
        ").",
    )


def dots_block(view: MonthView, answer: Answer, case: Case) -> DrawingBlock | None:
    """ "What might I get?": twenty dots, and the sentence that counts them as their caption."""
    row, target = case.row, view.settings.target_ratio
    if row is None or row.members < MEMBERS_FOR_WORDS:
        return None
    picture = dots_drawing("dots", row, target, compared_in(answer))
    if picture is None:
        return None
    counts = counted(pot_dots(row, target), target)
    outcomes = [
        f"{number_word(number)} {words}"
        for number, words in ((counts.between, "faster by less (◐)"), (counts.slower, "slower (○)"))
    ]
    sentence = (
        f"Of 20 {newcomers(view.results['scope'])} with one pot of {percent(row.share)} {plain(answer.component)} and one of "
        f"{as_straight(BASE)}, {case.pots}, expect about {counts.reached} at least {setting_number(target)} times as fast (●), "
        f"{listed(outcomes)}."
    )
    return DrawingBlock(picture.name, picture.description, picture.svg, picture.table, sentence)
