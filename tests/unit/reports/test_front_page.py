"""What the front page says, asked of the page value before it is HTML."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import polars as pl

from reports.page import Block, ChartBlock, DrawingBlock, Items, Page, Say, TableBlock, text_of
from reports.render import every_block
from reports.steps import listed_page
from reports.view import MonthView
from schemas.results.whole import ResultsValue
from tests.unit.reports.invented_month import invented_view


def front_page(view: MonthView) -> Page:
    return listed_page(view, "index.html")


def lines(page: Page) -> Iterator[str]:
    """Every sentence of a page as plain text."""
    yield text_of(page.headline)
    yield text_of(page.under_headline)
    for block in every_block(page):
        yield from _of(block)


def _of(block: Block) -> Iterator[str]:
    match block:
        case Say():
            yield text_of(block.line)
        case Items():
            yield from (text_of(line) for line in block.lines)
        case TableBlock():
            yield from (" | ".join(text_of(cell.line) for cell in row) for row in block.rows)


def whole(page: Page) -> str:
    return "\n".join(lines(page))


def with_recommendation(share: float | None, verdict: str, parts: str | None = None) -> Page:
    view = invented_view(30)
    perlite = view.results["components"]["perlite"].copy()
    perlite["recommendation"] = {
        **perlite["recommendation"],
        "share": share,
        "parts": parts,
        "verdict": verdict,
        "text": "",
    }
    return front_page(replace(view, results={**view.results, "components": {"perlite": perlite}}))


def test_the_answer_comes_first_with_how_sure_and_as_parts() -> None:
    page = with_recommendation(65.0, "enough", "1:2")
    assert text_of(page.headline) == "65 % perlite is enough: 1 part peat to 2 parts perlite."
    assert "of 20 new growers’ tests this mix would drain at least 1.25 times as fast" in text_of(
        page.under_headline
    )
    assert isinstance(page.opening[0], DrawingBlock)
    assert page.opening[0].svg.count("<path") == 3


def test_every_verdict_has_its_own_headline() -> None:
    said = {verdict: text_of(with_recommendation(None, verdict).headline) for verdict in ("grades_differ", "hinges_on_one", "not_reached", "too_few")}  # fmt: skip
    assert said["grades_differ"] == "How much perlite is enough depends on its grade."
    assert "hinges on one grower’s tests" in said["hinges_on_one"]
    assert said["not_reached"].startswith("No share")
    assert said["too_few"].startswith("Too few growers")


def test_dots_and_their_sentence_agree() -> None:
    page = front_page(invented_view(30))
    dots = next(
        block for block in every_block(page) if isinstance(block, DrawingBlock) and block.name == "dots"
    )
    reached = dots.svg.count('fill="var(--newgrower)" stroke="var(--newgrower)"')
    assert dots.svg.count("<circle") == 20
    assert f"{reached} would drain at least 1.25 times as fast" in dots.description
    assert f"expect about {reached} to see at least 1.25 times as fast" in whole(page)


def test_nobody_under_five_gets_a_ladder_word_or_a_dot_plot() -> None:
    page = front_page(invented_view(4))
    text = whole(page)
    assert "drains faster" not in text and "drain faster" not in text
    assert "too few growers to say" in text
    assert not any(isinstance(block, DrawingBlock) for block in every_block(page))
    assert any(isinstance(block, ChartBlock) for block in every_block(page))


def test_faster_is_never_praised() -> None:
    text = whole(front_page(invented_view(30))).lower()
    for word in ("better", "worse", "significant", "outlier", "-fold"):
        assert word not in text


def test_cautions_open_and_draft_marks_stand() -> None:
    view = invented_view(30, draft=True)
    page = front_page(replace(view, results={**view.results, "open": True}))
    assert page.banners[0] == "Invented data: not growing advice"
    assert any(mark.startswith("Open month") for mark in page.banners)
    assert any(mark.startswith("Draft") for mark in page.banners)
    assert "dust mask" in whole(page)
    assert "Legionella" in whole(page)


def test_real_data_bears_no_invented_mark() -> None:
    view = invented_view(30)
    assert front_page(replace(view, results={**view.results, "invented": False})).banners == ()


def test_the_clubs_two_numbers_are_said() -> None:
    assert "“Enough” here means: in 16 of 20 new growers’ tests at least 1.25 times as fast" in whole(
        front_page(invented_view(30))
    )


def test_what_changed_names_the_old_answer() -> None:
    now = invented_view(30)
    before: ResultsValue = {**invented_view(20).results, "month": "2026-04"}
    text = whole(front_page(replace(now, earlier=(before,))))
    assert "10 more growers" in text
    assert "Against April 2026" in text


def test_predictions_for_clubs_speak_of_these_clubs() -> None:
    view = invented_view(30)
    text = whole(front_page(replace(view, results={**view.results, "scope": "these clubs"})))
    assert "these clubs" in text
    assert "new grower" not in text


def test_notes_and_lots_never_reach_a_page() -> None:
    view = invented_view(30)
    runs = view.runs.with_columns(
        pl.lit("SECRET-NOTE").alias("notes"), pl.lit("SECRET-LOT").alias("peat_lot")
    )
    assert "SECRET" not in whole(front_page(replace(view, runs=runs)))


def test_many_stopped_clocks_are_told_among_the_unknowns() -> None:
    view = invented_view(30)
    assert "clocks were stopped" not in whole(front_page(view))
    perlite = view.results["components"]["perlite"]
    perlite["settled"]["shares"] = perlite["shares"]
    perlite["settled"]["refits"] = {"count": 30, "variances": "one step"}
    assert "many clocks were stopped before the water was out" in whole(front_page(view))
