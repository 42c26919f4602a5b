"""Front page: every share in one strip of parts, drain time, twenty small dots and the word, then what it means."""

from __future__ import annotations

from reports.answer import Answer, Table
from reports.charts.dots import dot_row
from reports.headline import BASE, POTS, Case
from reports.page import Block, Cell, Folded, Minutes, Section, TableBlock, cell, say
from reports.pages.shared.own_pot import pot_form, pot_words
from reports.tables import ended_words, share_source, shares_to_avoid
from reports.view import MonthView
from reports.words import (
    MEMBERS_FOR_WORDS,
    as_straight,
    between,
    capital,
    listed,
    mix,
    newcomers,
    percent,
    plain,
    setting_number,
    short_verdict,
    time_words,
    two_figures,
)


def shares_section(view: MonthView, answer: Answer, case: Case) -> Section:
    """Every share tested in the state whose answer it is; what drained slower; the reader's own pot."""
    pot = view.pot_of(case.state)
    straight = pot.straight_minutes if case.table.known else None
    blocks: list[Block] = [say(line, tone="lead") for line in slower_lines(case)]
    avoid = shares_to_avoid(case.table)
    if avoid:
        shares = listed(mix(row.share) for row in avoid)
        blocks.append(
            say(
                f"To avoid: {shares}. Most {newcomers(answer.overall.scope)} would show no gain or a slowing."
            )
        )
    blocks.append(strip(case, view.settings.target_ratio, answer.component, straight))
    behind: list[Block] = []
    if straight is not None:
        behind += [pot_words(pot, straight, case.pots), pot_form(pot)]
    if any(row.growers != row.members for row in case.table.shares):
        most = max(case.table.shares, key=lambda row: row.growers - row.members)
        behind.append(
            say(
                f"Growers who shared a test day or a bag count once: at {percent(most.share)}, {most.growers} make {most.members}.",
                tone="small",
            )
        )
    if behind:
        blocks.append(
            Folded("What minutes and counts mean; minutes for your own pot", tuple(behind), "own-pot")
        )
    return Section("What does each share do?", tuple(blocks), "shares")


def strip(case: Case, target: float, component: str, straight_minutes: float | None) -> TableBlock:
    """One line a share: parts, drain time, twenty dots, the word, growers."""
    headings = [plain(component), f"enough: {setting_number(target)}×", "growers"]
    if straight_minutes is not None:
        headings.insert(1, "standard pot")
    dotted = any(row.members >= MEMBERS_FOR_WORDS and dot_row(row, target) for row in case.table.shares)
    if dotted:
        headings.insert(-2, "20 new pots")
    rows = []
    for row in case.table.shares:
        cells = [
            cell(mix(row.share), source=share_source(case.table, row, "share")),
            cell(
                short_verdict(row.verdict, target) + ended_words(row),
                mark=row.verdict,
                source=() if ended_words(row) else share_source(case.table, row, "verdict"),
            ),
            cell(str(row.members), source=share_source(case.table, row, "members")),
        ]
        if straight_minutes is not None:
            cells.insert(1, _time_cell(row.ratio, straight_minutes))
        if dotted:
            small = dot_row(row, target) if row.members >= MEMBERS_FOR_WORDS else None
            cells.insert(-2, cell(small) if small is not None else cell("–"))
        rows.append(tuple(cells))
    title = f"Every share tested, {case.pots}"
    return TableBlock(title, tuple(headings), tuple(rows), frozenset({len(headings) - 1}), stays=True)


def _time_cell(ratio: float | None, straight_minutes: float) -> Cell:
    if ratio is None:
        return cell("–")
    return cell(Minutes(straight_minutes / ratio, time_words(straight_minutes / ratio)))


def slower_lines(case: Case) -> list[str]:
    """Shares whose average lies below straight base, in either state: said as plainly as faster."""
    lines = []
    for state, table in ((case.state, case.table), (case.other_state, case.other)):
        slower = _slower(table)
        if slower:
            lines.append(f"{capital(slower)} in {POTS[state]}.")
    return lines


def _slower(table: Table | None) -> str:
    rows = [row for row in (table.known if table is not None else ()) if row.ci is not None and row.ci[1] < 1]
    rows = [row for row in rows if row.members >= MEMBERS_FOR_WORDS and row.ratio is not None]
    if not rows:
        return ""
    shares = listed(
        f"{mix(row.share)} ({two_figures(row.ratio or 1.0)} times as fast, {between(*(row.ci or (1.0, 1.0)))})"
        for row in rows
    )
    drains = "drains" if len(rows) == 1 else "drain"
    return f"{shares} {drains} slower than {as_straight(BASE)} on average"
