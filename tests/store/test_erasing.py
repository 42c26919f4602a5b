"""Erasing a member of the demo's pool with the real command: nothing of them stays, and the pool says so."""

from __future__ import annotations

import json
import re
import shutil
from io import BytesIO
from pathlib import Path

import polars as pl
import pytest

from pipeline.jobs.keeping.steps import agree
from tests.story.pool_fixture import DemoPool, drainpool, read_results


@pytest.fixture(scope="module")
def erased(demo_pool: DemoPool, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str, str, int]:
    """The demo's pool without one member: folder, code, what the command said, runs of that member before."""
    pool = tmp_path_factory.mktemp("erased") / "pool"
    shutil.copytree(demo_pool.folder, pool)
    rows = pl.read_csv(pool / "reports" / "2026-05" / "pool.csv", infer_schema=False)
    member = rows.group_by("member").len().sort("len", "member").row(-1)[0]
    done = drainpool("erase", "--pool", pool, "--member", member, "--reason", f"{member} asked")
    assert done.returncode == 0, done.stderr
    return pool, member, done.stdout, rows.filter(member=member).height


def mentions(content: bytes, member: str) -> bool:
    return bool(re.search(rf"(?i)(?<![\w-]){re.escape(member)}(?![\w-])".encode(), content))


def test_the_code_stands_in_no_file_of_the_pool(
    erased: tuple[Path, str, str, int], demo_pool: DemoPool
) -> None:
    pool, member, _said, _runs = erased

    def found(folder: Path) -> list[str]:
        files = [path for path in folder.rglob("*") if path.is_file()]
        return [
            path.relative_to(folder).as_posix()
            for path in files
            if mentions(path.read_bytes(), member) or mentions(path.name.encode(), member)
        ]

    assert len(found(demo_pool.folder)) > 5
    assert found(pool) == []


def test_its_rows_are_gone_from_every_months_pool_files(erased: tuple[Path, str, str, int]) -> None:
    pool, member, _said, _runs = erased
    files = sorted((pool / "reports").rglob("pool.parquet"))
    assert len(files) == 3
    for path in files:
        parquet = pl.read_parquet(BytesIO(path.read_bytes()))
        assert member not in parquet["member"].to_list()
        assert parquet.height == pl.read_csv(path.with_name("pool.csv"), infer_schema=False).height > 0


def test_results_stay_and_the_months_are_named(
    erased: tuple[Path, str, str, int], demo_pool: DemoPool
) -> None:
    pool, _member, said, _runs = erased
    for month in ("2026-03", "2026-04", "2026-05"):
        path = Path("reports") / month / "results.json"
        assert (pool / path).read_bytes() == (demo_pool.folder / path).read_bytes()
    assert "2026-05" in said
    assert "ackups" in said


def test_verify_reports_erased_sheets_as_erased(erased: tuple[Path, str, str, int]) -> None:
    pool, _member, _said, _runs = erased
    done = drainpool("verify", "--pool", pool)
    assert done.returncode == 0, done.stdout
    assert "erased (journal line" in done.stdout
    assert "DAMAGE" not in done.stdout


@pytest.mark.deep
def test_a_month_made_again_is_a_new_edition_that_counts_the_erased(
    erased: tuple[Path, str, str, int], tmp_path: Path
) -> None:
    pool, _member, _said, runs = erased
    again = tmp_path / "pool"
    shutil.copytree(pool, again)
    before = read_results(again, "2026-05")
    done = drainpool("month", "2026-05", "--pool", again)
    assert done.returncode == 0, done.stderr
    after = read_results(again, "2026-05")
    assert after["edition"] == before["edition"] + 1
    assert after["erased"] >= runs
    assert after["counts"]["members"] == before["counts"]["members"] - 1
    assert drainpool("rebuild", "--pool", again).returncode == 0


def test_values_agree_to_a_hundred_thousandth_or_not() -> None:
    value = json.loads('{"a": [1.0, null, "x", true], "b": {"c": 2}}')
    assert agree(value, json.loads('{"a": [1.000009, null, "x", true], "b": {"c": 2}}'))
    for other in (
        '{"a": [1.0001, null, "x", true], "b": {"c": 2}}',
        '{"a": [1.0, null, "y", true], "b": {"c": 2}}',
        '{"a": [1.0, null, "x"], "b": {"c": 2}}',
        '{"a": [1.0, null, "x", true]}',
        '{"a": [1.0, 0, "x", true], "b": {"c": 2}}',
    ):
        assert not agree(value, json.loads(other))
