"""rows = accepted + held, for every file, whatever is in it; and a file's outcome is its own."""

from __future__ import annotations

from typing import Any

import polars as pl
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.kinds.run import RUN
from schemas.rules import rule
from tests.rounds import examples
from tests.unit.check.sheets import MIX, check_many, problems

ROW = st.fixed_dictionaries(
    {
        "member": st.sampled_from(["fen-07", "FEN-07", None]),
        "series": st.sampled_from(["a", "A", "b"]),
        "climate_zone": st.sampled_from(["Cfb", "Csb", "unknown", None]),
        "setup_type": st.sampled_from(["rack", "rack", "sieve", "other"]),
        "pot_volume_ml": st.sampled_from([1000.0, 1050.0, 1200.0, 1300.0, 4000.0, None, float("nan")]),
        "component": st.sampled_from(["perlite", "pumice", None]),
        "component_grade": st.sampled_from(["fine", "fine", None]),
        "component_share": st.sampled_from([0.0, 0.0, 33.3, 33.6, 40.0, None]),
        "pot_no": st.integers(1, 3) | st.none(),
        "pour_no": st.integers(1, 2),
        "poured_ml": st.sampled_from([300.0, 310.0, 400.0]),
        "collected_ml": st.sampled_from([150.0, 160.0, 350.0]),
        "drain_time_s": st.sampled_from([1e-3, 4.0, 200.0, 9e4, 9e6, None]),
        "ended": st.sampled_from(["reached", "stopped", "ran_dry"]),
        "start_moisture": st.sampled_from(["moist", "dry", None]),
        "notes": st.sampled_from([None, "\x1b[31m red", "ok"]),
    }
).map(lambda changes: {**MIX, **changes})
SHEET = st.lists(ROW, min_size=1, max_size=8)


@given(st.lists(SHEET, min_size=1, max_size=3), st.data())
def test_rows_are_accepted_or_held(sheets: list[list[dict[str, Any]]], data: st.DataObject) -> None:
    whole = data.draw(st.sampled_from([None, *range(len(sheets))]))
    found = problems() if whole is None else problems({"file_id": whole, "rule": "rule_not_applied"})
    checked = check_many(*sheets, found=found)
    for file_id, rows in enumerate(sheets):
        counts = checked.files.row(file_id, named=True)
        accepted = checked.accepted.filter(pl.col("file_id") == file_id)["sheet_row"].to_list()
        held = checked.held.filter(pl.col("file_id") == file_id)["sheet_row"].to_list()
        assert counts["rows"] == len(rows) == counts["accepted"] + counts["held"]
        assert sorted(accepted + held) == list(range(2, len(rows) + 2))
        assert counts["accepted"] == len(accepted)
    assert tuple(checked.accepted.columns) == ("file_id", *RUN.kept_names)
    assert all(reasons for reasons in checked.held["reasons"].to_list()), "every held row says why"
    _every_held_row_is_told(checked.problems, checked.held)


@settings(max_examples=examples(0.5))
@given(SHEET, SHEET)
def test_a_sheet_gets_the_same_outcome_whatever_came_with_it(
    one: list[dict[str, Any]], other: list[dict[str, Any]]
) -> None:
    together, alone = check_many(other, one), check_many(one)
    told = together.problems.filter(pl.col("file_id") == 1).drop("file_id", "file")
    assert told.equals(alone.problems.drop("file_id", "file"), null_equal=True)
    apart = ["file_id", "submission"]
    accepted = together.accepted.filter(pl.col("file_id") == 1).drop(apart)
    assert accepted.equals(alone.accepted.drop(apart), null_equal=True)


def _every_held_row_is_told(told: pl.DataFrame, held: pl.DataFrame) -> None:
    whole = set(told.filter(pl.col("row").is_null())["file_id"])
    named = set(told.select("file_id", "row").rows())
    for file_id, row, reasons in held.select("file_id", "sheet_row", "reasons").iter_rows():
        assert file_id in whole or (file_id, row) in named
        assert all(rule(reason) for reason in reasons)
