"""Results as tables of words and figures: the same rows behind every picture."""

from __future__ import annotations

from reports.answer import Share, Table
from reports.page import Source, TableBlock, cell
from reports.words import (
    MEMBERS_FOR_WORDS,
    between,
    ladder,
    mix,
    newcomer,
    newcomers,
    out_of_twenty,
    plain,
    ruled_out,
    setting_number,
    two_figures,
)
from schemas.trade import verdicts

MANY_PART = 0.10


def shares_table(table: Table, target: float, reference: str, component: str) -> TableBlock:
    """All figures of one table of shares, one row per share."""
    headings = (
        plain(component),
        f"times as fast as {reference}",
        "average, 19 in 20 sure",
        f"{newcomer(table.scope)}, 19 in 20",
        "faster",
        f"at least {setting_number(target)} times",
        "growers",
        "series",
    )
    rows = tuple(
        (
            cell(mix(row.share), source=share_source(table, row, "share")),
            cell(
                two_figures(row.ratio) if row.ratio is not None else "–",
                source=share_source(table, row, "ratio"),
            ),
            cell(between(*row.ci) if row.ci else "–", source=share_source(table, row, "ci")),
            cell(
                between(*row.new_series) if row.new_series else "–",
                source=share_source(table, row, "new_series"),
            ),
            cell(_frequency(row.p_faster), source=share_source(table, row, "p_faster")),
            cell(_frequency(row.p_clears), source=share_source(table, row, "p_clears")),
            cell(str(row.members), source=share_source(table, row, "members")),
            cell(str(row.series), source=share_source(table, row, "series")),
        )
        for row in table.shares
    )
    note = f"“Faster” and “at least” count {newcomers(table.scope)}, each averaged over several pots."
    return TableBlock(f"The figures: {plain(table.name)}", headings, rows, frozenset({1, 6, 7}), note)


def new_grower_words(row: Share, scope: str) -> str:
    """The ladder's words; where it can't tell, what has been ruled out."""
    words = ladder(row.p_faster, row.members)
    if row.p_faster is None or row.members < MEMBERS_FOR_WORDS or row.new_series is None:
        return words
    if words == "we cannot tell yet":
        return f"{words}; {ruled_out(*row.new_series, scope)}"
    slower = words.endswith("slower")
    chance = 1 - row.p_faster if slower else row.p_faster
    return f"{words} ({'slower' if slower else 'faster'} in {out_of_twenty(chance)})"


def ended_words(row: Share) -> str:
    """Said beside a share where over one test in ten ended dry (the mix kept the water), or over one clock in ten was
    stopped while it still dripped."""
    tests = row.pots + row.ran_dry
    words = f"; ran dry in {row.ran_dry} of {tests} tests" if row.ran_dry > MANY_PART * tests else ""
    if row.stopped > MANY_PART * row.pots:
        words += f"; clock stopped early in {row.stopped} of {row.pots} pots"
    return words


def shares_to_avoid(table: Table) -> list[Share]:
    """Shares that fall short and drain slower for most new growers: to be avoided in words too."""
    return [
        row
        for row in table.shares
        if row.verdict == verdicts.FALLS_SHORT and row.p_faster is not None and row.p_faster <= 0.35
    ]


def share_source(table: Table, row: Share, key: str) -> Source:
    """Where a figure of one share stands in `results.json`."""
    return (*table.path, "shares", row.share, key)


def _frequency(probability: float | None) -> str:
    return "–" if probability is None else out_of_twenty(probability)
