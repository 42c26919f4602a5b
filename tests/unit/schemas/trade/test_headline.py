"""Who stands in a headline, and every reason why one does not: the contract, section 3; methods note, section 1."""

from __future__ import annotations

import polars as pl
import pytest

from schemas.trade.headline import DRY, REASONS, in_headline, only, start_of_pour

PLAIN = {
    "start_moisture": "moist", "pre_wetted": "yes", "pour_no": 1, "mix_age_days": 3.0, "planted": "no",
    "part_marked": False, "unlike_pour": False, "base": "sphagnum_peat",
}  # fmt: skip
SCHEMA = {
    "start_moisture": pl.String, "pre_wetted": pl.String, "pour_no": pl.Int64, "mix_age_days": pl.Float64,
    "planted": pl.String, "part_marked": pl.Boolean, "unlike_pour": pl.Boolean, "base": pl.String,
}  # fmt: skip


def run(**changed: object) -> pl.DataFrame:
    return pl.DataFrame([{**PLAIN, **changed}], schema=SCHEMA)


@pytest.mark.parametrize(
    ("moisture", "wetted", "pour", "start"),
    [
        ("soaked", "no", 1, "soaked"),
        ("dry", "yes", 1, "dry"),
        (None, "yes", 1, "moist"),
        (None, None, 1, "moist"),
        (None, "no", 1, "dry"),
        (None, "no", 2, "moist"),
    ],
)
def test_blank_moisture_is_moist_or_dry_where_the_first_pour_met_a_mix_never_wetted(
    moisture: str | None, wetted: str | None, pour: int, start: str
) -> None:
    rows = run(start_moisture=moisture, pre_wetted=wetted, pour_no=pour)
    assert rows.select(start_of_pour()).item() == start


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"start_moisture": "dry"}, "dry"),
        ({"mix_age_days": 30.5}, "aged"),
        ({"planted": "yes"}, "planted"),
        ({"part_marked": True}, "other_part"),
        ({"unlike_pour": True}, "unlike_pour"),
    ],
)
def test_each_reason_alone_keeps_a_run_out(changed: dict[str, object], reason: str) -> None:
    rows = run(**changed)
    assert not rows.select(in_headline()).item()
    assert [each.name for each in REASONS if rows.select(each.holds).item()] == [reason]
    assert [each.name for each in REASONS if rows.select(only(each)).item()] == [reason]


def test_two_reasons_are_neither_alone() -> None:
    rows = run(start_moisture="dry", planted="yes")
    assert not rows.select(in_headline()).item() and not rows.select(only(DRY)).item()


@pytest.mark.parametrize("changed", [{}, {"mix_age_days": None, "planted": None}, {"mix_age_days": 30.0}])
def test_blanks_and_limits_stand_in_the_headline(changed: dict[str, object]) -> None:
    assert run(**changed).select(in_headline()).item()
