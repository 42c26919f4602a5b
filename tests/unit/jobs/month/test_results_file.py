"""The rounding and the bytes of results.json (contract section 3)."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from pipeline.jobs.month.results_file import NOT_COMPUTED, as_bytes, plain_value, rounded


@pytest.mark.parametrize(
    ("number", "written"),
    [
        (1.23456789, "1.23457"),
        (123456.789, "123457"),
        (0.000123456789, "0.000123457"),
        (40.0, "40"),
        (33.3, "33.3"),
        (9.99e-10, "0"),
        (-9.99e-10, "0"),
        (-0.0, "0"),
        (1.5e-9, "1.5e-09"),
        (-2.5, "-2.5"),
        (float(np.float64(2 / 3)), "0.666667"),
    ],
)
def test_six_digits(number: float, written: str) -> None:
    assert json.dumps(rounded(number)) == written


def test_large_numbers_keep_six_digits_and_counts_keep_all() -> None:
    assert rounded(1234567.8) == 1234570
    assert plain_value({"runs": 1234567})["runs"] == 1234567


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_null_with_a_reason(number: float) -> None:
    got = plain_value({"outer": {"ratio": number}, "list": [{"ci": [1.0, number]}]})
    assert got == {
        "outer": {"ratio": None, "why": NOT_COMPUTED},
        "list": [{"ci": [1, None], "why": NOT_COMPUTED}],
    }


def test_a_given_reason_is_kept() -> None:
    assert plain_value({"ratio": math.nan, "why": "two growers only"})["why"] == "two growers only"


def test_bytes_are_sorted_utf8_with_one_newline() -> None:
    raw = as_bytes({"b": "Köppen", "a": {"z": 1, "y": (True, None)}})
    assert raw == as_bytes({"a": {"y": [True, None], "z": 1}, "b": "Köppen"})
    assert raw.endswith(b"}\n") and not raw.endswith(b"\n\n")
    assert "Köppen".encode() in raw
    assert raw.index(b'"a"') < raw.index(b'"b"')


def test_rounding_again_changes_nothing() -> None:
    once = plain_value({"numbers": [1 / 3, 2e-9, 1e7 / 3, math.pi]})
    assert plain_value(once) == once
