"""Words: numbers and rows as a person writes them, findings in the catalogue's words, members' text made harmless."""

from __future__ import annotations

import polars as pl
import pytest

from pipeline.check.numbers import figures, figures_of
from pipeline.check.wording import harmless, shortened, worded
from schemas.kinds.run import RUN
from schemas.rows_named import listing, named_rows, row_ranges
from schemas.rules import RULES
from tests.unit.check.sheets import base, check, frames, message, mix, problems


@pytest.mark.parametrize(
    ("number", "told"),
    [
        (300.0, "300"),
        (236.5882365, "236.6"),
        (0.5, "0.5"),
        (8.1e-5, "0.000081"),
        (2e-6, "0.000002"),
        (1_234_567.0, "1235000"),
        (0.0, "0"),
    ],
)
def test_figures(number: float, told: str) -> None:
    assert pl.select(figures(pl.lit(number))).item() == told
    if number >= 0.001 or number == 0:
        assert figures_of(number) == told


def test_row_ranges() -> None:
    assert row_ranges([5, 2, 3, 4, 9, 7, 8, 8]) == ["2-5", "7-9"]
    assert row_ranges([2, 3, 7]) == ["2", "3", "7"]
    assert row_ranges([]) == []


def test_named_rows_stay_a_sentence() -> None:
    assert named_rows([5]) == "row 5"
    assert named_rows([5, 6]) == "rows 5 and 6"
    assert named_rows([2, 3, 4, 9]) == "rows 2-4 and 9"
    assert named_rows(range(2, 2000, 2)) == "rows 2, 4, 6, 8, 10, 12, 14, 16 … (999 in all)"
    assert listing(["a", "b", "c"]) == "a, b and c"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Hügel ½ “moss” 苔", "Hügel ½ “moss” 苔"),
        ("a\u00a0b", "a\u00a0b"),
        ("\x1b[2J\x1b[31mred", "\\x1b[2J\\x1b[31mred"),
        ("\x9b31m", "\\x9b31m"),
        ("bell\x07 and\x00 nul", "bell\\x07 and\\x00 nul"),
        ("one\r\ntwo\tthree", "one\\r\\ntwo\\tthree"),
        ("evil\u202etxt.exe", "evil\\u202etxt.exe"),
        ("\u2066hidden\u2069\u200b", "\\u2066hidden\\u2069\\u200b"),
        ("tag\U000e0041", "tag\\U000e0041"),
        ("line\u2028separator", "line\\u2028separator"),
    ],
)
def test_members_text_is_made_harmless(text: str, shown: str) -> None:
    assert harmless(text) == shown
    assert all(character.isprintable() or character == "\u00a0" for character in harmless(text))


def test_long_text_is_shortened_with_its_length() -> None:
    assert shortened("x" * 80) == "x" * 80
    assert shortened("x" * 200) == "x" * 80 + "… (200 characters)"


def test_a_series_label_can_not_steer_a_terminal_through_a_message() -> None:
    label = "\x1b]0;title\x07\u202espring"
    checked = check(mix(series=label))
    told = message(checked, "no_baseline")
    assert "\x1b" not in told and "\\x1b]0;title" in told and "\\u202e" in told


def test_braces_in_a_cell_are_only_text() -> None:
    checked = check(base(), mix(collected_ml=400.0, cells={"collected": "{value.__class__} {0} %s"}))
    assert "“{value.__class__} {0} %s”" in message(checked, "collected_over_poured")
    assert checked.problems["value"].to_list() == ["{value.__class__} {0} %s"]


def test_every_rule_reads_without_its_details() -> None:
    files, _, _ = frames([base()])
    found = problems(*({"file_id": 0, "sheet_row": 2, "rule": one.id} for one in RULES))
    told = worded(found, files, RUN)
    assert told.height == len(RULES)
    assert not told["message"].str.contains(r"[{}]").any()
    assert told["rule"].to_list() == [one.id for one in RULES], "in the catalogue's order"


def test_order_of_problems() -> None:
    """By file, file-level first, then row, then the sheet's order of columns."""
    files, _, _ = frames([base()], [base()])
    found = problems(
        {"file_id": 1, "rule": "file_empty"},
        {"file_id": 0, "sheet_row": 9, "column": "member", "rule": "code_form"},
        {"file_id": 0, "sheet_row": 2, "column": "notes", "rule": "notes_length"},
        {"file_id": 0, "sheet_row": 2, "column": "member", "rule": "code_form"},
        {"file_id": 0, "column": "weather", "rule": "column_unknown"},
    )
    told = worded(found, files, RUN)
    assert told.select("file_id", "row", "column").rows() == [
        (0, None, "weather"),
        (0, 2, "member"),
        (0, 2, "notes"),
        (0, 9, "member"),
        (1, None, None),
    ]
