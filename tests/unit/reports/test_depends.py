"""Where it depends: levels from the public frame only, places with few growers never by name."""

from __future__ import annotations

from reports.page import Chooser
from reports.pages.depends.splits import WORDED
from reports.render import as_html, every_block
from reports.steps import listed_page
from schemas.trade.levels import ELSEWHERE, SPLITS
from tests.unit.reports.invented_month import invented_view


def test_a_climate_of_two_growers_is_other_places() -> None:
    view = invented_view(14)  # six classes in turn: two have three growers, four have two
    levels = set(view.levelled_of("perlite")["climate"])
    assert levels == {"Cfb", "Cfa", ELSEWHERE}
    html = as_html(listed_page(view, "depends.html"))
    assert "BSk" not in html and "Dfa" not in html


def test_every_split_is_worded() -> None:
    assert set(WORDED) == set(SPLITS)


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
