"""A rule that breaks down becomes a finding; nothing is lost, no other sheet waits."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl
import pytest

from pipeline.check import steps
from pipeline.check.findings import RowRule
from pipeline.check.guarded import ask_all, carried_out
from tests.unit.check.sheets import base, check_many, message, mix, said


@dataclass(frozen=True)
class BreaksOver:
    """A rule that breaks down wherever this member turns up."""

    member: str
    id: str = "collected_over_poured"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        if (rows["member"] == self.member).any():
            raise KeyError("no such thing")
        return RowRule(self.id, "collected", pl.col("pot_no") == 7).find(rows)


def test_the_sheet_it_broke_down_over_is_held_and_the_others_are_not(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(steps, "row_checks", lambda *_: [BreaksOver("bog-1")])
    checked = check_many(
        [base(), mix()], [base(member="bog-1"), mix(member="bog-1")], [base(), mix(pot_no=7)]
    )
    assert checked.files["accepted"].to_list() == [2, 0, 1]
    assert checked.files["held"].to_list() == [0, 2, 1]
    assert said(checked) == [(None, "rule_not_applied"), (3, "collected_over_poured")]
    told = message(checked, "rule_not_applied")
    assert "“More collected than poured” (collected_over_poured) could not be applied" in told
    assert "no such thing" not in told
    assert checked.held.filter(pl.col("file_id") == 1)["reasons"].to_list() == [["rule_not_applied"]] * 2


@pytest.mark.parametrize(
    "place",
    ["row_checks", "series_checks", "first_spelled", "taking_series_own", "Shape", "Repeats", "Baseline"],
)
def test_wherever_it_breaks_down_every_row_is_accounted_for(
    monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    def breaks(*_: object, **__: object) -> pl.DataFrame:
        raise RuntimeError("broken on purpose")

    class Broken:
        id = "ran_dry"
        find = staticmethod(breaks)

    instead = {
        "row_checks": lambda *_: [Broken()],
        "series_checks": lambda *_: [Broken()],
        "first_spelled": breaks,
        "taking_series_own": breaks,
    }
    monkeypatch.setattr(steps, place, instead.get(place, lambda *_: Broken()))
    checked = check_many([base(), mix()], [base(), mix()])
    assert checked.files.select("rows", "accepted", "held").rows() == [(2, 0, 2)] * 2
    assert checked.held.height == 4
    assert {rule for _, rule in said(checked)} == {"rule_not_applied"}


def test_a_panic_of_the_frame_library_is_a_breakdown_too() -> None:
    def panics(rows: pl.DataFrame) -> pl.DataFrame:
        raise pl.exceptions.PanicException("deep inside")

    rows = pl.DataFrame({"file_id": [1, 2]}, schema={"file_id": pl.UInt32})
    done, told = carried_out("ran_dry", panics, rows, rows.clear())
    assert done.height == 0 and told["file_id"].to_list() == [1, 2]


def test_ctrl_c_passes_through() -> None:
    class Interrupted:
        id = "ran_dry"

        def find(self, rows: pl.DataFrame) -> pl.DataFrame:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        ask_all([Interrupted()], pl.DataFrame({"file_id": [1]}))
