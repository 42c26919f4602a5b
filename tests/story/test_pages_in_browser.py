"""The pages as a reader meets them: opened from disk in Chromium, on a phone, in the dark, on paper."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdf
import pytest

from pipeline.jobs.month.files.report_files import write_files
from reports.publish import page_files
from reports.steps import LISTED, month_pages
from tests.story.browser import Opened, open_page, wait_until_drawn
from tests.unit.reports.invented_month import invented_view

PAGES = (*(page.path for page in LISTED), "members/fen-03.html")


@pytest.fixture(scope="module")
def month(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A month of 30 invented growers, written to disk."""
    folder = tmp_path_factory.mktemp("2026-05")
    write_files(folder, page_files(month_pages(invented_view(30))))
    return folder


@pytest.fixture()
def front(chromium: Any, month: Path) -> Iterator[Opened]:
    opened = open_page(chromium, month / "index.html")
    yield opened
    opened.page.close()


@pytest.mark.parametrize(
    "name", [PAGES[0], *(pytest.param(name, marks=pytest.mark.deep) for name in PAGES[1:])]
)
def test_pages_open_from_disk_in_silence_and_alone(chromium: Any, month: Path, name: str) -> None:
    opened = open_page(chromium, month / name, width=360)
    inside = month.as_uri()
    assert opened.complaints == []
    assert [address for address in opened.asked if not address.startswith(inside)] == []
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 360
    assert opened.page.get_by_text("Invented data: not growing advice").first.is_visible()
    assert (
        opened.page.evaluate(
            "[...document.querySelectorAll('.plot:not(.drawn)')].filter(plot => !plot.closest('[hidden], details:not([open])')).length"
        )
        == 0
    )
    opened.page.close()


@pytest.mark.parametrize("draft", [False, pytest.param(True, marks=pytest.mark.deep)])
def test_the_front_page_prints_on_two_sides(chromium: Any, tmp_path: Path, draft: bool) -> None:
    write_files(tmp_path, page_files(month_pages(invented_view(30, draft=draft))[:1]))
    opened = open_page(chromium, tmp_path / "index.html")
    printed = opened.page.pdf(prefer_css_page_size=True)
    opened.page.close()
    sheet = pypdf.PdfReader(io.BytesIO(printed))
    assert len(sheet.pages) <= 2
    text = " ".join(side.extract_text() for side in sheet.pages)
    assert "Invented data" in text
    assert "Before you mix" in text
    assert "To quote" in text


@pytest.mark.deep
def test_colours_follow_the_reader_light_and_dark_and_stay_readable(chromium: Any, month: Path) -> None:
    contrasts = {}
    for scheme in ("light", "dark"):
        opened = open_page(chromium, month / "index.html", scheme=scheme)
        contrasts[scheme] = opened.page.evaluate(CONTRASTS)
        opened.page.close()
    assert contrasts["light"]["paper"] != contrasts["dark"]["paper"]
    assert contrasts["light"]["line"] != contrasts["dark"]["line"]
    for found in contrasts.values():
        assert min(found["against"].values()) >= 4.5, found


def test_my_pots_minutes_are_spoken_and_kept(chromium: Any, month: Path, front: Opened) -> None:
    page = front.page
    page.click("#own-pot > summary")
    before = page.locator("#shares .minutes").first.inner_text()
    page.fill("input[name=width]", "20")
    page.fill("input[name=base]", "20")
    page.fill("input[name=depth]", "30")
    page.fill("input[name=poured]", "3000")
    page.click("form.pot button[type=submit]")
    after = page.locator("#shares .minutes").first.inner_text()
    # 1500 ml through 314 cm² against 150 ml through 100 cm²: 3.18 times as deep, so 3.18 times as long
    assert in_minutes(after) == pytest.approx(3.18 * in_minutes(before), rel=0.05)
    page.reload()
    wait_until_drawn(page)
    page.click("#own-pot > summary")
    assert page.locator("#shares .minutes").first.inner_text() == after
    page.click("form.pot button[type=reset]")
    assert page.locator("#shares .minutes").first.inner_text() == before


SCREENS = {"index.html": 6.0, "depends.html": 7.0}


@pytest.mark.deep
@pytest.mark.parametrize("name", SCREENS)
def test_a_reader_with_a_phone_scrolls_no_more_than_the_budget(chromium: Any, month: Path, name: str) -> None:
    """Screens of 390 x 844."""
    page = open_page(chromium, month / name, width=390).page
    height = page.evaluate("document.documentElement.scrollHeight")
    page.close()
    assert height / 844 <= SCREENS[name]


