"""The demo through intake and check: only the intended rows are held, and every other row is read as it was
meant, whatever units, spellings and kind of file its member used."""

from __future__ import annotations

from datetime import date
from typing import Any

import polars as pl
import pytest

from contrib_samples.federation import POTS
from contrib_samples.sheets import draw_sheets
from contrib_samples.simulator import SEED
from contrib_samples.spellings import Run
from pipeline.check.steps import Checked, check_sheets
from pipeline.intake.received import ReceivedFile
from pipeline.intake.steps import read_sheets
from pipeline.settings import Settings
from schemas.kinds.run import RUN

SHEETS = draw_sheets(SEED)


@pytest.fixture(scope="module")
def checked() -> Checked:
    read = read_sheets([ReceivedFile(sheet.path, sheet.content) for sheet in SHEETS], RUN)
    return check_sheets(read.files, read.cells, read.typed, read.problems, RUN, Settings(), date(2026, 7, 1))


def by_file(checked: Checked) -> dict[str, int]:
    return dict(checked.files.select("file", "file_id").iter_rows())


def test_rows_are_accepted_or_held(checked: Checked) -> None:
    rows = checked.files.sort("file").select("file", "rows", "readable").rows()
    assert rows == [(sheet.path, sheet.rows, True) for sheet in SHEETS]
    assert (checked.files["rows"] == checked.files["accepted"] + checked.files["held"]).all()


def test_only_the_intended_rows_are_held(checked: Checked) -> None:
    ids = by_file(checked)
    intended = {(ids[sheet.path], row.row) for sheet in SHEETS for row in sheet.held}
    assert set(checked.held.select("file_id", "sheet_row").iter_rows()) == intended


def test_every_accepted_row_is_read_as_it_was_meant(checked: Checked) -> None:
    ids = by_file(checked)
    key = ("file_id", "member", "series", "component_share", "pot_no", "pour_no")
    accepted = {tuple(row[name] for name in key): row for row in checked.accepted.iter_rows(named=True)}
    unlike = []
    for sheet in SHEETS:
        held = {row.spot for row in sheet.held if row.column}
        for run in sheet.runs:
            if run.spot not in held:
                row = accepted.pop((ids[sheet.path], *run.spot))
                unlike += [(run.spot, what) for what in differences(row, run)]
    assert accepted == {}
    # the slip that passes unnoticed: 12:46 for 2:46
    assert [(spot.member, spot.share, what) for spot, what in unlike] == [("qm-01", 25.0, "drain_time_s")]


def differences(row: dict[str, Any], run: Run) -> list[str]:
    """Names of what was read otherwise than drawn; lengths of a pot give its volume within 1 %."""
    series, pot = run.series, POTS[run.series.pot]
    words = {
        "tested_on": run.tested_on,
        "ended": run.ended,
        "setup_type": series.setup,
        "base": series.base,
        "component": series.component,
        "component_grade": series.grade,
        "climate_zone": run.member.climate,
    }
    amounts = {
        "drain_time_s": pytest.approx(run.drain_time_s, abs=0.51),
        "pot_volume_ml": pytest.approx(pot.volume_ml, rel=0.01),
        "poured_ml": pytest.approx(pot.poured_ml, rel=1e-9),
        "collected_ml": pytest.approx(pot.poured_ml * series.collected_part, rel=1e-9),
    }
    found = [name for name, meant in {**words, **amounts}.items() if row[name] != meant]
    if row["water_temp_c"] is not None and row["water_temp_c"] != pytest.approx(run.water_temp_c, abs=0.3):
        found.append("water_temp_c")
    return found


def test_clubs_and_dry_starts_are_told_apart(checked: Checked) -> None:
    clubs = checked.accepted.select("member", "club").unique()
    assert clubs.filter(pl.col("club").is_null()).height == 5
    dry = checked.accepted.filter(
        (pl.col("start_moisture") == "dry")
        | (pl.col("start_moisture").is_null() & (pl.col("pre_wetted") == "no"))
    )
    assert set(dry["member"]) == {"pf-02", "lf-04", "oe-03"}
