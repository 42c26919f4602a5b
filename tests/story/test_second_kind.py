"""A second kind of sheet goes through reading, checking, receipt, blank sheet and dictionary without a line
changed in a stage; and a column added to a kind shows wherever columns are shown."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace
from datetime import date

import polars as pl
import pytest

from pipeline.check.receipt import as_json_value, as_text
from pipeline.check.shape import row_schema
from pipeline.check.steps import Checked
from pipeline.desk.mending.series_form import cells_of
from pipeline.intake.files.headings import read_heading
from pipeline.jobs.receiving.checking import check_batch
from pipeline.jobs.receiving.readings import check_and_read_back
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings
from reports.blank_sheet import blank_sheet_csv, blank_sheet_xlsx
from reports.render import as_html
from reports.steps import listed_page
from schemas.column import Column, Kept, Limits
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS
from schemas.kinds.run import RUN
from schemas.row_model import row_model
from tests.story.rain_log import RAIN_LOG
from tests.unit.intake.writing import sheet
from tests.unit.reports.invented_month import invented_view

TODAY = date(2026, 6, 1)
HEADING = "member,series,measured_on,under roof,rain (mm),remarks"
RAIN = f"{HEADING}\nfen-07,garden,2026-03-14,,4.5,\nfen-07,garden,2026-03-15,no,0.25,a shower\n"


@pytest.fixture(autouse=True)
def _rain_logs_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(KINDS, "rain", RAIN_LOG)


def check(*contents: str) -> Checked:
    sheets = [Sheet(f"file-{number}.csv", content.encode()) for number, content in enumerate(contents)]
    return check_batch(sheets, Settings(), TODAY)


def said(checked: Checked) -> list[tuple[int | None, str | None, str]]:
    return checked.problems.select("row", "column", "rule").rows()


def test_a_rain_log_is_known_by_its_headings_and_accepted() -> None:
    checked = check(RAIN)
    assert checked.files.select("kind", "rows", "accepted", "held").rows() == [("rain", 2, 2, 0)]
    rows = checked.accepted_of(RAIN_LOG)
    assert tuple(rows.columns) == ("file_id", *RAIN_LOG.kept_names)
    assert dict(rows.schema) == row_schema(RAIN_LOG)
    assert rows["rain_mm"].to_list() == [4.5, 0.25]
    assert rows["under_roof"].to_list() == ["no", "no"]
    assert rows["sheet_row"].to_list() == [2, 3]
    assert set(rows["series_key"]) == {"garden"}
    row_model(RAIN_LOG).validate(rows.drop("file_id"), lazy=True)


def test_sheets_of_two_kinds_in_one_batch_get_what_each_gets_alone() -> None:
    runs = sheet({"component_share": "0"}, {})
    mixed = check(RAIN, runs, RAIN.replace("4.5", "501"))
    assert mixed.files["kind"].to_list() == ["rain", "run", "rain"]
    assert mixed.files["accepted"].to_list() == [2, 2, 1]
    alone = check(runs)
    assert mixed.accepted_of(RUN).drop("file_id").equals(alone.accepted_of(RUN).drop("file_id"))
    assert mixed.accepted_of(RAIN_LOG)["file_id"].to_list() == [0, 0, 2]
    assert (
        mixed.problems.filter(pl.col("file_id") == 1)
        .drop("file_id", "file")
        .equals(alone.problems.drop("file_id", "file"))
    )
    assert mixed.files["rows"].sum() == mixed.accepted.height + mixed.held.height


def test_a_runs_only_batch_has_the_runs_frame_and_nothing_else() -> None:
    checked = check(sheet({}))
    assert tuple(checked.accepted.columns) == ("file_id", *RUN.kept_names)
    assert checked.accepted_of(RAIN_LOG).height == 0


def test_the_rules_of_a_kind_are_asked_and_no_others() -> None:
    future = RAIN.replace("2026-03-15", "2027-03-15")
    assert said(check(future)) == [(3, "measured_on", "tested_in_future")]
    changed = RAIN + "fen-07,garden,2026-03-16,yes,1,\n"
    assert said(check(changed)) == [(4, "under_roof", "changes_in_series")]
    over = RAIN.replace("0.25", "501")
    assert said(check(over)) == [(3, "rain", "does_not_fit")]
    assert "a number from 0 to 500 mm" in check(over).problems["message"][0]


def test_repeats_go_by_the_place_of_the_kind() -> None:
    twice = RAIN + "FEN-07,Garden,2026-03-15,no,0.25,typed again\n"
    assert said(check(twice)) == [(4, "measured_on", "repeat_identical")]
    assert "the same member, series, day, and every" in check(twice).problems["message"][0]
    differing = RAIN + "fen-07,garden,2026-03-15,no,9,\n"
    assert said(check(differing)) == [
        (3, "measured_on", "repeat_differs"),
        (4, "measured_on", "repeat_differs"),
    ]
    message = check(differing).problems["message"][0]
    assert "measured on 2026-03-15" in message and "differ in rain." in message


def test_further_spellings_name_the_column_and_units_are_never_guessed() -> None:
    assert check(RAIN.replace("rain (mm)", "Rainfall [mm]")).files["accepted"][0] == 2
    assert {rule for _, _, rule in said(check(RAIN.replace("rain (mm)", "depth of rain")))} == {
        "unit_missing",
        "headings_understood",
    }


def test_a_missing_column_is_named_in_the_words_of_the_kind() -> None:
    checked = check("member,series,rain_mm,remarks\nfen-07,garden,1,\n")
    assert checked.files["kind"].to_list() == ["rain"]
    assert "measured_on" in checked.problems["message"][0]
    assert "blank rain log" in checked.problems["fix"][0]
    text = as_text(check(f"{HEADING}\n"))
    assert "could not be read as a rain log" in text and "run sheet" not in text


def test_the_receipt_counts_and_echoes_a_rain_log() -> None:
    text = as_text(check(RAIN))
    assert "2 rows: 2 accepted, 0 held." in text
    values = as_json_value(check(RAIN))["files"][0]
    assert (values["rows"], values["accepted"], values["held"]) == (2, 2, 0)
    _, readings = check_and_read_back([Sheet("rain.csv", RAIN.encode())], Settings(), TODAY)
    assert [(one.column, one.typed, one.read) for one in readings[0]] == [
        ("measured_on", "2026-03-14", "2026-03-14"),
        ("measured_on", "2026-03-15", "2026-03-15"),
        ("rain", "0.25", "0.25 mm"),
        ("rain", "4.5", "4.5 mm"),
    ]


def test_blank_sheet_and_dictionary_are_made_of_the_kind() -> None:
    assert blank_sheet_csv(RAIN_LOG) == "member,series,measured_on,under_roof,rain,remarks\r\n"
    with zipfile.ZipFile(io.BytesIO(blank_sheet_xlsx(RAIN_LOG))) as book:
        assert 'name="rain log"' in book.read("xl/workbook.xml").decode()
    page = listed_page(invented_view(), "dictionary.html")
    html = as_html(page)
    assert "The rain log" in html and "Depth of rain since the day before." in html
    assert {download.path for download in page.downloads} >= {
        "rain-log.csv",
        "rain-log.xlsx",
        "run-sheet.csv",
    }


SLOPE = Column(
    name="bench_slope",
    required="no",
    kind="count",
    meaning="How far the bench leans.",
    kept=Kept("bench_slope", "whole", True, "", "How far the bench leans.", limits=Limits(0, 90), since=2),
    example="3",
    spellings={"en": ("leaning",)},
)


@pytest.fixture
def with_slope(monkeypatch: pytest.MonkeyPatch) -> SheetKind:
    """The run sheet with one more column, put in by one record."""
    kind = replace(RUN, columns=(*RUN.columns, SLOPE))
    monkeypatch.setitem(KINDS, "run", kind)
    return kind


def test_a_column_added_by_its_record_is_everywhere(with_slope: SheetKind) -> None:
    assert "bench_slope" in blank_sheet_csv(with_slope)
    found = read_heading("Bench slope", with_slope), read_heading("leaning", with_slope)
    assert [heading.column for heading in found if heading] == ["bench_slope"] * 2
    assert read_heading("bench_slope", RUN) is None
    checked = check(sheet({"bench_slope": "3"}, {"bench_slope": "91", "pot_no": "2"}))
    assert checked.accepted_of(with_slope)["bench_slope"].to_list() == [3]
    assert (3, "bench_slope", "does_not_fit") in said(checked)
    assert "a whole number from 0 to 90" in as_text(checked)
    assert "bench_slope" in row_model(with_slope).columns
    assert "How far the bench leans." in as_html(listed_page(invented_view(), "dictionary.html"))


def test_a_column_that_the_form_lacks_rides_along_when_a_series_is_mended(with_slope: SheetKind) -> None:
    (run,) = check(sheet({"bench_slope": "3"})).accepted_of(with_slope).to_dicts()
    assert cells_of(run, with_slope)["bench_slope"] == "3"


def test_an_added_column_takes_no_others_place(with_slope: SheetKind) -> None:
    """Behind the sheet's other columns and before what no member fills in; the order of the others stands."""
    others = [name for name in with_slope.kept_names if name != "bench_slope"]
    assert others == list(RUN.kept_names)
