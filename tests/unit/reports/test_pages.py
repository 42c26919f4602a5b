"""All pages of pools of every size hold together, and nothing a member typed can become markup."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest

from pipeline.jobs.month.files.report_files import write_files
from reports.frame import INVENTED
from reports.pages.months import MonthEntry
from reports.publish import index_files, page_files
from reports.render import as_html, safe_json
from reports.steps import month_pages
from tests.unit.reports.invented_month import invented_view

HOSTILE = "<script>alert(1)</script>\"'&{{7*7}}"


@pytest.mark.parametrize("members", [0, 1, 2, 4, 6])
def test_pages_of_small_pools_hold_together(members: int) -> None:
    pages = month_pages(invented_view(members))
    assert pages[0].path == "index.html"
    for page in pages:
        html = as_html(page)
        assert INVENTED in html
        assert "None" not in re.sub(r"<script type=\"application/json\".*?</script>", "", html, flags=re.S)
        assert "nan" not in html.lower().split()


def test_links_lead_to_files_that_are_made(tmp_path: Path) -> None:
    view = invented_view(6)
    write_files(tmp_path, index_files([MonthEntry(view.results)]))
    write_files(tmp_path / view.month, page_files(month_pages(view)))
    by_jobs = {"pool.csv", "pool.parquet", "results.json"}
    for path in tmp_path.rglob("*.html"):
        for target in re.findall(r'(?:href|src)="([^"#]+)', path.read_text()):
            if Path(target).name not in by_jobs and not target.startswith("https:"):
                assert (path.parent / target).resolve().exists(), (path.name, target)


def test_hostile_text_stays_text() -> None:
    view = invented_view(6)
    typed = {"member": HOSTILE, "series": HOSTILE}

    def hostile(frame: pl.DataFrame) -> pl.DataFrame:
        there = {name: value for name, value in typed.items() if frame.schema.get(name) == pl.String}
        return frame.with_columns(*(pl.lit(value).alias(name) for name, value in there.items()))

    settings = {**view.results["settings"], "pool_name": HOSTILE}
    held = view.held_by_rule.with_columns(pl.lit(HOSTILE).alias("title"))
    for page in month_pages(
        replace(
            view,
            effects=hostile(view.effects),
            members=hostile(view.members),
            runs=hostile(view.runs),
            held_by_rule=held,
            results={**view.results, "settings": settings},
        )
    ):
        html = as_html(page)
        assert "<script>alert" not in html
        assert "49" not in re.findall(r"<title>.*?</title>", html, re.S)[0]


def test_script_data_cannot_close_its_block() -> None:
    text = safe_json({"a": "</script><!--\u2028&"})
    assert "<" not in text and "\u2028" not in text
    assert json.loads(text) == {"a": "</script><!--\u2028&"}


def test_the_same_month_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a", "b"):
        write_files(tmp_path / name, page_files(month_pages(invented_view(6))))
    for path in (tmp_path / "a").rglob("*"):
        if path.is_file():
            assert path.read_bytes() == (tmp_path / "b" / path.relative_to(tmp_path / "a")).read_bytes(), (
                path.name
            )
