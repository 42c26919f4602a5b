"""Student's t against the printed table of Fisher & Yates (two-sided 5 % points, as in any textbook)."""

from __future__ import annotations

import pytest

from reports import student_t


@pytest.mark.parametrize(
    ("df", "point"), [(1, 12.706), (2, 4.303), (4, 2.776), (9, 2.262), (14, 2.145), (29, 2.045), (120, 1.980)]
)
def test_table_of_five_percent_points(df: float, point: float) -> None:
    assert student_t.quantile(0.975, df) == pytest.approx(point, abs=6e-4)
    assert student_t.probability_below(-point, df) == pytest.approx(0.025, abs=3e-5)


def test_cauchy_and_middle_are_exact() -> None:
    # one degree of freedom is the Cauchy distribution: its upper quarter point is 1
    assert student_t.quantile(0.75, 1) == pytest.approx(1.0, abs=1e-10)
    assert student_t.quantile(0.5, 7) == pytest.approx(0.0, abs=1e-10)
    with pytest.raises(ValueError, match="probability"):
        student_t.quantile(1.0, 5)
