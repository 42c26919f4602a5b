"""What stands behind a headline, where the results hold it: small shares, bends, settling, other choices, robustness, agreement. A block whose figures are missing is left out."""

from __future__ import annotations

import polars as pl

from reports.answer import Answer
from reports.headline import BASE, MEMBERS_NEEDED
from reports.page import Block, Section, TableBlock, cell, items, say
from reports.pages.depends.asked import SURE_ENOUGH, gain
from reports.words import (
    as_straight,
    between,
    capital,
    count,
    mix,
    percent,
    plain,
    twentieths,
    two_figures,
)
from schemas.results.details import ApartLine, RobustnessLine, SmallShareLine
from schemas.trade.headline import AGED, DRY, OTHER_PART, PLANTED

MEASURED_LOOSE = "loose_only"


def settling_section(answer: Answer) -> list[Section]:
    """How the gain changes from pour to pour, inside the same pots."""
    settling = answer.details.get("settling")
    rows = tuple(
        (cell(f"pour {line['pour']}"), cell(gain(line)), cell(str(line["members"])))
        for line in (settling["pours"] if settling is not None else ())
        if line.get("ratio_of_ratios") is not None
    )
    if not rows:
        return []
    note = "Below 1: the gain over straight base shrinks as pots settle. Straight base settles too; that is taken off."
    table = TableBlock(
        "The gain, beside that of the first pour of the same pots", ("pour", "times the first gain (range)", "growers"), rows,
        frozenset({2}), note, stays=True,
    )  # fmt: skip
    return [Section("How does it change from pour to pour?", (table,), "pours")]


def apart_section(answer: Answer) -> list[Section]:
    """Tests that stand in no headline, against straight base of the same kind: dry starts, aged, planted, other parts."""
    apart = answer.details.get("apart") or {}
    rows, thin = [], []
    for reason in (DRY, AGED, PLANTED, OTHER_PART):
        lines = apart[reason.name]["shares"] if reason.name in apart else []
        rows += [
            (
                cell(f"{reason.label}, {percent(line['share'])}"),
                cell(_own_ratio(line)),
                cell(str(line["members"])),
            )
            for line in lines
            if line.get("ratio") is not None
        ]
        most = max((int(line["members"]) for line in lines), default=0)
        if lines and all(line.get("ratio") is None for line in lines):
            thin.append(f"{reason.label}: {count(most, 'grower')} so far")
    if not rows and not thin:
        return []
    note = "None of these tests stands in a headline. A figure is given from three growers on."
    caption = f"Times as fast as {as_straight(BASE)} of the same kind"
    blocks: list[Block] = []
    if rows:
        headings = ("test", "average (range)", "growers")
        blocks.append(TableBlock(caption, headings, tuple(rows), frozenset({2}), stays=True))
    if thin:
        blocks.append(say(f"{capital('; '.join(thin))}."))
    return [Section("And from a dry start, or with old mixes?", (*blocks, say(note, tone="small")), "apart")]


def _own_ratio(line: ApartLine) -> str:
    ratio, ends = line.get("ratio"), line.get("ci")
    if ratio is None:
        return "–"
    return two_figures(ratio) + (f" ({between(*ends)})" if ends else "")


def small_share_section(answer: Answer) -> list[Section]:
    """Whether small shares slow drainage, and what slowing is ruled out."""
    small_shares = answer.details.get("small_shares")
    lines = small_shares["shares"] if small_shares is not None else []
    settled = small_shares.get("settled", []) if small_shares is not None else []
    sentences = [_small_share_words(line) for line in lines if line.get("ratio") is not None]
    sentences += [
        f"In settled pots, {_small_share_words(line)}" for line in settled if line.get("ratio") is not None
    ]
    bend = _bend_words(answer)
    if not sentences and not bend:
        return []
    blocks: list[Block] = [items(*sentences)] if sentences else []
    if bend:
        blocks.append(say(bend))
    return [Section("Do small shares slow it, and where does it bend?", tuple(blocks), "small-shares")]


def measured_loose(runs: pl.DataFrame) -> int:
    """Growers who say that they measured shares loose."""
    return 0 if runs.is_empty() else runs.filter(pl.col("measured_by") == "loose")["member"].n_unique()


