"""Makes the federation's run sheets out of drawn runs: one file for each member and month, slips included."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from contrib_samples.draws import runs_of
from contrib_samples.events import CORRECTED_IN, CORRECTION, PASTED_TWICE, SLIPS, Slip, Spot
from contrib_samples.federation import MEMBERS
from contrib_samples.hands import HANDS, Hand
from contrib_samples.spellings import Cell, Run, column_of, line_of
from contrib_samples.workbook import workbook_bytes


@dataclass(frozen=True)
class HeldRow:
    """A row meant to be held: sheet row counted from the top of the file, the column at fault, why."""

    row: int
    column: str
    why: str
    spot: Spot


@dataclass(frozen=True)
class Sheet:
    """One file as sent: path below the demo folder, bytes, the runs it tells of, the rows meant to be held."""

    path: str
    content: bytes
    runs: tuple[Run, ...]
    rows: int
    held: tuple[HeldRow, ...]


def draw_sheets(seed: int) -> list[Sheet]:
    """Every sheet of the three months, ordered by path."""
    sheets = []
    for member in MEMBERS:
        runs = runs_of(member, seed)
        for month in sorted({series.month for series in member.series}):
            sent = [run for run in runs if run.series.month == month]
            sheets.append(_sheet(sent, f"2026-{month:02d}/{member.code}", SLIPS, PASTED_TWICE))
        mended = [run for run in runs if run.spot in CORRECTION]
        if mended:
            sheets.append(_sheet(mended, f"2026-{CORRECTED_IN:02d}/{member.code}-correction", (), ()))
    return sorted(sheets, key=lambda sheet: sheet.path)


def _sheet(sent: list[Run], name: str, slips: Sequence[Slip], pasted_twice: Sequence[Spot]) -> Sheet:
    hand = HANDS[sent[0].member.hand]
    if hand.in_order_of_test:
        labels = [run.series.label for run in sent]
        sent = sorted(sent, key=lambda run: (labels.index(run.series.label), run.run_order))
    lines: list[list[Cell]] = [list(hand.headings)]
    held: list[HeldRow] = []
    for run in sent:
        line = line_of(run, hand)
        lines.append(line)
        for slip in slips:
            if slip.spot == run.spot:
                _mistype(line, hand, slip)
                if slip.why:
                    held.append(HeldRow(len(lines), slip.column, slip.why, run.spot))
        if run.spot in pasted_twice:
            lines.append(list(line))
            held.append(HeldRow(len(lines), "", "the same line twice", run.spot))
    held += _partners(held, sent)
    content = workbook_bytes(lines) if hand.workbook else _csv_bytes(lines, hand)
    path = f"{name}.{'xlsx' if hand.workbook else 'csv'}"
    return Sheet(path, content, tuple(sent), len(lines) - 1, tuple(sorted(held, key=lambda row: row.row)))


def _mistype(line: list[Cell], hand: Hand, slip: Slip) -> None:
    columns = [column_of(heading)[0] for heading in hand.headings]
    at = columns.index(slip.column)
    cell = str(line[at])
    found = re.match(r"[\d.,]+", cell)
    line[at] = slip.typed.format(cell=cell, number=found.group() if found else cell)


def _partners(held: Iterable[HeldRow], sent: list[Run]) -> list[HeldRow]:
    """Rows held with another because both claim the same pour: the one whose number was typed twice."""
    places = {run.spot: at for at, run in enumerate(sent, start=2)}
    partners = []
    for row in held:
        if row.column == "pour_no":
            spot = row.spot._replace(pour_no=1)
            partners.append(HeldRow(places[spot], row.column, row.why, spot))
    return partners


def _csv_bytes(lines: Iterable[Sequence[Cell]], hand: Hand) -> bytes:
    text = io.StringIO()
    if hand.first_line:
        text.write(hand.first_line + hand.line_end)
    csv.writer(text, delimiter=hand.separator, lineterminator=hand.line_end).writerows(lines)
    content = text.getvalue()
    if hand.encoding == "utf-16":  # a spreadsheet's "Unicode text": little-endian, with its mark
        return b"\xff\xfe" + content.encode("utf-16-le")
    return content.encode(hand.encoding)
