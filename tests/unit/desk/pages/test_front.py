"""Front page, reports and blank sheets: who sees which month, and no way out of the reports."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from schemas.kinds.run import RUN
from tests.unit.desk.tested_desk import TestedDesk


@pytest.fixture(scope="module")
def draft(desk: TestedDesk) -> str:
    """A month with a page, a script and a picture, made by nobody and so published by nobody."""
    folder = desk.pool / "reports" / "2026-03"
    (folder / "files").mkdir(parents=True)
    (folder / "index.html").write_text("<title>March</title>", encoding="utf-8")
    (folder / "results.json").write_text(
        '{"edition": 1, "open": false, "month": "2026-03"}', encoding="utf-8"
    )
    (folder / "page.js").write_text("0", encoding="utf-8")
    (folder / "files" / "curve.png").write_bytes(b"png")
    return "2026-03"


def test_assets_are_served_with_their_types(desk: TestedDesk) -> None:
    visitor = desk.visitor()
    for path, kind in (
        ("/desk.css", "text/css"),
        ("/desk.js", "text/javascript"),
        ("/mark.svg", "image/svg+xml"),
    ):
        answer = visitor.get(path)
        assert answer.status_code == 200 and answer.headers["content-type"].startswith(kind)
        assert "max-age" in answer.headers["cache-control"]
    assert visitor.get("/robots.txt").text == "User-agent: *\nDisallow: /\n"


def test_blank_sheets_are_those_of_the_command(desk: TestedDesk) -> None:
    from reports.blank_sheet import blank_sheet_csv

    answer = desk.visitor().get("/blank.csv")
    assert answer.text == blank_sheet_csv(RUN)
    assert answer.headers["content-disposition"] == 'attachment; filename="run_sheet.csv"'
    assert desk.visitor().get("/blank.xlsx").content[:2] == b"PK"
    assert next(csv.reader(io.StringIO(answer.text)))[0] == "member"


def test_the_months_and_their_feed_are_found_where_pages_lead_to(desk: TestedDesk) -> None:
    visitor = desk.visitor()
    assert visitor.get("/reports/feed.xml").status_code == 404
    feed = desk.pool / "reports" / "feed.xml"
    feed.parent.mkdir(parents=True, exist_ok=True)
    feed.write_text("<feed/>", encoding="utf-8")
    assert visitor.get("/reports/feed.xml").text == "<feed/>"
    answer = visitor.get("/reports/index.html", follow_redirects=False)
    assert answer.status_code == 303 and answer.headers["location"] == "/reports"


@pytest.mark.parametrize("ending", ["pdf", "CSV", "csv/../x", ""])
def test_other_blank_sheets_are_not_there(desk: TestedDesk, ending: str) -> None:
    assert desk.visitor().get(f"/blank.{ending}").status_code == 404


def test_a_draft_is_seen_by_who_is_signed_in_only(desk: TestedDesk, draft: str) -> None:
    visitor, member = desk.visitor(), desk.member("teal-21")
    for path in ("/", "/reports"):
        assert draft not in visitor.get(path).text
        assert draft in member.get(path).text
    assert visitor.get(f"/reports/{draft}/").status_code == 404
    assert "March" in member.get(f"/reports/{draft}/").text


def test_a_month_without_its_slash_leads_to_its_page(desk: TestedDesk, draft: str) -> None:
    answer = desk.member("teal-21").get(f"/reports/{draft}", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/reports/{draft}/")


def test_scripts_and_pictures_may_be_kept_and_pages_not(desk: TestedDesk, draft: str) -> None:
    member = desk.member("teal-21")
    kept = {
        path: member.get(f"/reports/{draft}/{path}").headers.get("cache-control", "")
        for path in ("page.js", "files/curve.png", "results.json")
    }
    assert "max-age=3600" in kept["page.js"] and "max-age=3600" in kept["files/curve.png"]
    assert "max-age=3600" not in kept["results.json"]


@pytest.mark.parametrize(
    "path",
    [
        "../journal.jsonl",
        "..%2Fjournal.jsonl",
        "2026-03/../../journal.jsonl",
        "2026-03/missing.html",
        "2026-03/files",
        "%00",
    ],
)
def test_no_file_beside_the_reports_is_served(desk: TestedDesk, draft: str, path: str) -> None:
    answer = desk.member("teal-21").get(f"/reports/{path}")
    assert answer.status_code == 404
    assert "sha256" not in answer.text


def test_a_link_out_of_the_reports_is_not_followed(desk: TestedDesk, draft: str) -> None:
    (desk.pool / "reports" / draft / "out.jsonl").symlink_to(Path("../../journal.jsonl"))
    assert desk.member("teal-21").get(f"/reports/{draft}/out.jsonl").status_code == 404
