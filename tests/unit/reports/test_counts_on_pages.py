"""Counts on the pages are those of the month's frames: what came in, how runs ended, who sent what."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.page import Page, Say, TableBlock, text_of
from reports.pages.shared.growers import Grower, growers
from reports.pages.shared.held_rows import became_of, held_table
from reports.render import every_block
from reports.steps import listed_page
from reports.view import MonthView
from schemas.rules.series import COUNTED_ONCE
from tests.unit.reports.invented_month import invented_view

VIEW = invented_view(12)


def table(page: Page, caption: str) -> dict[str, list[str]]:
    """The rows of a table by their first cell."""
    found = [
        block for block in every_block(page) if isinstance(block, TableBlock) and block.caption == caption
    ]
    assert len(found) == 1, caption
    return {text_of(first.line): [text_of(cell.line) for cell in rest] for first, *rest in found[0].rows}


def sentences(page: Page) -> list[str]:
    return [text_of(block.line) for block in every_block(page) if isinstance(block, Say)]


def with_runs(*changes: dict[str, object]) -> MonthView:
    """The month with the first runs changed."""
    rows = VIEW.runs.to_dicts()
    for row, change in zip(rows, changes, strict=False):
        row.update(change)
    return replace(VIEW, runs=pl.DataFrame(rows, schema=VIEW.runs.schema))


def test_what_came_in_is_what_was_received() -> None:
    rows = table(listed_page(VIEW, "quality.html"), "Since the pool began")
    assert rows["sheets received"] == [str(VIEW.received["sheets"])]
    assert rows["rows in them"] == [str(VIEW.received["rows"])]
    assert rows["rows accepted"] == [str(VIEW.received["accepted"])]
    held = next(cells for words, cells in rows.items() if words.startswith("rows held"))
    assert held == [str(VIEW.received["held"])]


def test_large_counts_are_grouped_without_a_comma() -> None:
    received = {"sheets": 5000, "rows": 1_234_567, "accepted": 1_234_000, "held": 567}
    page = listed_page(replace(VIEW, received=received), "quality.html")
    assert text_of(page.headline) == "1\u202f234\u202f000 rows of 1\u202f234\u202f567 accepted"
    assert table(page, "Since the pool began")["rows in them"] == ["1\u202f234\u202f567"]


def test_runs_are_counted_by_how_they_ended() -> None:
    view = with_runs({"ended": "stopped"}, {"ended": "stopped"}, {"ended": "ran_dry"})
    rows = table(listed_page(view, "quality.html"), "How runs ended, by share")
    counts = [[int(cell) for cell in cells] for cells in rows.values()]
    assert [sum(column) for column in zip(*counts, strict=True)] == [view.runs.height, 2, 1]
    first = view.runs["component_share"][0]
    assert rows[f"{first:g} %"][1:] == ["2", "1"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"start_moisture": "dry"}, "started dry: times soaking up"),
        ({"mix_age_days": 31.0}, "mixed more than 30 days before"),
        ({"planted": "yes"}, "planted pot"),
        ({"part_marked": True}, "collected outside 40 to 60 % of the pour"),
        ({"unlike_pour": True}, "pour unlike the rest of its series"),
        ({"pour_no": 2}, "poured before (settled pots: their own answer)"),
        ({"base": "coir"}, "another base than peat"),
    ],
)
def test_every_reason_to_stand_outside_is_counted(change: dict[str, object], words: str) -> None:
    page = listed_page(with_runs(change, change), "quality.html")
    assert table(page, "Accepted runs outside the headline") == {words: ["2"]}


def test_all_runs_inside_is_said() -> None:
    assert "All accepted runs stand in the headline." in sentences(listed_page(VIEW, "quality.html"))


def test_series_without_straight_base_are_counted() -> None:
    series = VIEW.runs.select("member", "series").n_unique()
    assert "Every series has its own straight base." in sentences(listed_page(VIEW, "quality.html"))
    without = replace(
        VIEW, runs=VIEW.runs.filter((pl.col("component_share") > 0) | (pl.col("member") != "fen-00"))
    )
    said = [
        line for line in sentences(listed_page(without, "quality.html")) if "without straight base" in line
    ]
    assert said and said[0].startswith(f"1 series of {series} ")


def test_what_was_set_aside_is_told_with_its_reason() -> None:
    aside = pl.DataFrame({"reason": ["the pot leaked"], "runs": [4]})
    page = listed_page(replace(VIEW, set_aside=aside), "quality.html")
    assert table(page, "Set aside by the coordinator") == {"the pot leaked": ["4"]}


def test_an_empty_month_counts_nothing_and_says_so() -> None:
    page = listed_page(invented_view(0), "quality.html")
    assert text_of(page.headline) == "Nothing has come in yet"
    assert sentences(page).count("No runs yet.") == 2


def test_growers_are_those_with_runs() -> None:
    everyone = {grower.member: grower for grower in growers(VIEW)}
    assert list(everyone) == sorted(VIEW.runs["member"].unique())
    assert sum(grower.runs for grower in everyone.values()) == VIEW.runs.height
    for code, grower in everyone.items():
        assert grower.series == VIEW.runs.filter(member=code)["series"].n_unique()


@pytest.mark.parametrize(
    ("code", "page"),
    [
        ("fen-07", "members/fen-07.html"),
        ("FEN-07", "members/fen-07.html"),
        ("Änna", None),
        ("../x", None),
        ("-x", None),
        ("a" * 65, None),
    ],
)
def test_only_a_plain_code_names_a_file(code: str, page: str | None) -> None:
    assert Grower(code, 1, 1, "", (), None, 0).page == page


def held_by_rule(*rows: tuple[str, str, str, int]) -> pl.DataFrame:
    return pl.DataFrame(list(rows), schema=VIEW.held_by_rule.schema, orient="row")


def test_reasons_stand_most_first_and_advice_apart() -> None:
    by_rule = held_by_rule(("a", "Few", "held", 2), ("b", "Many", "held", 9), ("c", "Hint", "advice", 50))
    page = listed_page(replace(VIEW, held_by_rule=by_rule), "quality.html")
    assert list(table(page, "Held rows by reason").items()) == [("Many", ["9"]), ("Few", ["2"])]
    assert table(page, "Advice given") == {"Hint": ["50"]}
    assert held_table(replace(VIEW, held_by_rule=held_by_rule())) is None


@given(st.integers(0, 30), st.integers(0, 30), st.integers(0, 30))
def test_what_became_of_held_rows_adds_up(mended: int, again: int, waiting: int) -> None:
    held = mended + again + waiting
    counts = {**VIEW.results["counts"], "held": again + waiting}
    view = replace(
        VIEW,
        received={**VIEW.received, "held": held},
        results={**VIEW.results, "counts": counts},
        held_by_rule=held_by_rule((COUNTED_ONCE, "once", "advice", again)),
    )
    words = became_of(view)
    if waiting == held:
        assert words == ""
    else:
        assert (
            sum(
                int(number)
                for number in words.replace("(", " ").replace(";", " ").split()
                if number.isdigit()
            )
            == held
        )
        assert (f"{waiting} waiting" in words) == bool(waiting)
