"""Parts of the pool that borrow from the whole, from runs to values."""

from __future__ import annotations

import math
from typing import Any

import polars as pl
import pytest

from pipeline.compare.steps import compare_parts, compare_runs
from pipeline.compare.values.asked_parts import PartsAsked
from pipeline.settings import Settings
from schemas.results.component import PartAnswerValue
from schemas.trade.verdicts import CANNOT_TELL, ENOUGH, GRADES_DIFFER, SHOWN, TOO_FEW
from tests.unit.compare.conftest import MakeFrame, MakePool, Rows

CURVE = {30.0: 0.32, 45.0: 0.5, 60.0: 0.7}


def grown(pool: MakePool, grade: str, members: int, seed: int, shift: float = 0.0, **more: Any) -> Rows:
    """Growers of one grade, their codes apart from other grades'."""
    curve = {share: effect + shift * share / 45 for share, effect in CURVE.items()}
    rows = pool(members=members, seed=seed, curve=curve, component_grade=grade, **more)
    return [{**row, "member": f"{grade} {row['member']}"} for row in rows]


def grades_of(runs: pl.DataFrame) -> tuple[Any, dict[str, PartAnswerValue]]:
    block = compare_runs(runs, Settings(), behind=False).components["perlite"]
    return block, block["grades"]


def test_grades_that_do_not_differ_are_not_given_shares_of_their_own(
    frame: MakeFrame, pool: MakePool
) -> None:
    runs = frame(grown(pool, "fine", 6, 1, spread=0.2) + grown(pool, "medium", 14, 2, spread=0.2))
    block, grades = grades_of(runs)
    fine = grades["fine"]
    assert block["recommendation"]["verdict"] == ENOUGH
    assert fine["difference"]["word"] != SHOWN
    assert fine["recommendation"]["text"].startswith(("We cannot tell whether grade", "No difference"))
    assert f"{block['recommendation']['share']:g} % is the best guess" in fine["recommendation"]["text"]
    assert (fine["share"], fine["verdict"]) == (
        fine["recommendation"]["share"],
        fine["recommendation"]["verdict"],
    )
    for borrowed, alone in zip(fine["shares"], fine["alone"]["shares"], strict=True):
        assert (borrowed["members"], borrowed["pots"]) == (alone["members"], alone["pots"])
        assert borrowed["ratio"] is not None and alone["ratio"] is not None
        whole = next(row["ratio"] for row in block["shares"] if row["share"] == borrowed["share"])
        apart = [abs(math.log(ratio / whole)) for ratio in (borrowed["ratio"], alone["ratio"])]
        assert apart[0] < apart[1] + 0.02, "drawn towards the whole pool"
    coarse = grades["coarse"]
    assert (coarse["verdict"], coarse["shares"]) == (TOO_FEW, [])
    assert coarse["recommendation"]["text"].endswith("No test of coarse perlite is in it yet.")


def test_grades_that_do_differ_are_shown_and_leave_no_share_for_all(frame: MakeFrame, pool: MakePool) -> None:
    runs = frame(
        grown(pool, "fine", 9, 1, -0.25, spread=0.05) + grown(pool, "coarse", 9, 2, 0.25, spread=0.05)
    )
    block, grades = grades_of(runs)
    assert {grades[grade]["difference"]["word"] for grade in ("fine", "coarse")} == {SHOWN}
    assert grades["coarse"]["share"] == 30.0 and (grades["fine"]["share"] or 99.0) > 30.0
    assert grades["coarse"]["recommendation"]["text"].startswith("A difference is shown")
    assert block["recommendation"]["verdict"] == GRADES_DIFFER


def test_two_growers_of_a_part_give_no_figure(frame: MakeFrame, pool: MakePool) -> None:
    _, grades = grades_of(frame(grown(pool, "fine", 2, 1) + grown(pool, "medium", 8, 2)))
    fine = grades["fine"]
    assert fine["difference"] == {
        "ratio": None,
        "ci": None,
        "word": CANNOT_TELL,
        "why": fine["difference"]["why"],
    }
    assert all(row["ratio"] is None and row["verdict"] == TOO_FEW and row["why"] for row in fine["shares"])
    assert grades["medium"]["difference"]["ratio"] is None, "two growers are no rest to set it beside"
    assert grades["medium"]["shares"][0]["ratio"] is not None


def unexplained(value: Any) -> list[str]:
    """Values with a null and no sentence on it."""
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    bare = (
        isinstance(value, dict)
        and not value.get("why")
        and any(one is None for name, one in value.items() if name != "why")
    )
    return [*(sorted(value) if bare else []), *(name for one in inner for name in unexplained(one))]


def test_nothing_of_a_grade_is_null_without_a_reason(frame: MakeFrame, pool: MakePool) -> None:
    tops = [row for row in grown(pool, "fine", 5, 1) if row["component_share"] in (0.0, 60.0)]
    _, grades = grades_of(frame(tops + grown(pool, "medium", 10, 2) + grown(pool, "coarse", 2, 3)))
    assert unexplained(grades) == []
    assert grades["fine"]["recommendation"]["share"] == 45.0, "a share that its own growers did not test"
    assert "no figures of its own there" in grades["fine"]["recommendation"]["why"]


@pytest.fixture
def climates(frame: MakeFrame, pool: MakePool) -> pl.DataFrame:
    """Seven growers in Cfb and nine in Csb."""
    return frame(
        grown(pool, "medium", 7, 3, climate_zone="Cfb") + [
            {**row, "member": "south " + row["member"]} for row in grown(pool, "medium", 9, 4, climate_zone="Csb")
        ]
    )  # fmt: skip


def test_levels_of_a_split_and_one_part_with_the_rest_are_the_same_answer(climates: pl.DataFrame) -> None:
    both = PartsAsked("climate", "climate_zone", ("Cfb", "Csb"), ("in Cfb", "in Csb"))
    levels = compare_parts(climates, both, Settings())
    ratios = [levels[name]["perlite"]["difference"]["ratio"] for name in both.names]
    assert ratios[0] is not None and ratios[1] == pytest.approx(1 / ratios[0])
    assert "perlite in Csb" in levels["Csb"]["perlite"]["recommendation"]["text"]
    named = climates.with_columns(pl.when(pl.col("climate_zone") == "Csb").then(pl.lit("part")).alias("part"))
    lone = compare_parts(
        named, PartsAsked("part", "part", ("part",), ("in this part of the pool",)), Settings()
    )
    assert lone["part"]["perlite"]["alone"]["shares"] == levels["Csb"]["perlite"]["alone"]["shares"]
    assert lone["part"]["perlite"]["recommendation"]["text"].startswith(
        ("We cannot tell whether these tests differ", "No difference")
    )


def test_beside_another_share_nothing_is_advised(climates: pl.DataFrame) -> None:
    split = PartsAsked("climate", "climate_zone", ("Cfb",), ("in Cfb",))
    value = compare_parts(climates, split, Settings(), 30.0)["Cfb"]["perlite"]
    assert value["share"] is None and "Set beside 30 %" in value["recommendation"]["text"]
    assert [row["share"] for row in value["shares"]] == [45.0, 60.0] or value["shares"][0]["share"] < 30


def test_the_same_runs_give_the_same_figures(climates: pl.DataFrame) -> None:
    split = PartsAsked("climate", "climate_zone", ("Cfb", "Csb"), ("in Cfb", "in Csb"))
    assert compare_parts(climates, split, Settings()) == compare_parts(climates, split, Settings())
