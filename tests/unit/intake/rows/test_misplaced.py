"""Lines above the heading, below a second heading, inside a lone quotation mark, and lines of averages."""

from __future__ import annotations

import pytest

from tests.unit.intake.writing import read, rules, sheet, values

HEADING, ROW = sheet({}).splitlines()
OTHER_HEADING = HEADING.replace("pot_no,pour_no", "pour_no,pot_no").replace("drain_time", "drain_time_min")


def lines(*texts: str) -> str:
    return "\n".join([*texts, ""])


@pytest.mark.parametrize("quote", ["", '"'])
def test_rows_above_the_heading_are_held(quote: str) -> None:
    heading = HEADING.replace("series", f"{quote}series{quote}")
    sheets = read(lines(ROW, ROW, heading, ROW))
    assert sheets.files["rows"].item() == 3
    assert sheets.problems.select("sheet_row", "rule").rows() == [
        (1, "row_above_heading"),
        (2, "row_above_heading"),
    ]
    assert values(sheets, "drain_time_s") == [None, None, 205.0]


def test_titles_above_the_heading_are_no_rows() -> None:
    sheets = read(lines("Spring tests,,,", "Member,Club", "fen-07,c", "", HEADING, ROW))
    assert rules(sheets) == [] and sheets.cells["sheet_row"].to_list() == [6]


def test_the_first_complete_heading_line_is_the_heading() -> None:
    """The second table knows more columns, and its times are in minutes."""
    sheets = read(lines("My tests", HEADING, ROW, f"{OTHER_HEADING},notes,taps", f"{ROW},x,5"))
    assert sheets.problems.select("sheet_row", "rule").rows() == [
        (4, "second_heading"),
        (5, "second_heading"),
    ]
    assert values(sheets, "drain_time_s") == [205.0, None, None]


@pytest.mark.parametrize("second", [HEADING, OTHER_HEADING, HEADING.upper(), OTHER_HEADING.replace("_", " ")])
def test_everything_below_a_second_heading_line_is_held(second: str) -> None:
    sheets = read(lines(HEADING, ROW, second, ROW, ROW))
    assert sheets.files["rows"].item() == 4
    assert sheets.problems["rule"].unique().to_list() == ["second_heading"]
    assert sheets.problems["sheet_row"].to_list() == [3, 4, 5]


def test_many_sheets_at_once_are_split_alike() -> None:
    both = [lines(ROW, HEADING, ROW), lines(HEADING, ROW, HEADING, ROW)] * 6
    sheets = read(*both)
    alone = [read(text).problems["rule"].to_list() for text in both]
    assert sheets.problems["rule"].to_list() == [rule for found in alone for rule in found]


def test_rows_inside_a_lone_quotation_mark_are_held_one_by_one() -> None:
    noted = [f"{ROW},{note}" for note in ("a", '"good', "b", "c", 'fine"', "d")]
    sheets = read(lines(f"{HEADING},notes", *noted))
    assert sheets.files["rows"].item() == 6
    held = sheets.problems.filter(sheets.problems["rule"] == "quote_swallows")
    assert held["sheet_row"].to_list() == [3, 4, 5, 6] and sheets.problems.height == 4
    assert [
        row
        for row, time in zip(sheets.cells["sheet_row"], values(sheets, "drain_time_s"), strict=True)
        if time
    ] == [
        2,
        7,
    ]


def test_a_note_of_several_lines_is_one_cell() -> None:
    sheets = read(lines(f"{HEADING},notes", f'{ROW},"first, then\nsecond, and third"'))
    assert rules(sheets) == [] and sheets.cells["sheet_row"].to_list() == [2]


@pytest.mark.parametrize(
    "line",
    [
        "Mean,,,",
        "average",
        ",Total,,,,,,,,,,,900 ml",
        "Mittelwert,,",
        "Summe:,,,",
        "MOYENNE,,,",
        "promedio,,",
    ],
)
def test_lines_of_averages_are_left_out_and_named(line: str) -> None:
    sheets = read(lines(HEADING, ROW, line))
    assert sheets.files["rows"].item() == 1 and rules(sheets) == ["total_left_out"]


def test_a_run_of_a_member_called_mean_is_a_run() -> None:
    sheets = read(sheet({"member": "mean", "series": "total"}))
    assert rules(sheets) == [] and sheets.files["rows"].item() == 1


def test_the_old_end_mark_is_no_row_and_empty_columns_do_not_count() -> None:
    sheets = read(lines(HEADING + "," * 600, ROW) + "\x1a")
    assert rules(sheets) == [] and sheets.files["rows"].item() == 1
