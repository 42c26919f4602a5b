"""Dates, words, codes and counts."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.intake.cells.counts import read_count
from pipeline.intake.cells.dates import BOTH_ORDERS, DAY_FIRST, MONTH_FIRST, read_date, slashed_order
from pipeline.intake.cells.readings import Setting
from pipeline.intake.cells.words import read_choice, read_climate, read_code, read_notes, read_series
from pipeline.intake.characters import SPACES, fold
from schemas.trade.labels import label_key

TESTED = Setting("tested_on")


@pytest.mark.parametrize(
    "cell",
    [
        "2026-03-14",
        "2026-3-14",
        "2026-03-14 00:00:00",
        "2026-03-14T00:00:00",
        "2026-03-14 00:00",
        "14.3.2026",
        "14.03.2026",
        "14. 3. 2026",
        "14.03.2026 00:00:00",
        "2026‑03‑14",
        "2026-03-14\u200b",
    ],
)
def test_dates(cell: str) -> None:
    assert read_date(fold(cell), TESTED).value == date(2026, 3, 14)


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("2026-13-01", "date_form"),
        ("2026-02-30", "date_form"),
        ("2026-00-10", "date_form"),
        ("31.4.2026", "date_form"),
        ("2026-03-14 10:30:00", "date_form"),
        ("14-03-2026", "date_form"),
        ("14.3.26", "date_form"),
        ("14/3/26", "date_form"),
        ("20260314", "date_form"),
        ("46095", "date_form"),
        ("14 March 2026", "date_form"),
        ("2026/03/14", "date_form"),
        ("1979-12-31", "date_too_early"),
        ("31.12.1979", "date_too_early"),
        ("0001-01-01", "date_too_early"),
        ("3/4/2026", "date_order_open"),
        ("4/4/2026", "date_order_open"),
        ("13/13/2026", "date_form"),
        ("٣/4/2026", "date_form"),
    ],
)
def test_dates_held(cell: str, rule: str) -> None:
    found = read_date(cell, TESTED)
    assert (found.value, found.rule) == (None, rule)


def test_1980_is_read_and_leap_days_too() -> None:
    assert read_date("1980-01-01", TESTED).value == date(1980, 1, 1)
    assert read_date("29.2.2024", TESTED).value == date(2024, 2, 29)
    assert read_date("29.2.2025", TESTED).rule == "date_form"


def test_slashed_dates_follow_what_the_file_settles() -> None:
    day_first, month_first = (
        Setting("tested_on", date_order=DAY_FIRST),
        Setting("tested_on", date_order=MONTH_FIRST),
    )
    assert read_date("3/4/2026", day_first).value == date(2026, 4, 3)
    assert read_date("3/4/2026 00:00:00", month_first).value == date(2026, 3, 4)
    assert read_date("14/4/2026", month_first).rule == "date_form"
    assert read_date("3/4/2026", TESTED).details == {"readings": "2026-04-03 or 2026-03-04"}
    both = read_date("14/3/2026", Setting("tested_on", date_order=BOTH_ORDERS))
    assert (both.rule, both.details) == ("date_orders_clash", {"readings": "2026-03-14"})


@pytest.mark.parametrize(
    ("cell", "order"),
    [
        ("14/3/2026", DAY_FIRST),
        ("3/14/2026", MONTH_FIRST),
        ("3/4/2026", ""),
        ("13/13/2026", ""),
        ("32/3/2026", ""),
        ("12/31/2025", MONTH_FIRST),
        ("14.3.2026", None),
        ("2026/14/3", None),
    ],
)
def test_which_order_a_date_settles(cell: str, order: str | None) -> None:
    assert slashed_order(cell) == order


@pytest.mark.parametrize("cell", ["cut cup", "Cut-Cup", "CUT_CUP", "cutcup"])
def test_words_however_spaced(cell: str) -> None:
    assert read_choice(cell, Setting("setup_type", choices="setup_type")).value == "cut_cup"


def test_a_near_word_is_offered() -> None:
    found = read_choice("perlit", Setting("component", choices="component"))
    assert found.rule == "word_unknown" and found.details["hint"] == "Did you mean perlite? "
    assert "pumice" in found.details["words"]
    assert read_choice("gravel", Setting("component", choices="component")).details["hint"] == ""
    assert (
        read_choice("8", Setting("hardiness_zone", choices="hardiness_zone")).details["words"] == "1a … 13b"
    )


@pytest.mark.parametrize(
    ("cell", "value", "rule"),
    [
        ("cfb", "Cfb", None),
        ("BWK", "BWk", None),
        ("et", "ET", None),
        ("Unknown", "unknown", "climate_not_given"),
        ("As", None, "climate_other_scheme"),
        ("C", None, "climate_unknown_class"),
        ("Cfd", None, "climate_unknown_class"),
    ],
)
def test_climate(cell: str, value: str | None, rule: str | None) -> None:
    found = read_climate(cell, Setting("climate_zone"))
    assert (found.value, found.rule) == (value, rule)


@pytest.mark.parametrize("cell", ["ab", "fen-07", "7up", "F" * 32, "müller", "fen-"])
def test_codes(cell: str) -> None:
    found = read_code(cell, Setting("member"))
    assert (found.value, found.mark) == (cell, cell.casefold())


@pytest.mark.parametrize(
    "cell", ["a", "-fen", "F" * 33, "fen 07", "fen_07", "fen.07", "fen\u200b07", "٣٣", "=cmd", "a/b", "fe²"]
)
def test_codes_held(cell: str) -> None:
    assert read_code(cell, Setting("member")).rule == "code_form"


def test_hyphens_of_every_kind_are_one_in_codes() -> None:
    assert read_code("fen‑07", Setting("member")).value == "fen-07"


def test_labels_and_notes_by_length() -> None:
    assert read_series("s" * 64, Setting("series")).value == "s" * 64
    assert read_series("s" * 65, Setting("series")).details == {"length": "65"}
    assert read_notes("n" * 500, Setting("notes")).value == "n" * 500
    assert read_notes("n" * 501, Setting("notes")).rule == "notes_length"


def test_labels_compare_without_case_and_runs_of_spaces() -> None:
    assert label_key("Spring\u00a0 Bench\n A") == label_key("spring bench a") == "spring bench a"
    assert label_key("Straße") == label_key("STRASSE")
    assert read_series("Bench  A", Setting("series")).mark == "bench a"


@pytest.mark.parametrize(
    ("cell", "value"), [("1", 1), ("2.0", 2), ("3,0", 3), ("01", 1), ("1000000", 1_000_000)]
)
def test_counts(cell: str, value: int) -> None:
    assert read_count(cell, Setting("pot_no")).value == value


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("0", "whole_number"),
        ("1.5", "whole_number"),
        ("-1", "whole_number"),
        ("two", "whole_number"),
        ("1e0", "whole_number"),
        ("1/1", "whole_number"),
        ("4 holes", "whole_number"),
        ("9" * 30, "whole_number"),
        ("1.000", "decimal_mark_open"),
    ],
)
def test_counts_held(cell: str, rule: str) -> None:
    found = read_count(cell, Setting("pot_no"))
    assert (found.value, found.rule) == (None, rule)


def test_no_taps_is_an_answer() -> None:
    assert read_count("0", Setting("taps")).value == 0


def test_spaces_of_every_kind_are_trimmed() -> None:
    assert f"\u00a0\u2003\ufeff\u200b{SPACES}x{SPACES}".strip(SPACES) == "x"
    assert all(one in SPACES for one in map(chr, range(0x3001)) if one.isspace())
    assert not any(one.isalnum() for one in SPACES)
