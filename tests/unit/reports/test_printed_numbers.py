"""Every figure that a table prints from `results.json` is the figure that stands there, under its key."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any, cast

import pytest

from reports.page import Cell, Page, Source, TableBlock, text_of
from reports.render import every_block
from reports.steps import month_pages
from reports.view import MonthView
from reports.words import between, mix, out_of_twenty, short_verdict, two_figures
from schemas.results.component import SettledValue
from schemas.results.keys import RESULT_KEYS
from tests.unit.reports.invented_month import invented_view

PRINTED: dict[str, Callable[[Any], str]] = {
    "share": mix,
    "ratio": two_figures,
    "ci": lambda ends: between(*ends),
    "new_series": lambda ends: between(*ends),
    "p_faster": out_of_twenty,
    "p_clears": out_of_twenty,
    "members": str,
    "series": str,
    "verdict": lambda word: short_verdict(word, 1.25),
}


def with_settled(view: MonthView) -> MonthView:
    """The month with settled pots that drain a tenth slower, the smallest share left out."""
    perlite = view.results["components"]["perlite"]
    shares = [{**row, "ratio": row["ratio"] and 0.9 * row["ratio"]} for row in perlite["shares"][1:]]
    settled = cast(SettledValue, {"shares": shares, "recommendation": perlite["recommendation"]})
    return replace(view, results={**view.results, "components": {"perlite": {**perlite, "settled": settled}}})


def figure(results: Mapping[str, Any], source: Source) -> Any:
    """The value under a cell's keys; a number among the keys picks the entry of that share."""
    value: Any = results
    for key in source:
        if isinstance(key, str):
            value = value.get(key) if isinstance(value, Mapping) else None
        else:
            value = next((row for row in value if row["share"] == key), {})
    return value


def tables(pages: list[Page]) -> Iterator[TableBlock]:
    for page in pages:
        yield from (block for block in every_block(page) if isinstance(block, TableBlock))


def cells(pages: list[Page]) -> list[Cell]:
    return [cell for table in tables(pages) for row in table.rows for cell in row if cell.source]


@pytest.mark.parametrize("members", [2, 4, 30])
def test_printed_figures_are_those_of_the_results(members: int) -> None:
    view = with_settled(invented_view(members))
    sourced = cells(month_pages(view))
    assert len(sourced) > 30
    for cell in sourced:
        value = figure(view.results, cell.source)
        expected = "–" if value is None else PRINTED[str(cell.source[-1])](value)
        assert text_of(cell.line) == expected, cell.source


def test_a_figure_that_moves_in_the_results_moves_on_the_page() -> None:
    view = invented_view(30)
    fine = view.results["components"]["perlite"]["grades"]["fine"]["shares"]
    next(row for row in fine if row["share"] == 45.0)["ratio"] = 7.7
    source = ("components", "perlite", "grades", "fine", "shares", 45.0, "ratio")
    assert {text_of(cell.line) for cell in cells(month_pages(view)) if cell.source == source} == {"7.7"}


@pytest.mark.parametrize(
    "caption", ["Every share tested, freshly filled pots", "The figures: coarse", "The figures: fine"]
)
def test_tables_of_shares_say_where_each_figure_stands(caption: str) -> None:
    found = [table for table in tables(month_pages(invented_view(30))) if table.caption == caption]
    assert found
    composed = {1, 2} if caption.startswith("Every share tested") else set()
    for table in found:
        for row in table.rows:
            assert [
                place for place, cell in enumerate(row) if not cell.source and place not in composed
            ] == []


def test_every_key_is_one_that_the_dictionary_explains() -> None:
    explained = {key.path.split(".")[-1] for key in RESULT_KEYS}
    assert {str(cell.source[-1]) for cell in cells(month_pages(invented_view(30)))} <= explained
