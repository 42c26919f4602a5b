"""Small answers behind the pages: ways on, file names, readings, own dots, people, the shelf of reports."""

from __future__ import annotations

import csv
import io
import math
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import polars as pl
import pytest

from pipeline.desk.accounts.book import Account, Book, Invitation
from pipeline.desk.accounts.people import members_of
from pipeline.desk.pages.door import CODE, way_on
from pipeline.desk.pages.pictures import answer_picture, dots_picture
from pipeline.desk.pages.query import as_options, in_page_words
from pipeline.desk.pages.receipt_values import worth_telling
from pipeline.desk.pages.send import fit_name, plain_owner
from pipeline.desk.pool.month_runs import MonthRuns
from pipeline.desk.pool.own import as_sheet, dots, everything, of_member, own_series
from pipeline.desk.pool.reports import ReportFolders
from pipeline.desk.web.refusals import RefusedError
from pipeline.load.truth.records import View
from schemas.kinds.run import RUN

KINDS = {"text": pl.String, "date": pl.Date, "number": pl.Float64, "whole": pl.Int64, "flag": pl.Boolean}


def runs(*members: str) -> pl.DataFrame:
    """One accepted run of each member, every column there."""
    rows = []
    for at, member in enumerate(members):
        row = dict.fromkeys(column.name for column in RUN.kept)
        row |= {
            "member": member, "member_key": member.casefold(), "series": "=Sill", "series_key": "=sill", "tested_on": date(2026, 3, 14),
            "component": "perlite", "component_grade": "medium", "component_share": 40.0, "pot_volume_ml": 1000.0, "setup_type": "rack",
            "pot_no": 1, "pour_no": 1, "submission": f"{at}" * 64, "sheet_row": 2, "notes": "@home", "drain_time_s": 205.0,
        }  # fmt: skip
        rows.append(row)
    return pl.DataFrame(rows, schema={column.name: KINDS[column.frame] for column in RUN.kept})


@pytest.mark.parametrize(
    "then", ["/mine", "/checked/aB3", "/ask?component=perlite&by=grade", "/mine/runs.csv?series=a%20b"]
)
def test_the_way_on_leads_to_a_page_of_ours(then: str) -> None:
    assert way_on(then, "/") == then


@pytest.mark.parametrize(
    "then",
    ["", "//x.example", "https://x.example", "/\\x", "/a//b", "javascript:x", "/x\n", "mine", "/mine#x"],
)
def test_everything_else_leads_to_the_usual_page(then: str) -> None:
    assert way_on(then, "/usual") == "/usual"


@pytest.mark.parametrize("code", ["a", "-a", "a b", "a" * 33, "a_b", "ä1", "", "a1\n"])
def test_what_is_no_code(code: str) -> None:
    assert not CODE.match(code)


@pytest.mark.parametrize("name", ["my tests.csv", "März.XLSX", "a.b.tsv", "x.txt"])
def test_plain_file_names_fit(name: str) -> None:
    assert fit_name(name) == name


@pytest.mark.parametrize(
    "name", ["", " ", "a/b.csv", "..\\a.csv", "a\x00.csv", "..", "a.exe", "sheet", "x" * 120 + ".csv"]
)
def test_other_file_names_are_refused(name: str) -> None:
    with pytest.raises(RefusedError):
        fit_name(name)


def test_receipts_never_lie_under_a_name_that_is_no_code() -> None:
    assert plain_owner("Fen-07", "ada") == "Fen-07"
    for odd in ("../x", "a/b", "", "a\x00", "x" * 40):
        assert plain_owner(odd, "ada") == "ada"


def test_readings_that_changed_a_number_are_told_and_others_once_a_column() -> None:
    told = worth_telling(
        [
            ["poured", "300 ml", "300 ml"], ["poured", "2 cups", "473 ml"], ["poured", "1 pint", "473 ml"],
            ["drain_time", "249", "249 s"], ["drain_time", "250", "250 s"], ["drain_time", "4:09", "249 s"],
        ]
    )  # fmt: skip
    assert [one[1] for one in told] == ["2 cups", "1 pint", "249", "4:09"]


def test_a_question_in_the_page_is_the_commands_own() -> None:
    options = as_options({"climate": "Cfb", "pot_from": "0.5", "pot_to": "2 gal", "by": "grade"})
    assert options["pot_volume"] == "0.5l..2 gal"
    assert options["climate"] == "Cfb"
    assert "by" not in options
    assert as_options({"pot_to": "2"})["pot_volume"] == "..2l"
    assert as_options({})["pot_volume"] is None
    assert in_page_words("--pot-volume: “x” is not a range.") == "pot size: “x” is not a range."


def test_own_rows_are_found_whatever_their_letter_case() -> None:
    frame = runs("Fen-07", "otter-3")
    assert of_member(frame, "fen-07")["member"].to_list() == ["Fen-07"]
    held = pl.DataFrame({"member": ["FEN-07 ", None, "otter-3"]})
    assert of_member(held, "fen-07").height == 1
    assert of_member(pl.DataFrame(), "fen-07").is_empty()


def test_no_cell_of_ones_own_file_runs_as_a_formula() -> None:
    rows = list(csv.DictReader(io.StringIO(as_sheet(runs("fen-07")))))
    assert (rows[0]["series"], rows[0]["notes"], rows[0]["drain_time_s"]) == ("'=Sill", "'@home", "205")
    assert "submission" not in rows[0]
    held = pl.DataFrame(
        {"file": ["a.csv"], "sheet_row": [3], "series": ["s"], "cells": ["{}"], "message": ["mend"]}
    )
    assert "Held rows, as you typed them" in everything(runs("fen-07"), held)


