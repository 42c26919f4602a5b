"""Checks run in another process: the check half is pickled out and back, and its result is loaded here."""

from __future__ import annotations

import pickle
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import timedelta
from multiprocessing import get_context
from pathlib import Path

import polars as pl
import pytest

from pipeline.jobs.receiving.checking import check_for_loading, now, pool_settings
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import Moment, load_batch, load_checked
from pipeline.load.views.reading import runs_in_force
from pipeline.settings import Settings

ACCEPTED = Path(__file__).resolve().parents[2] / "contrib_samples" / "accepted"
MOST_S = 300


@pytest.fixture(scope="module")
def sheets() -> list[Sheet]:
    paths = sorted(ACCEPTED.glob("*.csv"))[:2]
    assert len(paths) == 2
    missing = Sheet("nowhere.csv", None, "there is no such file")
    return [missing, *(Sheet(path.name, path.read_bytes()) for path in paths)]


def silent(_line: str) -> None:
    """Takes progress lines and drops them."""


def test_a_check_in_another_process_loads_like_one_made_here(tmp_path: Path, sheets: list[Sheet]) -> None:
    elsewhere, here = tmp_path / "elsewhere", tmp_path / "here"
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as workers:
        batch = workers.submit(check_for_loading, sheets, pool_settings(elsewhere), now().date()).result(
            timeout=MOST_S
        )
    loaded = load_checked(elsewhere, batch, [Moment()] * len(sheets), "tests", silent)
    plain = load_batch(here, sheets, [Moment()] * len(sheets), "tests", silent)
    assert [one.accepted for one in loaded.outcomes] == [one.accepted for one in plain.outcomes]
    assert len(loaded.outcomes) == len(sheets) - 1
    assert runs_in_force(elsewhere).height > 0
    order = ["submission", "sheet_row"]
    assert runs_in_force(elsewhere).sort(order).equals(runs_in_force(here).sort(order))


def test_a_stale_check_is_made_again(tmp_path: Path, sheets: list[Sheet]) -> None:
    """Checked on an earlier day or with other settings: what is loaded is what today's check says."""
    fresh = check_for_loading(sheets, Settings(), now().date())
    emptied = replace(fresh.checked, accepted=fresh.checked.accepted.clear())
    stale = replace(fresh, checked=emptied, day=fresh.day - timedelta(days=1))
    loaded = load_checked(tmp_path / "pool", stale, [Moment()] * len(sheets), "tests", silent)
    assert loaded.checked.accepted.height == fresh.checked.accepted.height > 0


def test_a_checked_batch_survives_pickling(sheets: list[Sheet]) -> None:
    batch = check_for_loading(sheets, Settings(), now().date())
    copy = pickle.loads(pickle.dumps(batch))  # noqa: S301 - our own bytes
    assert (copy.sheets, copy.settings, copy.day) == (batch.sheets, batch.settings, batch.day)
    for name in ("files", "accepted", "held", "problems"):
        frame: pl.DataFrame = getattr(copy.checked, name)
        assert frame.equals(getattr(batch.checked, name))
