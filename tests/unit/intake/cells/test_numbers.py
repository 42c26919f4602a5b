"""Numbers: exact values, decimal marks, and everything that is no number."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.cells.numbers import marks_settled_by, read_number, sure_mark
from pipeline.intake.cells.readings import Fault


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0", 0),
        ("007", 7),
        ("12", 12),
        ("1.5", Fraction(3, 2)),
        ("1,5", Fraction(3, 2)),
        (".5", Fraction(1, 2)),
        (",125", Fraction(1, 8)),
        ("0.125", Fraction(1, 8)),
        ("0,125", Fraction(1, 8)),
        ("1234.567", Fraction(1234567, 1000)),
        ("1.234,5", Fraction(12345, 10)),
        ("1,234.5", Fraction(12345, 10)),
        ("1.234.567", 1234567),
        ("1,234,567", 1234567),
        ("1 234", 1234),
        ("1 234,5", Fraction(12345, 10)),
        ("12 345 678", 12345678),
        ("1/2", Fraction(1, 2)),
        ("1 / 2", Fraction(1, 2)),
        ("1 1/2", Fraction(3, 2)),
        ("½", Fraction(1, 2)),
        ("1½", Fraction(3, 2)),
        ("1 ½", Fraction(3, 2)),
        ("2⅔", Fraction(8, 3)),
        ("-1.5", Fraction(-3, 2)),
        ("0.30000000000000004", Fraction("0.30000000000000004")),
    ],
)
def test_values_are_exact_whatever_the_file_settles(text: str, value: Fraction) -> None:
    for mark in ("", ".", ","):
        assert read_number(text, mark) == value


@pytest.mark.parametrize(("mark", "value"), [(".", Fraction(1234, 1000)), (",", 1234)])
def test_three_digits_behind_a_point_are_read_as_the_file_settles(mark: str, value: Fraction) -> None:
    assert read_number("1.234", mark) == value
    assert read_number("1,234", "," if mark == "." else ".") == value


def test_three_digits_behind_the_only_mark_are_held_when_nothing_settles_it() -> None:
    fault = read_number("1.000", "")
    assert isinstance(fault, Fault) and fault.rule == "decimal_mark_open"
    assert (fault.details["small"], fault.details["large"]) == ("1.000", "1000")
    assert read_number(fault.details["mended"], "") == 1
    assert read_number("12,500", "") == Fault(
        "decimal_mark_open", {"small": "12.500", "large": "12500", "mended": "12.5"}
    )


@pytest.mark.parametrize(
    "text",
    [
        "",
        "-",
        "+5",
        "--5",
        "five",
        "1e3",
        "1E5",
        "1e400",
        "inf",
        "nan",
        "NaN",
        "0x10",
        "1.",
        "1,",
        ".",
        ",",
        "1..2",
        "1.2.3",
        "1.23.456",
        "12,34,567",
        "1.234.56",
        "1,234,5",
        "1.234,567.8",
        "1/0",
        "1 1/0",
        "1/2/3",
        "1 5/4",
        "½½",
        "1_000",
        "٣",
        "３",
        "1 23",
        "1 2345",
        "5 %",
        "1 234 5",
        "9" * 400,
        "0." + "1" * 400,
        "1 1/2.5",
        "1.5/2",
    ],
)
def test_no_number(text: str) -> None:
    for mark in ("", ".", ","):
        fault = read_number(text, mark)
        assert isinstance(fault, Fault) and fault.rule == "number_form"


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("1.5", "."),
        ("1,5", ","),
        ("0.125", "."),
        ("1234,567", ","),
        ("1.234,5", ","),
        ("1.234.567", ","),
        ("1.234", ""),
        ("12,345", ""),
        ("12", None),
        ("1.2.3", None),
        (".125", "."),
        ("1.2345", "."),
        ("1.23", "."),
    ],
)
def test_what_settles_the_decimal_mark(text: str, mark: str | None) -> None:
    assert sure_mark(text) == mark


def test_all_numbers_of_a_cell_are_looked_at() -> None:
    assert marks_settled_by("3:25.5") == "."
    assert marks_settled_by("0,5:1") == ","
    assert marks_settled_by("1.5 l (0,4 gal)") == ".,"
    assert marks_settled_by("1.234 ml") == marks_settled_by("300 ml") == marks_settled_by("") == ""


@given(st.integers(0, 10**9), st.integers(0, 6), st.sampled_from(".,"))
def test_a_number_written_out_is_read_back(digits: int, decimals: int, mark: str) -> None:
    whole, part = divmod(digits, 10**decimals)
    text = f"{whole}{mark}{part:0{decimals}d}" if decimals else str(whole)
    assert read_number(text, mark) == Fraction(digits, 10**decimals)


@given(st.integers(1000, 10**9), st.integers(1, 99), st.sampled_from(".,"))
def test_grouped_thousands_with_decimals_are_read_back(whole: int, hundredths: int, mark: str) -> None:
    other = "," if mark == "." else "."
    text = f"{whole:,}".replace(",", other) + f"{mark}{hundredths:02d}"
    assert read_number(text, "") == Fraction(whole * 100 + hundredths, 100)
    assert sure_mark(text) == mark


@given(st.text(alphabet="0123456789.,/ -½¼", max_size=12))
def test_whatever_is_typed_gives_a_finite_number_or_a_fault(text: str) -> None:
    for mark in ("", ".", ","):
        found = read_number(text, mark)
        assert isinstance(found, Fault) or abs(found) < 10**16
