"""The contract's section 1 on whole files: encodings, separators, headings, lines, rows, and what lies across rows."""

from __future__ import annotations

import codecs

import pytest

from tests.story.sheets import BASELINE, PLAIN, check, check_rows, sheet_text

TEXT = sheet_text([BASELINE, {**PLAIN, "notes": "ümlaut, “quotes” and\na second line"}])


def with_notes(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    return [{**row, "notes": "Hügel"} for row in rows]


@pytest.mark.parametrize(
    "raw",
    [
        TEXT.encode(),
        codecs.BOM_UTF8 + TEXT.encode(),
        codecs.BOM_UTF16_LE + TEXT.encode("utf-16-le"),
        codecs.BOM_UTF16_BE + TEXT.encode("utf-16-be"),
        TEXT.encode("utf-16-le"),
        TEXT.encode("cp1252"),
        TEXT.replace("\r\n", "\n").encode(),
        ("sep=,\r\n" + TEXT).encode(),
    ],
    ids=["utf8", "utf8-bom", "utf16-le", "utf16-be", "utf16-no-bom", "cp1252", "lf", "sep-line"],
)
def test_encodings(raw: bytes) -> None:
    got = check(raw)
    assert got.counts == (2, 2, 0)
    assert got.accepted["sheet_row"].to_list() == [2, 3]
    assert got.accepted["notes"].to_list()[1].startswith("ümlaut, “quotes” and")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_separators(separator: str) -> None:
    assert check(sheet_text(with_notes([BASELINE, PLAIN]), separator)).counts == (2, 2, 0)


def test_carriage_returns_alone() -> None:
    text = sheet_text([BASELINE, PLAIN]).replace("\r\n", "\r")
    got = check(text)
    assert got.counts == (2, 2, 0) and got.accepted["sheet_row"].to_list() == [2, 3]


def test_german_sheet() -> None:
    rows = [
        {
            **row,
            "tested_on": "14.3.2026",
            "pot_volume": "1,0 l",
            "poured": "0,3 l",
            "collected": "0,15 l",
            "water_temp": "18,5 °C",
        }
        for row in (BASELINE, PLAIN)
    ]
    got = check(sheet_text(rows, ";").encode("cp1252"))
    assert got.counts == (2, 2, 0)
    assert got.accepted["poured_ml"].to_list() == [300.0, 300.0]


def test_blank_lines_count_in_row_numbers_and_are_no_rows() -> None:
    lines = sheet_text([BASELINE, PLAIN]).split("\r\n")
    got = check("\r\n".join([lines[0], "", lines[1], "," * 14, lines[2].replace("3:25", "205"), ""]))
    assert got.counts == (2, 1, 1)
    assert got.problems("held")[0]["row"] == 5


def test_a_quoted_line_break_is_not_counted() -> None:
    rows = [{**BASELINE, "notes": "one\ntwo\nthree"}, {**PLAIN, "notes": "", "drain_time": "205"}]
    assert check_rows(*rows).problems("held")[0]["row"] == 3


def test_heading_below_a_title_line() -> None:
    got = check(
        "Spring tests of the fen club\r\n\r\n" + sheet_text([BASELINE, {**PLAIN, "drain_time": "205"}])
    )
    assert got.counts == (2, 1, 1) and got.problems("held")[0]["row"] == 5


def test_headings_match_without_regard_to_case_spaces_underscores_hyphens_or_order() -> None:
    names = list(PLAIN)[::-1]
    rows = [{name: row[name] for name in names} for row in (BASELINE, PLAIN)]
    headings = [name.replace("_", " -").upper() for name in names]
    assert check(sheet_text(rows, headings=headings)).counts == (2, 2, 0)


def test_an_unknown_column_is_advice_and_ignored() -> None:
    got = check_rows({**BASELINE, "weather": "rain"}, {**PLAIN, "weather": "sun"})
    assert got.counts == (2, 2, 0)
    assert len(got.problems("advice")) == 1 and got.problems("advice")[0]["row"] is None


@pytest.mark.parametrize(
    "missing", ["member", "tested_on", "pot_volume", "component", "drain_time", "pour_no"]
)
def test_a_missing_required_column_holds_the_file(missing: str) -> None:
    rows = [{name: value for name, value in row.items() if name != missing} for row in (BASELINE, PLAIN)]
    got = check_rows(*rows)
    assert got.counts == (2, 0, 2)
    (problem,) = got.problems("held")
    assert problem["row"] is None and missing in problem["message"] + str(problem["column"])


def test_the_same_column_twice_holds_the_file() -> None:
    text = sheet_text([{**BASELINE, "extra": "3"}, {**PLAIN, "extra": "3"}]).replace(
        "extra", "drain time (min)"
    )
    got = check(text)
    assert got.counts == (2, 0, 2) and len(got.problems("held")) == 1


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"\r\n\r\n",
        b"hello there\r\nthis is no sheet\r\n",
        sheet_text([BASELINE]).split("\r\n")[0].encode(),
        b"<!DOCTYPE html><html><body>404</body></html>",
        b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
        sheet_text([BASELINE]).encode() + b"\x00",
        sheet_text([BASELINE, PLAIN]).encode() + b'fen-07,"never closed\r\n',
        b"PK\x03\x04 not really a workbook",
    ],
    ids=[
        "empty",
        "blank",
        "no-heading",
        "no-rows",
        "web-page",
        "picture",
        "nul",
        "open-quote",
        "broken-xlsx",
    ],
)
def test_unreadable_files_get_a_plain_sentence(raw: bytes) -> None:
    got = check(raw)
    assert got.counts == (0, 0, 0)
    (problem,) = got.problems("held")
    assert problem["row"] is None and problem["message"] and problem["fix"]


