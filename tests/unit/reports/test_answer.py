"""Results read back: the ranges redrawn from them, the deciding pour state, the standing of an answer."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

import pytest

from reports.answer import answers
from reports.headline import finding, how_sure
from reports.steps import listed_page
from reports.view import MonthView
from schemas.results.component import ComponentValue
from schemas.results.whole import ResultsValue
from tests.unit.reports.invented_month import invented_view


def with_perlite(view: MonthView, **changes: Any) -> ResultsValue:
    perlite = cast(ComponentValue, {**view.results["components"]["perlite"], **changes})
    return {**view.results, "components": {"perlite": perlite}}


def enough(share: float, parts: str) -> dict[str, Any]:
    return {"share": share, "parts": parts, "verdict": "enough", "text": ""}


def test_the_range_for_a_new_grower_is_given_back_at_its_own_level_and_narrows_inside() -> None:
    row = invented_view(30).answers[0].overall.shares[3]
    assert row.new_series is not None
    assert row.new_series_range(0.95) == pytest.approx(row.new_series)
    inner, outer = row.new_series_range(0.5), row.new_series_range(0.8)
    assert (
        row.new_series[0] < outer[0] < inner[0] < (row.ratio or 0) < inner[1] < outer[1] < row.new_series[1]
    )


def test_dots_of_single_pots_spread_wider_than_series() -> None:
    row = invented_view(30).answers[0].overall.shares[3]
    dots = row.pot_dots()
    assert len(dots) == 20 and dots == sorted(dots)
    low, high = row.new_series_range(0.95)
    assert dots[0] < low * 1.02 and dots[-1] > high / 1.02


def test_settled_pots_decide_where_they_ask_for_more() -> None:
    view = invented_view(30)
    perlite = view.results["components"]["perlite"]
    settled_shares = [{**row, "p_clears": 0.81} for row in perlite["shares"]]
    results = with_perlite(
        view,
        recommendation=enough(65.0, "1:2"),
        settled={"shares": settled_shares, "recommendation": enough(65.0, "1:2")},
    )
    table = answers(results)[0].overall
    assert table.decided_by_settled
    assert "about 16 of 20" in how_sure(table, view.settings, "any grower")
    assert "in settled pots" in how_sure(table, view.settings, "any grower")
    assert finding(table, "perlite").startswith("65 % perlite is enough")


@pytest.mark.parametrize(
    ("months", "said"),
    [
        ((), "A first look"),
        (((65.0, 10),), "Standing since January 2026"),
        (((65.0, 19),), "A first look"),
        (((65.0, 5), (55.0, 10)), "A first look"),
        (((55.0, 5), (65.0, 10)), "Standing since February 2026"),
    ],
)
def test_an_answer_stands_once_three_more_growers_agree_without_a_break(
    months: tuple[tuple[float, int], ...], said: str
) -> None:
    view = invented_view(30)
    now = with_perlite(view, recommendation=enough(65.0, "1:2"))
    earlier: list[ResultsValue] = []
    for number, (share, members) in enumerate(months, 1):
        shares = [{**row, "members": members} for row in view.results["components"]["perlite"]["shares"]]
        results = with_perlite(view, recommendation=enough(share, "1:2"), shares=shares)
        earlier.append({**results, "month": f"2026-{number:02d}"})
    page = listed_page(replace(view, results=now, earlier=tuple(earlier)), "index.html")
    assert page.standing.startswith(said)
