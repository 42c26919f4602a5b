"""Where it depends: levels from the public frame only, places with few growers never by name."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from reports.levels import ELSEWHERE, by_grower, levelled, middles
from reports.page import Chooser
from reports.render import as_html, every_block
from reports.steps import listed_page
from tests.unit.reports.invented_month import invented_view


def test_a_climate_of_two_growers_is_other_places() -> None:
    view = invented_view(14)  # six classes in turn: two have three growers, four have two
    levels = set(levelled(view, "perlite")["climate"])
    assert levels == {"Cfb", "Cfa", ELSEWHERE}
    html = as_html(listed_page(view, "depends.html"))
    assert "BSk" not in html and "Dfa" not in html


def test_climate_comes_from_the_public_frame_not_from_the_effects() -> None:
    view = invented_view(30)
    effects = view.effects.with_columns(pl.lit("Dwd").alias("climate_zone"))
    assert "Dwd" not in as_html(listed_page(replace(view, effects=effects), "depends.html"))


def test_middle_is_the_geometric_mean_of_growers_from_three_on() -> None:
    frame = pl.DataFrame(
        {
            "member": ["a", "a", "b", "c", "d"],
            "component_share": [40.0] * 5,
            "effect": [0.0, 0.2, 0.4, 0.6, 1.0],
            "grade": ["fine", "fine", "fine", "fine", "coarse"],
        }
    )
    rows = middles(by_grower(frame, "grade", 40.0)).to_dicts()
    assert [row["level"] for row in rows] == ["fine", "coarse"]
    assert abs(rows[0]["middle"] - 2.718281828 ** ((0.1 + 0.4 + 0.6) / 3)) < 1e-6
    assert rows[1]["middle"] is None


def test_every_choice_has_a_panel_and_small_parts_say_what_is_missing() -> None:
    chooser = next(
        block
        for block in every_block(listed_page(invented_view(30), "depends.html"))
        if isinstance(block, Chooser)
    )
    keys = {key for key, _ in chooser.panels}
    assert keys == {
        f"{climate}|{size}" for climate, _ in chooser.options[0] for size, _ in chooser.options[1]
    }
    assert "more growers would make a first picture" in as_html(
        listed_page(invented_view(30), "depends.html")
    )