def robustness_section(answer: Answer, growers_loose: int = MEMBERS_NEEDED) -> list[Section]:
    """One line per other way of looking. `growers_loose`: growers who measured loose; under five they settle nothing."""
    lines = answer.details.get("robustness", [])
    rows = tuple(
        (
            cell(capital(line["words"])),
            cell(two_figures(ratio)),
            cell(twentieths(line.get("p_clears"))),
            cell(_enough_from(line, enough, growers_loose)),
        )
        for line in lines
        for ratio, enough in [(line.get("ratio"), line.get("enough"))]
        if ratio is not None
    )
    if not rows:
        return []
    headings = ("looked at with", "times as fast", "of 20 reach the line", "enough from")
    caption = f"The same pool, looked at otherwise; figures at {percent(lines[0]['share'])}"
    table = TableBlock(caption, headings, rows, frozenset({1, 2, 3}), stays=True)
    notes = [*_left_out_words(answer), *_without_base_words(answer), *_regret_words(answer)]
    blocks: tuple[Block, ...] = (table, items(*notes)) if notes else (table,)
    return [Section("Does it hold another way?", blocks, "robust")]


def _enough_from(line: RobustnessLine, enough: float | None, growers_loose: int) -> str:
    if line["check"] == MEASURED_LOOSE and growers_loose < MEMBERS_NEEDED:
        return f"too few ({count(growers_loose, 'grower')})"
    return mix(enough) if enough is not None else "none"


def _left_out_words(answer: Answer) -> list[str]:
    """How many times the answer was worked out again with somebody left out; never whom."""
    times = answer.overall.refits.count
    if not times:
        return []
    again = count(times, "time")
    return [
        f"“Fast enough” is said only where it holds each of the {again} that one grower, club or shared bag was left out."
    ]


def _regret_words(answer: Answer) -> list[str]:
    """The share of least expected regret, where the club has set how it weighs too little against too much."""
    regret = answer.details.get("regret")
    share = regret["share"] if regret is not None else None
    if share is None:
        return []
    return [
        f"By the club’s own weights of draining too slowly and too fast, {percent(share)} is the smallest share of least regret in freshly filled pots. No verdict uses it."
    ]


def _without_base_words(answer: Answer) -> list[str]:
    """Series without straight base: how many take part by their differences only, and whether they agree."""
    evidence = answer.details.get("evidence")
    series = evidence["series_by_differences"] if evidence is not None else 0
    if evidence is None or not series:
        return []
    part = f"{capital(count(series, 'series', 'series'))} without straight base {'takes' if series == 1 else 'take'} part by the differences between {'its' if series == 1 else 'their'} shares only"
    chance = evidence["p"]
    if chance is None:
        return [f"{part}; too few to tell whether they agree with the others."]
    agree = (
        "they do not agree well with the others"
        if chance < SURE_ENOUGH
        else "they agree with the others as far as can be told"
    )
    return [f"{part}; {agree}."]


def _small_share_words(line: SmallShareLine) -> str:
    average = f"{percent(line['share'])}: {two_figures(line['ratio'])} times as fast as {as_straight(BASE)} on average"
    chance = line.get("p_slower")
    if chance is not None and chance < SURE_ENOUGH:
        return f"{average}: slower, sure enough."
    ruled = line.get("slower_than_ruled_out")
    return (
        f"{average}; on average under {two_figures(ruled)} times is unlikely."
        if ruled is not None
        else f"{average}; {line.get('why') or 'too few growers to tell'}"
    )


def _bend_words(answer: Answer) -> str:
    bend = answer.details.get("bend")
    if bend is None or not bend.get("knots") or not bend.get("interval"):
        return ""
    knots = " and ".join(percent(round(knot)) for knot in bend["knots"] or ())
    low, high = (percent(round(end)) for end in bend["interval"] or ())
    moves = f"stays near {low}" if low == high else f"moves between {low} and {high}"
    return (
        f"Drawn as straight pieces, the curve of {plain(answer.component)} bends near {knots}; with any one grower left out the first "
        f"bend {moves}. A description only; no verdict uses it."
    )
