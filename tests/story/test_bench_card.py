"""The bench card on paper: one page of A4 and of Letter, of its own size, from disk and from the desk."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from reports.bench_card import PAPERS, STYLE_NAME, Paper, card_html, card_name, card_style
from schemas.kinds.run import RUN
from schemas.trade.how_to_test import LINES_ON_CARD, OF_EACH_POUR, WRITTEN_ONCE, BenchCard

POINTS: dict[Paper, tuple[float, float]] = {"A4": (595.3, 841.9), "Letter": (612, 792)}
"""Width and height in points: ISO 216 (210 x 297 mm) and 8.5 x 11 in."""
FULL_CARD = BenchCard(
    values=tuple((name, "twenty long characters") for name, _ in WRITTEN_ONCE),
    pours=(tuple((name, RUN.by_name[name].example or "a note") for name, _ in OF_EACH_POUR),) * LINES_ON_CARD,
)


def printed(chromium: Any, folder: Path, card: BenchCard, paper: Paper) -> bytes:
    (folder / STYLE_NAME).write_text(card_style(), encoding="utf-8")
    path = folder / card_name(paper)
    path.write_text(card_html(card, paper), encoding="utf-8")
    page = chromium.new_page()
    page.goto(path.as_uri())
    content: bytes = page.pdf(prefer_css_page_size=True)
    page.close()
    return content


@pytest.mark.deep
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("card", [BenchCard(), FULL_CARD], ids=["blank", "full"])
def test_the_card_prints_on_one_page_of_its_paper(
    chromium: Any, tmp_path: Path, card: BenchCard, paper: Paper
) -> None:
    content = printed(chromium, tmp_path, card, paper)
    boxes = re.findall(rb"/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]", content)
    assert len(boxes) == len(re.findall(rb"/Type /Page\b(?!s)", content)) == 1
    width, height = POINTS[paper]
    assert abs(float(boxes[0][0]) - width) < 1.5 and abs(float(boxes[0][1]) - height) < 1.5
