"""What looks unlike the rest, the slip that explains it, and the coordinator's questions made from it."""

from __future__ import annotations

import math

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.compare.questions.frame import QUESTION_COLUMNS
from pipeline.compare.questions.slips import (
    FAR_OFF,
    LARGEST_FACTOR_NAMED_AS_CUP,
    NEAR_AGAIN,
    explaining_factor,
    remedy,
)
from pipeline.compare.steps import compare_runs
from pipeline.settings import Settings
from schemas.trade.slips import SLIPS
from tests.unit.compare.conftest import MakeFrame, MakePool

FACTORS = sorted(slip.factor for slip in SLIPS)


def test_exact_factors_are_named_and_ordinary_scatter_is_not() -> None:
    assert explaining_factor(math.log(10.0), 0.2) == 10.0
    assert explaining_factor(-math.log(60.0) + 0.1, 0.2) == pytest.approx(1 / 60)
    assert explaining_factor(math.log(5.0), 0.2) is None
    assert explaining_factor(0.3, 0.2) is None


@given(st.floats(-10, 10), st.floats(0.01, 1.0))
def test_a_factor_is_a_slip_that_brings_the_rate_near_again(distance: float, sd: float) -> None:
    factor = explaining_factor(distance, sd)
    if factor is None:
        gaps = [abs(abs(distance) - math.log(slip)) for slip in FACTORS]
        assert abs(distance) < FAR_OFF * sd or min(gaps) > NEAR_AGAIN * sd
    else:
        assert max(factor, 1 / factor) == pytest.approx(
            min(FACTORS, key=lambda slip: abs(abs(distance) - math.log(slip)))
        )
        assert abs(distance - math.log(factor)) <= NEAR_AGAIN * sd * (1 + 1e-9)
        assert abs(distance) >= FAR_OFF * sd


@given(st.floats(0.0, 10), st.floats(0.01, 1.0))
def test_too_fast_and_too_slow_are_judged_alike(distance: float, sd: float) -> None:
    fast, slow = explaining_factor(distance, sd), explaining_factor(-distance, sd)
    assert (fast is None) == (slow is None)
    assert fast is None or slow is None or fast * slow == pytest.approx(1.0)


@pytest.mark.parametrize("factor", FACTORS)
def test_the_remedy_turns_the_slip_round(factor: float) -> None:
    if factor < LARGEST_FACTOR_NAMED_AS_CUP:
        assert "another country's cup" in remedy(factor)
        return
    assert remedy(factor).endswith(
        f"{factor:g} times longer, or the water collected {factor:g} times smaller"
    )
    assert remedy(1 / factor).endswith(
        f"{factor:g} times shorter, or the water collected {factor:g} times larger"
    )


@pytest.mark.parametrize(("times", "sentence"), [(1 / 10, "10 times longer"), (60.0, "60 times shorter")])
def test_a_slip_in_one_run_becomes_a_question_with_its_row(
    frame: MakeFrame, pool: MakePool, times: float, sentence: str
) -> None:
    rows = pool(members=8)
    slip = next(number for number, row in enumerate(rows) if row["component_share"] == 45.0)
    rows[slip] = {**rows[slip], "drain_time_s": rows[slip]["drain_time_s"] * times, "sheet_row": 77}
    questions = compare_runs(frame(rows), Settings(), behind=False).questions.filter(kind="run")
    assert questions["sheet_row"].to_list() == [77]
    assert questions["member"].to_list() == [rows[slip]["member"]]
    assert sentence in questions["sentence"][0]
    assert np.sign(questions["score"][0]) == (1 if times < 1 else -1)


def test_a_whole_series_in_other_units_is_one_question_and_none_of_its_runs_is(
    frame: MakeFrame, pool: MakePool
) -> None:
    rows = [
        {
            **row,
            "drain_time_s": row["drain_time_s"]
            / (60 if (row["member"], row["series"]) == ("fen-03", "bench 1") else 1),
        }
        for row in pool(members=8, seed=6)
    ]
    questions = compare_runs(frame(rows), Settings(), behind=False).questions
    assert questions.filter(kind="series").select("member", "series").rows() == [("fen-03", "bench 1")]
    assert questions.filter(kind="run").is_empty()


def test_a_plain_pool_raises_no_question_and_the_frame_keeps_its_columns(
    frame: MakeFrame, pool: MakePool
) -> None:
    for rows in (pool(members=8), pool(members=1)):
        questions = compare_runs(frame(rows), Settings(), behind=False).questions
        assert questions.filter(pl.col("kind") != "member").is_empty()
        assert questions.schema == pl.Schema(QUESTION_COLUMNS)
