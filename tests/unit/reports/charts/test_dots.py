"""Twenty dots: picture, caption, table and sentence count the same dots, and none straddles a line."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.answer import Redrawn
from reports.charts.dots import _axis, counted, dots_drawing
from reports.page import text_of
from reports.words import Compared
from tests.unit.reports.charts.picture import parts, share_of, svg, words

PERLITE = Compared("perlite", "straight peat", "any grower")
DOTS = st.lists(st.floats(0.05, 40.0), min_size=20, max_size=20).map(sorted)


@given(DOTS, st.floats(1.01, 10.0))
def test_every_dot_is_counted_once(dots: list[float], target: float) -> None:
    counts = counted(dots, target)
    assert counts.slower + counts.between + counts.reached == 20
    assert counts.reached == sum(dot >= target for dot in dots)
    assert min(counts.slower, counts.between, counts.reached) >= 0


@pytest.mark.parametrize(
    ("dot", "where"), [(0.999, "slower"), (1.0, "between"), (1.2499, "between"), (1.25, "reached")]
)
def test_the_lines_belong_to_the_upper_side(dot: float, where: str) -> None:
    assert getattr(counted([dot], 1.25), where) == 1


@given(DOTS, st.floats(1.05, 5.0))
def test_no_dot_stands_on_the_wrong_side_of_a_line(dots: list[float], target: float) -> None:
    axis = _axis(dots, target)
    stacks = axis.stacks(dots)
    assert sum(map(len, stacks.values())) == 20
    for number, stack in stacks.items():
        middle = axis.low + (number + 0.5) * axis.width
        for dot in stack:
            assert (middle < 1.0) == (dot < 1.0 - 1e-6) or abs(dot - 1.0) < 1e-6
            assert (middle < target) == (dot < target - 1e-6) or abs(dot - target) < 1e-6 or dot > axis.high


def drawing(dots: tuple[float, ...], target: float = 1.25) -> tuple[str, str, str, list[float]]:
    """SVG, description, caption and the table's numbers of these dots."""
    often = {
        name: sum(dot >= line for dot in dots) / 20
        for name, line in (("p_faster_pot", 1.0), ("p_clears_pot", target))
    }
    share = share_of(40.0, 1.3, redrawn=Redrawn({}, {}, dots), **often)
    block = dots_drawing("dots", share, target, PERLITE)
    assert block is not None and block.table is not None
    return (
        block.svg,
        block.description,
        block.caption,
        [float(text_of(row[1].line)) for row in block.table.rows],
    )


@given(DOTS)
def test_picture_caption_and_sentence_agree(dots: list[float]) -> None:
    drawn, description, caption, numbers = drawing(tuple(dots))
    counts = counted(dots, 1.25)
    tree = svg(drawn)
    assert len(parts(tree, "circle")) == 20
    assert len(parts(tree, "circle", fill="var(--newgrower)")) == counts.reached
    assert len(parts(tree, "path")) == counts.between
    assert [int(number) for number in re.findall(r": (\d+)", caption)] == [
        counts.reached,
        counts.between,
        counts.slower,
    ]
    assert f"{counts.reached} would drain at least 1.25 times" in description
    assert len(numbers) == 20


def test_dots_stay_inside_the_picture() -> None:
    drawn, *_ = drawing(tuple(0.9 + 0.001 * place for place in range(20)))
    tree = svg(drawn)
    _, _, width, height = map(float, (tree.get("viewBox") or "").split())
    for circle in parts(tree, "circle"):
        assert 0 < float(circle.get("cx") or -1) < width
        assert 0 < float(circle.get("cy") or -1) < height


@given(DOTS)
def test_however_wide_the_spread_every_dot_is_drawn_whole_and_what_lies_beyond_is_counted(
    dots: list[float],
) -> None:
    tree = svg(drawing(tuple(dots))[0])
    _, _, width, height = map(float, (tree.get("viewBox") or "").split())
    circles = parts(tree, "circle")
    assert len(circles) == 20
    for circle in circles:
        radius = float(circle.get("r") or -1)
        assert radius > 2
        assert 0 < float(circle.get("cx") or -1) < width and radius < float(circle.get("cy") or -1) < height
    axis = _axis(dots, 1.25)
    beyond = sum(dot > axis.high for dot in dots)
    assert any(f"{beyond} above" in text for text in words(tree)) == (beyond > 0)


def test_both_lines_are_named() -> None:
    drawn, *_ = drawing(tuple(0.8 + 0.05 * place for place in range(20)), target=1.4)
    assert {"straight peat", "1.4 times"} <= set(words(svg(drawn)))


def test_without_a_range_there_are_no_dots() -> None:
    assert dots_drawing("dots", share_of(40.0, None), 1.25, PERLITE) is None
    assert dots_drawing("dots", share_of(40.0, 1.3, new_series=None), 1.25, PERLITE) is None
    assert dots_drawing("dots", share_of(40.0, 1.3, redrawn=None), 1.25, PERLITE) is None
