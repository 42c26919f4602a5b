"""Contrasts with the series' own reference and their shared variance (Gleser & Olkin; Lajeunesse 2011)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from pipeline.compare.contrasts.cells import Cells, measured_from
from pipeline.compare.contrasts.effects import connected_rows, contrast


def cells(
    series: Sequence[int],
    share: Sequence[float],
    mean: Sequence[float] | None = None,
    pots: Sequence[int] | None = None,
    stopped: Sequence[int] | None = None,
    floor: float = 0.0,
) -> Cells:
    count = len(series)
    shares = np.array(share, dtype=float)
    return Cells(
        member=np.array(series),
        series=np.array(series),
        share=shares,
        merged=shares,
        pots=np.full(count, 1) if pots is None else np.array(pots),
        mean=np.zeros(count) if mean is None else np.array(mean, dtype=float),
        sum_squares=np.zeros(count),
        floor=np.full(count, floor),
        stopped=np.zeros(count, dtype=int) if stopped is None else np.array(stopped),
    )


def test_difference_to_the_baseline_with_variance_of_both_sides() -> None:
    found = contrast(cells([0, 0, 0], [0, 30, 60], mean=[1, 1.5, 2.5], pots=[2, 1, 4], floor=0.001), 0.009)
    assert found.y.tolist() == [0.5, 1.5]
    assert found.own_variance == pytest.approx([0.01, 0.0025])
    assert found.reference_variance == pytest.approx([0.005, 0.005])
    assert found.based.all()


def test_without_a_baseline_the_lowest_share_is_the_reference() -> None:
    found = contrast(cells([0, 0, 0], [20, 30, 60], mean=[1, 1.5, 2.5]), 0.01)
    assert found.reference.tolist() == [20, 20]
    assert found.share.tolist() == [30, 60]
    assert not found.based.any()


def test_single_mixes_and_stopped_cells_give_none() -> None:
    assert len(contrast(cells([0, 1, 1], [0, 0, 30], stopped=[0, 0, 1]), 0.01)) == 0


def test_against_another_share() -> None:
    given = measured_from(cells([0, 0, 0, 1, 1], [0, 30, 60, 0, 30], mean=[0, 1, 2, 0, 0.5]), 30.0)
    found = contrast(given, 0.01)
    assert found.based.all()
    assert dict(
        zip(zip(found.series.tolist(), found.share.tolist(), strict=True), found.y.tolist(), strict=True)
    ) == {
        (0, -30.0): -1.0,
        (0, 30.0): 1.0,
        (1, -30.0): -0.5,
    }


def test_series_that_share_nothing_with_a_baseline_are_not_connected() -> None:
    found = contrast(cells([0, 0, 1, 1, 2, 2], [0, 30, 30, 45, 70, 80]), 0.01)
    assert connected_rows(found).tolist() == [True, True, False]