def test_ragged_rows() -> None:
    lines = sheet_text(
        [{**BASELINE, "notes": "x"}, {**PLAIN, "notes": ""}, {**PLAIN, "pot_no": "2", "notes": ""}]
    ).split("\r\n")
    short_optional = lines[2].rsplit(",", 1)[0]
    surplus_empty = lines[3] + ",,,"
    assert check("\r\n".join([lines[0], lines[1], short_optional, surplus_empty])).counts == (3, 3, 0)
    too_short = ",".join(lines[2].split(",")[:9])
    too_long = lines[3] + ",surplus"
    got = check("\r\n".join([lines[0], lines[1], too_short, too_long]))
    assert got.counts == (3, 1, 2)
    assert {problem["row"] for problem in got.problems("held")} == {3, 4}


def test_markup_and_formulas_in_cells_are_only_text() -> None:
    got = check_rows(
        {**BASELINE, "notes": '=HYPERLINK("x")'}, {**PLAIN, "notes": "<script>alert(1)</script>"}
    )
    assert got.accepted["notes"].to_list() == ['=HYPERLINK("x")', "<script>alert(1)</script>"]


# across rows ---------------------------------------------------------------------------------------------------


def pots(*changes: dict[str, str]) -> list[dict[str, str]]:
    """A baseline and one mix row per change, each another pot."""
    return [dict(BASELINE)] + [
        {**PLAIN, "pot_no": str(number), **change} for number, change in enumerate(changes, 1)
    ]


def test_what_must_not_change_within_a_series_holds_those_that_differ() -> None:
    got = check_rows(*pots({}, {}, {"setup_type": "sieve"}))
    assert got.counts == (4, 3, 1)
    (problem,) = got.problems("held")
    assert problem["row"] == 5 and "rack" in problem["message"]


def test_with_no_majority_all_are_held() -> None:
    got = check_rows(BASELINE, {**PLAIN, "climate_zone": "Csb"})
    assert got.counts == (2, 0, 2)


def test_unknown_beside_a_class_takes_the_class() -> None:
    got = check_rows(BASELINE, {**PLAIN, "climate_zone": "unknown"})
    assert got.counts == (2, 2, 0) and got.accepted["climate_zone"].to_list() == ["Cfb", "Cfb"]


def test_blank_component_at_zero_takes_the_series_own() -> None:
    got = check_rows({**BASELINE, "component": "", "component_grade": ""}, PLAIN)
    assert got.counts == (2, 2, 0)
    assert got.accepted["component"].to_list() == ["perlite"] * 2
    assert got.accepted["component_grade"].to_list() == ["medium"] * 2


def test_pot_volume_within_ten_percent_then_advice_then_held() -> None:
    assert check_rows(*pots({}, {}, {"pot_volume": "1.09 l"})).problems(column="pot_volume") == []
    got = check_rows(*pots({}, {}, {"pot_volume": "1.2 l"}))
    assert got.counts == (4, 4, 0) and got.problems("advice", column="pot_volume")
    assert check_rows(*pots({}, {}, {"pot_volume": "1.3 l"})).counts == (4, 3, 1)


def test_unlike_pours_get_advice_and_a_mark() -> None:
    got = check_rows(*pots({}, {}, {"poured": "340 ml", "collected": "170 ml"}))
    assert got.counts == (4, 4, 0)
    assert got.accepted["unlike_pour"].to_list() == [False, False, False, True]
    assert got.problems("advice", row=5)


def test_repeats_identical_after_conversion_are_dropped_and_counted_as_held() -> None:
    again = {**PLAIN, "drain_time": "205 s", "notes": "typed twice"}
    got = check_rows({**BASELINE, "notes": ""}, {**PLAIN, "notes": ""}, again)
    assert got.counts == (3, 2, 1)
    assert got.problems("held") == [] and got.problems("advice", row=4)


def test_repeats_that_differ_are_all_held() -> None:
    got = check_rows(BASELINE, PLAIN, {**PLAIN, "drain_time": "3:30"})
    assert got.counts == (3, 1, 2)


def test_shares_within_half_a_point_are_the_same_share() -> None:
    got = check_rows(
        BASELINE,
        {**PLAIN, "component_share": "33"},
        {**PLAIN, "component_share": "33.4", "drain_time": "3:30"},
    )
    assert got.counts == (3, 1, 2)


def test_member_and_series_compare_without_case_and_runs_of_spaces() -> None:
    got = check_rows(BASELINE, {**PLAIN, "member": "FEN-07", "series": " Bench   a"})
    assert got.counts == (2, 2, 0)
    assert got.accepted["member"].n_unique() == 1 and got.accepted["member"][0] == "fen-07"
    assert got.accepted["series"].to_list() == ["bench A", "bench A"]


def test_a_series_without_a_baseline_is_accepted_with_advice() -> None:
    got = check_rows(PLAIN, {**PLAIN, "component_share": "60"})
    assert got.counts == (2, 2, 0) and got.problems("advice")


def test_rows_held_for_themselves_do_not_weigh_in_the_majority() -> None:
    bad = [{**PLAIN, "pot_no": str(n), "setup_type": "sieve", "drain_time": "205"} for n in range(5, 9)]
    got = check_rows(*pots({}, {}), *bad)
    assert got.counts == (7, 3, 4)


def test_lots_and_the_like_changing_is_advice_only() -> None:
    rows = [{**row, "peat_lot": lot} for row, lot in zip(pots({}, {}), ("p1", "p1", "p2"), strict=True)]
    got = check_rows(*rows)
    assert got.counts == (3, 3, 0) and got.problems("advice", column="peat_lot")
