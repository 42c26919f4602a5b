"""Where it depends, first part: a reader chooses climate and pot, and sees that part of the pool drawn and in minutes."""

from __future__ import annotations

import re

import polars as pl

from reports.answer import FRESH, Answer
from reports.charts.part_drawing import PartAxes, PartShare, part_axes, part_drawing
from reports.headline import BASE, POTS
from reports.page import Block, Cell, Chooser, Minutes, Section, TableBlock, cell, say
from reports.pages.shared.own_pot import pot_form, pot_words
from reports.view import Levels, MonthView
from reports.words import as_straight, between, capital, count, percent, plain, time_words, two_figures
from schemas.trade.levels import ANY, ELSEWHERE, OWN_PART, own_part_level
from schemas.trade.pots import POT_SIZES, StandardPot

GROWERS_WANTED = 3


def own_part_section(view: MonthView, levelled: pl.DataFrame, answer: Answer) -> list[Section]:
    """Every panel is made beforehand; too small parts say what is missing."""
    if levelled.is_empty():
        return []
    climates = [ANY, *sorted(level for level in levelled["climate"].unique() if level != ELSEWHERE)]
    sizes = [ANY, *(size for size, _ in POT_SIZES)]
    pot = view.pot_of(FRESH)
    parts = view.levels_of(answer.component, OWN_PART)
    everyone = part_shares(parts.of(own_part_level(ANY, ANY)))
    axes = part_axes(everyone)
    panels = []
    for climate in climates:
        for size in sizes:
            key = own_part_level(climate, size)
            part = parts.of(key)
            shares = part_shares(part)
            beside = () if climate == size == ANY else everyone
            members = part.growers["member"].n_unique()
            panels.append((key, _panel(_where(climate, size), members, shares, beside, axes, answer, pot)))
    chooser = Chooser(
        "own-part",
        ("Climate class", "Pot"),
        (
            tuple((level, "any climate" if level == ANY else level) for level in climates),
            tuple((size, "any pot" if size == ANY else size) for size in sizes),
        ),
        tuple(panels),
        "Nobody has tested there yet: be the first.",
    )
    blocks: list[Block] = [chooser]
    if pot.straight_minutes is not None:
        blocks += [pot_words(pot, pot.straight_minutes, POTS[FRESH]), pot_form(pot)]
    return [Section("What did growers like me see?", tuple(blocks), "like-me")]


def part_shares(part: Levels) -> tuple[PartShare, ...]:
    """Every share measured in a part of the pool: growers' ratios, pooled average (from three growers on), its range."""
    shares = []
    for row in part.averages.sort("share").iter_rows(named=True):
        sure = (row["sure_low"], row["sure_high"]) if row["sure_low"] is not None else None
        growers = part.growers.filter(pl.col("share") == row["share"])
        shares.append(PartShare(row["share"], tuple(growers["ratio"]), row["average"], sure))
    return tuple(shares)


def _where(climate: str, size: str) -> str:
    return f"{'any climate' if climate == ANY else climate}, {'any pot' if size == ANY else 'pots ' + size}"


def _panel(
    where: str,
    members: int,
    shares: tuple[PartShare, ...],
    everyone: tuple[PartShare, ...],
    axes: PartAxes,
    answer: Answer,
    pot: StandardPot,
) -> tuple[Block, ...]:
    if members < GROWERS_WANTED:
        missing = capital(count(GROWERS_WANTED - members, "more grower"))
        so_far = f"{capital(where)}: {count(members, 'grower')} so far."
        return (say(f"{so_far} {missing} would make a first picture; be one of them.", tone="note"),)
    name = "own-part-" + re.sub(r"[^a-z0-9]+", "-", where.lower()).strip("-")
    drawn = part_drawing(name, capital(where), shares, everyone, axes)
    return drawn, _table(where, shares, answer, pot)


def _table(where: str, shares: tuple[PartShare, ...], answer: Answer, pot: StandardPot) -> TableBlock:
    rows = tuple(
        (
            cell(percent(part.share)),
            cell(_average(part)),
            _minutes(part, pot),
            cell(str(len(part.growers))),
        )
        for part in shares
    )
    headings = (
        plain(answer.component),
        f"times as fast as {as_straight(BASE)}, on average (19 in 20 sure)",
        "standard pot",
        "growers",
    )
    note = "An average is given from three growers on."
    return TableBlock(capital(where), headings, rows, frozenset({2, 3}), note, stays=True)


def _average(part: PartShare) -> str:
    if part.average is None:
        return "–"
    return two_figures(part.average) + (f" ({between(*part.sure)})" if part.sure else "")


def _minutes(part: PartShare, pot: StandardPot) -> Cell:
    if part.average is None or pot.straight_minutes is None:
        return cell("–")
    value = pot.straight_minutes / part.average
    return cell(Minutes(value, time_words(value)))