@pytest.mark.deep
@pytest.mark.parametrize(("width", "bottom"), [(1280, 800), (390, 2 * 844)])
def test_answer_and_evidence_stand_on_the_first_screen(
    chromium: Any, month: Path, width: int, bottom: int
) -> None:
    """Sentence, mix, average, range, growers and the twenty dots: without scrolling at 1280 x 800, on two phone screens."""
    page = open_page(chromium, month / "index.html", width=width).page
    for part in ("h1", ".under", "#mix svg", "#dots svg", ".opening .figures li:nth-child(3)"):
        box = page.locator(part).first.bounding_box()
        assert box is not None and box["y"] + box["height"] <= bottom, part
    page.close()


@pytest.mark.deep
def test_what_is_folded_away_is_drawn_when_it_is_opened(chromium: Any, month: Path) -> None:
    page = open_page(chromium, month / "depends.html").page
    fold = page.locator("#splits details").first
    fold.locator("summary").first.click()
    page.wait_for_selector("#splits .plot.drawn svg")
    assert page.locator("#splits .plot.drawn svg").first.bounding_box()["width"] > 100
    page.close()


@pytest.mark.deep
def test_my_pot_is_a_cone(front: Opened) -> None:
    """13 cm wide, 10 cm at the base, 11 cm deep hold 1.149 l (domain note on pots): a third of it is poured."""
    page = front.page
    page.click("#own-pot > summary")
    for name, value in (("width", "13"), ("base", "10"), ("depth", "11")):
        page.fill(f"input[name={name}]", value)
    page.click("form.pot button[type=submit]")
    assert "(1.15 l)" in page.inner_text("form.pot [role=status]")
    assert page.input_value("input[name=poured]") == "380"


def in_minutes(words: str) -> float:
    """A drain time as the pages write it, as a number of minutes."""
    sizes = {"h": 60.0, "min": 1.0, "s": 1 / 60}
    pairs = re.findall(r"(\d*)(½?)\s*(h|min|s)\b", words)
    return sum((float(whole or 0) + (0.5 if half else 0.0)) * sizes[unit] for whole, half, unit in pairs)


@pytest.mark.deep
def test_choosing_climate_and_pot_changes_what_is_shown(chromium: Any, month: Path) -> None:
    page = open_page(chromium, month / "depends.html").page
    shown = ".chooser .panel:not([hidden])"
    everyone = page.locator(shown).inner_text()
    page.select_option(".chooser select >> nth=0", "Cfb")
    part = page.locator(shown).inner_text()
    page.reload()
    assert page.locator(shown).inner_text() == part, "the choice lives in the address"
    assert "Cfb" in page.url
    page.select_option(".chooser select >> nth=1", "over 1.5 l")
    missing = page.locator(shown).inner_text().replace("\u00a0", " ")
    page.close()
    assert everyone != part
    assert "Cfb" in part
    assert "0 growers so far" in missing


@pytest.mark.deep
def test_a_reader_in_a_hurry_finds_the_answers_as_text(front: Opened) -> None:
    text = front.page.locator("main").inner_text()
    for answer in (
        "perlite is enough",
        "of 20 new growers’ tests",
        "For a grower who tests as these did",
        "A first look",
        "To avoid",
        "What was left out?",
        "What is still unknown?",
        "Try a few pots first",
        "growers, ",
        "The club chose both numbers",
    ):
        assert answer in text, answer


@pytest.mark.deep
def test_every_picture_has_words_and_a_table(front: Opened) -> None:
    page = front.page
    assert page.evaluate(
        "[...document.querySelectorAll('figure svg')].every(svg => (svg.getAttribute('aria-label') || svg.closest('[aria-label]') || '') !== '')"
    )
    figures = page.locator("figure.chart")
    for number in range(figures.count()):
        assert figures.nth(number).locator("table tbody tr").count() > 0


CONTRASTS = """() => {
  const style = getComputedStyle(document.documentElement);
  const paper = style.getPropertyValue('--paper').trim();
  const light = hex => { const c = [1, 3, 5].map(i => parseInt(hex.slice(i, i + 2), 16) / 255)
      .map(v => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2]; };
  const between = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
  const against = {};
  for (const name of ['ink', 'soft', 'average', 'newgrower', 'member']) {
    against[name] = Math.min(between(style.getPropertyValue('--' + name).trim(), paper), between(style.getPropertyValue('--' + name).trim(), style.getPropertyValue('--wash').trim()));
  }
  against.caution = between(style.getPropertyValue('--caution').trim(), style.getPropertyValue('--cautionwash').trim());
  const line = getComputedStyle(document.querySelector('#curve polyline')).stroke;
  return { paper, line, against };
}"""
