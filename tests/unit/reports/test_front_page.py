"""What the front page says, asked of the page value before it is HTML."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import polars as pl
import pytest

from reports.page import Block, DrawingBlock, Folded, Items, Page, Say, TableBlock, text_of
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


def test_few_growers_look_like_few() -> None:
    """Under 5: dots and a sentence; no ladder word, no range, no average, no twenty dots."""
    page = front_page(invented_view(4))
    text = whole(page)
    assert "drains faster" not in text and "drain faster" not in text
    assert "Too few for an average." in text and "on average" not in text
    (drawn,) = [block for block in every_block(page) if isinstance(block, DrawingBlock)]
    assert drawn.name == "curve"
    assert "<polygon" not in drawn.svg and "<polyline" not in drawn.svg
    assert 'class="results"' in drawn.svg


@pytest.mark.parametrize("members", [6, 30])
def test_ranges_and_averages_are_drawn_from_five_growers_on(members: int) -> None:
    (curve,) = [
        block
        for block in every_block(front_page(invented_view(members)))
        if isinstance(block, DrawingBlock) and block.name == "curve"
    ]
    assert "<polygon" in curve.svg and "<polyline" in curve.svg


WORDS_OF_A_FRONT_PAGE = 700
LETTER = re.compile(r"[^\W\d_]")


def open_words(page: Page) -> list[str]:
    """Words of the page outside pictures and what is folded away: whatever holds a letter; figures are no words."""
    blocks = [*page.opening, *(block for section in page.sections for block in section.blocks)]
    said = [text_of(page.headline), text_of(page.under_headline), page.standing]
    said += [section.question for section in page.sections]
    for block in blocks:
        said += _of(block)
        if isinstance(block, TableBlock):
            said += [block.caption, block.note, *block.headings]
        if isinstance(block, DrawingBlock):
            said.append(block.caption)
        if isinstance(block, Folded):
            said.append(block.summary)
    return [word for sentence in said for word in sentence.split() if LETTER.search(word)]


@pytest.mark.parametrize("members", [0, 3, 6, 30])
def test_the_front_page_is_read_in_three_minutes(members: int) -> None:
    assert len(open_words(front_page(invented_view(members)))) <= WORDS_OF_A_FRONT_PAGE


def test_the_first_screen_holds_the_answer_and_its_evidence() -> None:
    page = with_recommendation(65.0, "enough", "1:2")
    kinds = [block.name for block in page.opening if isinstance(block, DrawingBlock)]
    assert kinds == ["mix", "dots"]
    said = " ".join(
        text_of(line) for block in page.opening if isinstance(block, Items) for line in block.lines
    )
    for answer in ("on average", "A new grower could see", "growers, ", "straight peat"):
        assert answer in said


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
