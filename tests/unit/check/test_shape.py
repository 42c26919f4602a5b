"""The last gate: what the model of the run sheet refuses becomes a worded finding that holds the row."""

from __future__ import annotations

from datetime import date
from typing import Any

import pandera.polars as pa
import polars as pl
import pytest

from pipeline.check.findings import sheet_rows
from pipeline.check.shape import Shape, as_runs
from schemas.kinds.run import RUN
from schemas.row_model import BETWEEN, expected, row_model
from tests.unit.check.sheets import base, check, frames, message, mix, said

# converted values that intake should have held: (sheet column, run column, value)
MISFITS: list[tuple[str, str, Any]] = [
    ("tested_on", "tested_on", date(1979, 12, 31)),
    ("climate_zone", "climate_zone", "Cfx"),
    ("setup_type", "setup_type", "bucket"),
    ("setup_type", "setup_type", None),
    ("pot_volume", "pot_volume_ml", float("nan")),
    ("pot_volume", "pot_volume_ml", float("inf")),
    ("pot_volume", "pot_volume_ml", 600_000.0),
    ("component_share", "component_share", 101.0),
    ("pot_no", "pot_no", 0),
    ("pour_no", "pour_no", None),
    ("drain_time", "drain_time_s", float("nan")),
    ("ended", "ended", "finished"),
    ("water_temp", "water_temp_c", 46.0),
    ("hardiness_zone", "hardiness_zone", "14a"),
    ("drain_holes", "drain_holes", -1),
    ("club", "club", "my club"),
    ("notes", "notes", "n" * 501),
    ("rest_before", "rest_before_h", -1.0),
]


def gate(*rows: dict[str, Any]) -> pl.DataFrame:
    """What the last gate alone finds in these rows."""
    files, cells, typed = frames(rows)
    marks = {"part_marked": pl.lit(False), "unlike_pour": pl.lit(False)}
    return Shape(RUN).find(sheet_rows(files, cells, typed, RUN).with_columns(**marks))


@pytest.mark.parametrize(("column", "name", "value"), MISFITS, ids=[f"{n}={v!s:.12}" for _, n, v in MISFITS])
def test_what_does_not_fit_is_found(column: str, name: str, value: Any) -> None:
    found = gate(base(), mix(**{name: value}), mix(pot_no=2))
    assert found.select("sheet_row", "column", "rule").rows() == [(3, column, "does_not_fit")]


def test_right_rows_fit() -> None:
    assert gate(base(), mix()).height == 0


def test_what_slips_through_is_held_in_words() -> None:
    checked = check(base(), mix(hardiness_zone="14a"), mix(pot_no=2))
    assert said(checked) == [(3, "does_not_fit")]
    assert checked.accepted["sheet_row"].to_list() == [2, 4]
    for library_word in ("schema", "dtype", "null", "Column", "isin"):
        assert library_word not in message(checked, "does_not_fit")


def test_what_holds_between_columns_is_looked_at() -> None:
    rows = pl.concat([check(base(), mix()).accepted] * 2)
    wrong = rows.with_columns(
        collected_ml=pl.Series([150.0, 301.0, 150.0, 150.0]),
        component=pl.Series(["perlite", "perlite", "perlite", None]),
    )
    cells = {"cell_collected": pl.lit("301 ml"), "cell_component": pl.lit(None, pl.String)}
    found = Shape(RUN).find(wrong.with_columns(sheet_row=pl.Series([2, 3, 4, 5]), **cells))
    assert found.select("sheet_row", "column").sort("sheet_row").rows() == [
        (3, "collected"),
        (5, "component"),
    ]


def test_the_model_has_every_column_once_in_order() -> None:
    model = row_model(RUN)
    assert tuple(model.columns) == RUN.kept_names
    assert isinstance(model, pa.DataFrameSchema)
    accepted = check(base(), mix()).accepted
    assert tuple(accepted.columns) == ("file_id", *RUN.kept_names)
    model.validate(accepted.drop("file_id"), lazy=True)


def test_every_number_has_limits_and_every_column_words() -> None:
    numbers = {column.name for column in RUN.kept if column.frame in ("number", "whole")}
    assert {kept.name for kept in RUN.kept if kept.limits is not None} == numbers
    assert set(BETWEEN) <= set(RUN.kept_names)
    assert all(expected(RUN, name) for name in RUN.kept_names)
    assert expected(RUN, "pot_volume_ml") == "a number from 20 to 500000 ml"


def test_a_misfit_names_what_was_expected() -> None:
    checked = check(base(), mix(water_temp_c=46.0))
    assert "from 0 to 45 °C" in message(checked, "does_not_fit")


def test_a_frame_of_another_form_is_no_members_fault() -> None:
    runs = as_runs(check(base(), mix()).accepted, RUN)
    wrong = runs.with_columns(sheet_row=pl.lit(None, pl.Int64)).clear()
    assert Shape(RUN).find(wrong).height == 0
    with pytest.raises(pl.exceptions.InvalidOperationError):
        Shape(RUN).find(runs.with_columns(tested_on=pl.lit("no day")))
