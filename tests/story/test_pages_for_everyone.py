"""The pages for those who read by ear, by keyboard, without colours: axe-core, a walk by the Tab key, grey paper."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from pipeline.jobs.month.files.report_files import write_files
from reports.publish import page_files
from reports.steps import LISTED, month_pages
from tests.story.browser import open_page, wait_until_drawn
from tests.unit.reports.invented_month import invented_view

SHARED = tuple(page.path for page in LISTED)


@pytest.fixture(scope="module")
def month(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("2026-05")
    before = {**invented_view(20).results, "month": "2026-04"}
    write_files(folder, page_files(month_pages(invented_view(30, earlier=(before,)))))
    return folder


@pytest.mark.parametrize(
    ("name", "scheme"),
    [
        pytest.param(name, scheme, marks=() if (name, scheme) == (SHARED[0], "light") else pytest.mark.deep)
        for name in SHARED
        for scheme in ("light", "dark")
    ],
)
def test_axe_core_finds_nothing_serious(chromium: Any, month: Path, name: str, scheme: str) -> None:
    """Rules of axe-core (Deque), levels serious and critical. The page's own policy is lifted for its script."""
    from axe_playwright_python.sync_playwright import Axe

    context = chromium.new_context(
        bypass_csp=True, color_scheme=scheme, viewport={"width": 1280, "height": 900}
    )
    page = context.new_page()
    page.goto((month / name).as_uri())
    wait_until_drawn(page)
    found = Axe().run(page).response["violations"]
    context.close()
    assert [(one["id"], one["help"]) for one in found if one["impact"] in ("serious", "critical")] == []


@pytest.mark.deep
def test_every_control_of_the_front_page_is_reached_by_keyboard(chromium: Any, month: Path) -> None:
    page = open_page(chromium, month / "index.html").page
    controls = "a[href], button, input, select, summary"
    expected = page.evaluate(
        f"[...document.querySelectorAll('{controls}')].filter(one => one.checkVisibility() && !one.disabled).length"
    )
    reached = set()
    for _ in range(expected + 20):
        page.keyboard.press("Tab")
        seen = page.evaluate(
            "(() => { const one = document.activeElement; if (one === document.body) return null;"
            f" const all = [...document.querySelectorAll('{controls}')];"
            " const style = getComputedStyle(one);"
            " return [all.indexOf(one), style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0]; })()"
        )
        if seen is not None and seen[0] >= 0:
            reached.add(seen[0])
            assert seen[1], f"control {seen[0]} shows no focus"
    page.close()
    assert len(reached) == expected


@pytest.mark.deep
def test_grey_paper_loses_nothing(chromium: Any, month: Path) -> None:
    """What colour says is said in words or shapes too: bands are named on the plot, verdicts and dots have words."""
    page = open_page(chromium, month / "index.html").page
    page.emulate_media(media="print")
    drawn = page.evaluate(
        "[...document.querySelectorAll('#curve .wide svg text')].map(one => one.textContent).join('|')"
    )
    assert "freshly filled" in drawn and "a new grower" in drawn and "enough: 1.25×" in drawn
    words = " ".join(page.inner_text("body").split())
    for mark in ("reaches 1.25×", "falls short", "at least 1.25 times as fast (●)", "slower (○)"):
        assert mark in words
    page.close()


@pytest.mark.deep
def test_a_walk_finds_the_readers_answers_as_text(chromium: Any, month: Path) -> None:
    """What a reader of three minutes asks of the front page, each answered in words."""
    page = open_page(chromium, month / "index.html", width=400).page
    words = " ".join(page.inner_text("body").split())
    page.close()
    asked = {
        "the one thing to remember": "is enough:",
        "does it apply to me": "For a grower who tests as these did",
        "how sure": "new growers’ tests this mix would drain at least",
        "could a new grower see the reverse": "slower (○)",
        "what was left out": "rows held",
        "what is still unknown": "What is still unknown?",
        "what is new": "What changed?",
        "in minutes": "this mix about",
        "quote it safely": "growers,",
        "how current": "Received up to",
        "what to be careful of": "Before you mix",
    }
    missing = [question for question, answer in asked.items() if answer not in words]
    assert missing == []
