"""Invented contrasts of growers, straight into the headline's design."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.effects import contrast
from pipeline.compare.contrasts.independence import Ties, independence
from pipeline.compare.model.design import Design, headline_design

SHARES = (15.0, 30.0, 45.0, 60.0)


def invented_cells(
    means: np.ndarray, series: int = 2, seed: int = 5, noise: float = 0.08, own: float = 0.1
) -> Cells:
    """Single pots of growers whose own mean ln ratios (grower, share) are given."""
    rng = np.random.default_rng(seed)
    rows = []
    number = 0
    for member, curve in enumerate(means):
        for _ in range(series):
            level, shift = rng.normal(0, 0.4), rng.normal(0, own)
            rows.append((member, number, 0.0, level + rng.normal(0, noise)))
            for share, mean in zip(SHARES, curve, strict=True):
                rows.append((member, number, share, level + shift + mean + rng.normal(0, noise)))
            number += 1
    table = np.array(rows)
    nothing = np.zeros(len(table))
    return Cells(
        member=table[:, 0].astype(np.int64),
        series=table[:, 1].astype(np.int64),
        share=table[:, 2],
        merged=table[:, 2],
        pots=np.ones(len(table), dtype=np.int64),
        mean=table[:, 3],
        sum_squares=nothing,
        floor=nothing,
        stopped=nothing.astype(np.int64),
    )


def design_of(cells: Cells, clubs: dict[int, str] | None = None, run_sd: float = 0.1) -> Design:
    """The headline's design of these cells."""
    effects = contrast(cells, run_sd**2)
    growers = [int(code) for code in effects.member]
    ties = Ties({member: frozenset({club}) for member, club in (clubs or {}).items()}, {}, {})
    return headline_design(effects, independence(growers, ties, growers))


@pytest.fixture
def drawn_design() -> Callable[..., Design]:
    """`members` growers whose level and slope differ by `spread`."""

    def made(members: int = 8, spread: float = 0.15, seed: int = 5, **more: float) -> Design:
        rng = np.random.default_rng(seed)
        curve = np.array([0.0, 0.2, 0.5, 0.7])
        level = rng.normal(0, spread, (members, 1)) if spread else np.zeros((members, 1))
        return design_of(invented_cells(curve + level, seed=seed, **more))  # type: ignore[arg-type]

    return made


@pytest.fixture
def cells_of_means() -> Callable[..., Cells]:
    """`invented_cells`."""
    return invented_cells


@pytest.fixture
def design_of_cells() -> Callable[..., Design]:
    """`design_of`."""
    return design_of