def test_own_series_stand_in_words() -> None:
    (sill,) = own_series(runs("fen-07"))
    assert (sill.series, sill.shares, sill.pot, sill.runs) == ("=Sill", "40 %", "1.0 l", 1)
    assert own_series(pl.DataFrame()) == []


def test_others_are_shown_from_three_growers_up_and_never_by_code() -> None:
    def contrasts(*members: str) -> pl.DataFrame:
        return pl.DataFrame(
            [("perlite", "medium", one, one, "s", 40.0, math.log(1.5), 1.5) for one in members],
            schema=[
                "component",
                "grade",
                "member",
                "member_key",
                "series",
                "component_share",
                "effect",
                "ratio",
            ],
            orient="row",
        )

    (alone,) = dots(contrasts("fen-07", "a-1", "b-2"), "FEN-07")
    assert (alone.own, alone.others, alone.growers) == ([(40.0, 1.5)], [], 2)
    (among,) = dots(contrasts("fen-07", "a-1", "b-2", "c-3"), "fen-07")
    assert len(among.others) == 3
    assert "a-1" not in str(among)
    assert dots(contrasts("a-1"), "fen-07") == []


def test_drawings_are_well_formed_and_say_what_they_show() -> None:
    shares: list[dict[str, Any]] = [
        {"share": 40, "ratio": 1.5, "ci": [1.2, 1.9], "new_series": [0.9, 2.4]},
        {"share": 60, "ratio": 9.0, "ci": None, "new_series": None},
        {"share": 65, "ratio": None, "ci": None, "new_series": None},
    ]
    drawn = answer_picture("<perlite>", shares)
    assert drawn is not None
    read = ElementTree.fromstring(drawn)  # noqa: S314 - our own drawing
    assert read.get("aria-label", "").startswith("<perlite>: 40 % 1.5 times as fast")
    assert answer_picture("x", shares[2:]) is None
    dots_drawn = dots_picture("mine", [(40.0, 1.5)], [(40.0, 99.0)])
    assert len(ElementTree.fromstring(dots_drawn)) > 10  # noqa: S314 - our own drawing


def test_everybody_is_listed_the_one_who_sent_last_first() -> None:
    at = datetime(2026, 3, 14, tzinfo=UTC)
    receipts = pl.DataFrame(
        {"submission": ["0" * 64, "1" * 64], "received": [datetime(2026, 2, 1), datetime(2026, 3, 1)]}
    )
    seen = View(runs("Fen-07", "otter-3"), pl.DataFrame(), pl.DataFrame(), receipts, {})
    book = Book(
        "s",
        accounts={
            "fen-07": Account("fen-07", "member", "h", "x"),
            "gone-1": Account("gone-1", "member", None, "x", open=False),
        },
        invitations={
            "h": Invitation("New-1", "member", "2026-03-20T00:00:00Z", "ada"),
            "o": Invitation("old-1", "member", "2026-03-01T00:00:00Z", "ada"),
        },
    )
    found = {one.code: (one.state, one.runs, one.last_sent) for one in members_of(seen, book, at)}
    assert found["otter-3"] == ("no account", 1, "2026-03-01")
    assert found["fen-07"] == ("can sign in", 1, "2026-02-01")
    assert found["New-1"] == ("invited until 2026-03-20", 0, "")
    assert found["gone-1"][0] == "closed"
    assert next(iter(found)) == "otter-3"


def test_the_shelf_shows_files_of_reports_and_nothing_else(tmp_path: Path) -> None:
    inside = tmp_path / "reports" / "2026-03" / "members"
    inside.mkdir(parents=True)
    (tmp_path / "reports" / "2026-03" / "index.html").write_text("x")
    (inside / "fen-07.html").write_text("x")
    (tmp_path / "secret.txt").write_text("x")
    (inside / "link.html").symlink_to(tmp_path / "secret.txt")
    shelf = ReportFolders(tmp_path)
    assert shelf.file("2026-03/") == tmp_path / "reports" / "2026-03" / "index.html"
    assert shelf.file("2026-03/members/fen-07.html") is not None
    for wrong in (
        "",
        "/",
        "2026-03",
        "../secret.txt",
        "2026-03/../../secret.txt",
        "2026-03//",
        "2026-03/.x",
        "2026-03/members/link.html",
        "2026-03/nothing.html",
        "2026-03/a\x00b",
        "x" * 5000,
    ):
        assert shelf.file(wrong) is None, wrong
        assert shelf.for_readers(wrong) is None, wrong
    assert shelf.for_readers("2026-03/") is None, "nobody has published it"
    assert [month.month for month in shelf.months()] == ["2026-03"]
    assert ReportFolders(tmp_path / "none").months() == []


def test_a_runs_words_are_read_from_its_log_and_an_odd_name_is_none(tmp_path: Path) -> None:
    months = MonthRuns(tmp_path, tmp_path)
    folder = tmp_path / "runs"
    folder.mkdir()
    (folder / "20260314T120000-2026-03.log").write_text("Making …\nOpen: x\n— ended with exit code 0\n")
    (folder / "20260315T120000-2026-03.log").write_text("Making …\n")
    done, cut = months.look("20260314T120000-2026-03"), months.look("20260315T120000-2026-03")
    assert done is not None
    assert (done.month, done.lines, done.exit_code) == ("2026-03", ("Making …", "Open: x"), 0)
    assert cut is not None
    assert cut.exit_code == 3
    for wrong in ("", "../x", "20260314T120000-2026-03.log", "20260101T000000-2026-01"):
        assert months.look(wrong) is None
    assert months.names() == ["20260315T120000-2026-03", "20260314T120000-2026-03"]
