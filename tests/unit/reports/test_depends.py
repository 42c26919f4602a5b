"""Where it depends: levels from the public frame only, places with few growers never by name."""

from __future__ import annotations

from reports.page import Chooser, Folded, Items, Say, text_of
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


def test_sentences_stand_in_sight_and_tables_behind() -> None:
    page = listed_page(invented_view(30), "depends.html")
    splits = next(section for section in page.sections if section.anchor == "splits")
    assert [type(block) for block in splits.blocks] == [Say, Say, Say, Folded]


def test_no_recipe_comes_from_a_part() -> None:
    """What a grade says by itself is folded away and said to be alone; in sight stands whether a difference is shown."""
    page = listed_page(invented_view(30), "depends.html")
    grades = next(section for section in page.sections if section.anchor == "grades")
    lead, alone = grades.blocks
    assert isinstance(lead, Say) and text_of(lead.line).startswith("We cannot tell whether grade matters.")
    assert isinstance(alone, Folded)
    lines = next(block for block in alone.blocks if isinstance(block, Items)).lines
    assert len(lines) == 3 and all("judged alone" in text_of(line) for line in lines)
    assert "is enough" not in " ".join(text_of(line) for line in lines)
