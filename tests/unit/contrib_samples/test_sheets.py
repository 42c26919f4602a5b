"""Sheets as sent: one file for each member and month, slips in place, rows counted as a member counts them."""

from __future__ import annotations

import csv
import io

import pytest

from contrib_samples.federation import MEMBERS
from contrib_samples.hands import HANDS
from contrib_samples.sheets import Sheet, draw_sheets
from contrib_samples.spellings import column_of

SHEETS = {sheet.path: sheet for sheet in draw_sheets(7)}
ENCODINGS = {member.code: HANDS[member.hand].encoding for member in MEMBERS}


def lines_of(path: str) -> list[list[str]]:
    """The lines of a committed spelling, `sep=` line left out."""
    sheet = SHEETS[path]
    hand = HANDS[sheet.runs[0].member.hand]
    text = sheet.content.decode(hand.encoding)
    if hand.first_line:
        assert text.startswith(hand.first_line + hand.line_end)
        text = text.split(hand.line_end, 1)[1]
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=hand.separator, strict=True))


def columns_of(path: str) -> list[str]:
    return [column_of(heading)[0] for heading in lines_of(path)[0]]


CSV_PATHS = [path for path in SHEETS if path.endswith(".csv")]


@pytest.mark.parametrize("path", CSV_PATHS)
def test_a_sheet_has_a_line_for_every_row_and_a_cell_for_every_heading(path: str) -> None:
    lines = lines_of(path)
    assert len(lines) == SHEETS[path].rows + 1
    assert {len(line) for line in lines} == {len(lines[0])}


def test_sheets_come_in_several_kinds() -> None:
    starts = {sheet.content[:2] for sheet in SHEETS.values()}
    assert b"\xff\xfe" in starts  # UTF-16
    assert b"PK" in starts  # a spreadsheet file
    assert b"\xef\xbb" in starts  # UTF-8 with its mark
    german = SHEETS["2026-03/zm-01.csv"].content
    assert b";" in german.splitlines()[0]
    with pytest.raises(UnicodeDecodeError):
        german.decode("utf-8")
    old_line_ends = SHEETS["2026-05/th-04.csv"].content
    assert b"\r" in old_line_ends
    assert b"\n" not in old_line_ends
    assert SHEETS["2026-05/zm-03.csv"].content.startswith(b"\xef\xbb\xbfsep=;\r\n")


@pytest.mark.parametrize(
    ("path", "row", "column", "typed"),
    [
        ("2026-03/qm-01.csv", 23, "parts", "1:01"),
        ("2026-03/lf-01.csv", 29, "poured", "320"),
        ("2026-04/zm-02.csv", 7, "water_temp", "61 °C"),
        ("2026-04/pf-01.csv", 36, "poured", "2 1/2 c"),
        ("2026-05/lf-05.csv", 29, "parts", "2-Mar"),
        ("2026-05/oe-04.csv", 13, "collected", "1100 ml"),
    ],
)
def test_a_slip_stands_in_the_row_that_the_truth_names(path: str, row: int, column: str, typed: str) -> None:
    assert (row, column) in [(held.row, held.column) for held in SHEETS[path].held]
    assert lines_of(path)[row - 1][columns_of(path).index(column)] == typed


def test_a_slip_that_passes_unnoticed_is_corrected_a_month_later() -> None:
    wrong, mended = lines_of("2026-03/qm-01.csv"), lines_of("2026-04/qm-01-correction.csv")
    at = columns_of("2026-03/qm-01.csv").index("drain_time")
    key = [columns_of("2026-03/qm-01.csv").index(name) for name in ("parts", "pot_no", "pour_no")]
    told = {tuple(line[place] for place in key): line[at] for line in wrong[1:]}
    corrected = {tuple(line[place] for place in key): line[at] for line in mended[1:]}
    assert told["3:1", "1", "1"] == "1" + corrected["3:1", "1", "1"]
    assert set(corrected) == {("3:1", "1", "1"), ("1:1", "1", "2"), ("1:1", "2", "2")}
    assert SHEETS["2026-04/qm-01-correction.csv"].held == ()
    assert SHEETS["2026-03/qm-01.csv"].held[0].row == 23


def test_a_line_pasted_twice_is_the_same_to_the_letter() -> None:
    lines = lines_of("2026-05/qm-04.csv")
    held = SHEETS["2026-05/qm-04.csv"].held
    assert len(held) == 1
    assert lines[held[0].row - 1] == lines[held[0].row - 2]


def test_two_rows_that_claim_the_same_pour_are_both_held() -> None:
    held = SHEETS["2026-05/th-04.csv"].held
    lines, columns = lines_of("2026-05/th-04.csv"), columns_of("2026-05/th-04.csv")
    key = [columns.index(name) for name in ("series", "component_share", "pot_no", "pour_no")]
    first, second = ([lines[row.row - 1][at] for at in key] for row in held)
    assert first == second


def test_rows_in_the_order_of_the_test_where_the_hand_keeps_it() -> None:
    lines, columns = lines_of("2026-03/oe-01.csv"), columns_of("2026-03/oe-01.csv")
    order = [int(line[columns.index("run_order")]) for line in lines[1:]]
    assert order == sorted(order)


def test_every_drawn_run_is_sent_in_exactly_one_sheet_corrections_aside() -> None:
    def spots(sheets: list[Sheet]) -> list[object]:
        return [run.spot for sheet in sheets for run in sheet.runs]

    plain = spots([sheet for path, sheet in SHEETS.items() if "correction" not in path])
    assert len(plain) == len(set(plain))
    assert set(spots(list(SHEETS.values()))) == set(plain)
