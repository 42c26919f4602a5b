"""Parts of the pool that borrow from the whole."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pipeline.compare.model.rotation import reduce_layout
from pipeline.compare.posterior.borrowing import Asked, borrow, difference_word
from pipeline.compare.posterior.companion import prior_scales, spread_posterior
from pipeline.compare.posterior.shifts import level_shifts, part_prior, representative
from schemas.trade.verdicts import CANNOT_TELL, RULED_OUT, SHOWN

ASKED = Asked(1.25, 40.0, 0.01)

CURVE = np.array([0.0, 0.2, 0.5, 0.7])


@pytest.fixture
def split(cells_of_means, design_of_cells):
    """Levels with these shifts and numbers of growers, each borrowing from the whole."""

    def made(shifts, growers=6, spread=0.1, seed=3):
        counts = [growers] * len(shifts) if isinstance(growers, int) else growers
        of = np.repeat(np.arange(len(shifts)), counts)
        rng = np.random.default_rng(seed)
        means = CURVE + np.array(shifts)[of][:, None] + rng.normal(0, spread, (len(of), 1))
        design = design_of_cells(cells_of_means(means, seed=seed))
        found = spread_posterior(reduce_layout(design.layout), prior_scales(design, 40.0))
        level = of[design.member_code[design.layout.row_member]]
        return design, found, level, borrow(design, found, level, ASKED)

    return made


def test_levels_without_a_difference_come_close_to_the_whole(split) -> None:
    design, found, _, borrowed = split([0.0, 0.0, 0.0])
    whole = found.weight @ found.coefficients[:, : len(design.shares)]
    for answer in borrowed.levels:
        assert answer.word != SHOWN
        assert answer.mean == pytest.approx(whole, abs=0.08)
        assert np.all(answer.low < answer.mean) and np.all(answer.mean < answer.high)
        assert np.all(answer.new_low < answer.low) and np.all(answer.p_all <= answer.p_clears)


def test_a_large_difference_is_shown_and_kept(split) -> None:
    borrowed = split([0.0, 0.5], growers=8, spread=0.05)[3]
    assert [answer.word for answer in borrowed.levels] == [SHOWN, SHOWN]
    assert borrowed.levels[1].difference == pytest.approx(0.5, abs=0.12)
    assert borrowed.levels[0].difference == pytest.approx(-borrowed.levels[1].difference, abs=1e-9)


def test_a_small_level_is_drawn_further_to_the_whole_than_a_large_one(split) -> None:
    def kept(growers):
        design, _, level, borrowed = split([0.0, 0.3], growers=growers, spread=0.08)
        y = design.layout.y - CURVE[np.searchsorted(design.shares, design.effects.share)]
        return borrowed.levels[1].difference / (y[level == 1].mean() - y[level == 0].mean())

    assert 0 < kept([20, 2]) < kept([20, 12]) < 1.05


def test_growers_in_several_levels_are_counted(split) -> None:
    design, found, level, borrowed = split([0.0, 0.0])
    assert borrowed.in_several == 0
    mixed = level.copy()
    mixed[design.layout.row_member == 0] = design.layout.series[design.layout.row_member == 0] % 2
    assert borrow(design, found, mixed, ASKED).in_several == 1


def test_rows_of_no_level_take_part_in_the_whole_alone(split) -> None:
    design, found, level, _ = split([0.0, 0.0, 0.3])
    some = np.where(level == 2, -1, level)
    borrowed = borrow(design, found, some, ASKED)
    assert [answer.level for answer in borrowed.levels] == [0, 1]
    assert [answer.members for answer in borrowed.levels] == [6, 6]


def test_one_level_alone_differs_from_nothing(split) -> None:
    design, found, level, _ = split([0.0])
    answer = borrow(design, found, level, ASKED).levels[0]
    assert answer.word != SHOWN and np.all(np.isfinite(answer.mean))


@pytest.mark.parametrize(
    ("low", "high", "word"),
    [
        (0.01, 0.9, SHOWN),
        (-0.5, -0.1, SHOWN),
        (-0.2, 0.2, RULED_OUT),
        (-0.1, 0.3, CANNOT_TELL),
        (0.0, 0.2, RULED_OUT),
    ],
)
def test_the_word_follows_the_interval(low, high, word) -> None:
    assert difference_word(low, high) == word


def test_representatives_keep_the_posterior_means(split) -> None:
    _, found, _, _ = split([0.0, 0.0])
    few = representative(found, 24)
    assert few.variances.sum(axis=1).mean() == pytest.approx(
        found.weight @ found.variances.sum(axis=1), rel=0.1
    )


def test_the_prior_of_parts_is_a_half_normal() -> None:
    sizes, weights = part_prior(200, 0.15)
    assert weights @ sizes**2 == pytest.approx(0.15**2, rel=0.03)


def test_shifts_are_the_dense_conditional_means(split) -> None:
    """The textbook BLUP, every matrix written out, at one point of all standard deviations."""
    design, _, level, _ = split([0.0, 0.2, -0.1])
    layout, variances, pair = design.layout, np.array([0.02, 0.05, 0.01, 0.004]), (0.2, 0.3)
    found = level_shifts(design, variances[None], level, np.array([pair]), np.zeros(1))
    same_member = layout.row_member[:, None] == layout.row_member
    same_series = layout.series[:, None] == layout.series
    x = design.effects.share / 100
    M = np.diag(layout.own_variance + variances[3]) + same_series * (
        layout.reference_variance[:, None] + variances[2]
    )
    M = M + same_member * (variances[0] + variances[1] * np.outer(x, x))
    Z = np.column_stack([(level[:, None] == np.arange(3)), (level[:, None] == np.arange(3)) * x[:, None]])
    D = np.diag(np.repeat(np.array(pair) ** 2, 3))
    inverse = np.linalg.inv(M + Z @ D @ Z.T)
    b = np.linalg.solve(layout.X.T @ inverse @ layout.X, layout.X.T @ inverse @ layout.y)
    shifts = D @ Z.T @ inverse @ (layout.y - layout.X @ b)
    assert found.coefficients[0] == pytest.approx(np.concatenate([b, shifts]), abs=1e-9)


def test_contrasts_left_out_are_as_if_never_sent(split) -> None:
    design, _, level, _ = split([0.0, 0.2])
    variances, pair, nothing = np.array([[0.02, 0.05, 0.01, 0.004]]), np.array([(0.2, 0.3)]), np.zeros(1)
    first = design.layout.row_member == 0
    without = level_shifts(design, variances, level, pair, nothing, first)
    y = np.where(first, 9.0, design.layout.y)
    other = replace(design, layout=replace(design.layout, y=y))
    again = level_shifts(other, variances, level, pair, nothing, first)
    assert again.coefficients == pytest.approx(without.coefficients, abs=1e-6)
    changed = level_shifts(other, variances, level, pair, nothing)
    assert np.abs(changed.coefficients - without.coefficients).max() > 0.1


def test_a_shown_difference_that_hinges_on_one_grower_lowers_the_chance_without_them(
    split, design_of_cells, cells_of_means
) -> None:
    design, found, level, plain = split([0.0, 0.5], growers=8, spread=0.05)
    assert plain.levels[1].p_clears_without is not None
    assert np.all(plain.levels[1].p_clears_without == 1.0)
    asked = replace(ASKED, left_out=[(int(code),) for code in design.member_code])
    careful = borrow(design, found, level, asked).levels[1]
    assert careful.p_clears_without is not None
    assert np.any(careful.p_clears_without < careful.p_clears) and np.all(
        careful.p_clears_without > careful.p_clears - 0.3
    )
    assert split([0.0, 0.0])[3].levels[0].p_clears_without is None


def test_in_fixed_clubs_chances_are_averages_over_the_clubs(cells_of_means, design_of_cells) -> None:
    means = CURVE + np.repeat([-0.6, 0.6], 6)[:, None]
    clubs = {member: "north" if member < 6 else "south" for member in range(12)}
    design = design_of_cells(cells_of_means(means), clubs)
    found = spread_posterior(reduce_layout(design.layout), prior_scales(design, 40.0))
    level = design.member_code[design.layout.row_member] % 2
    for answer in borrow(design, found, level, ASKED).levels:
        assert answer.p_clears[1] == pytest.approx(0.5, abs=0.02)
        assert answer.mean[1] == pytest.approx(0.2, abs=0.1)
