"""The bench card as HTML: escaped values, its own style sheet, the same text as the page."""

from __future__ import annotations

import html

from reports.bench_card import PAPERS, STYLE_NAME, blank_cards, card_html, card_name
from schemas.trade.cautions import AT_THE_BENCH
from schemas.trade.how_to_test import PROTOCOL, BenchCard


def test_the_card_has_the_whole_protocol_and_its_cautions() -> None:
    for paper in PAPERS:
        text = html.unescape(card_html(BenchCard(), paper))
        for words in (*(step for part in PROTOCOL for step in part.steps), *AT_THE_BENCH):
            assert words in text
        assert f'href="{STYLE_NAME}"' in text and "<script" not in text


def test_values_are_escaped() -> None:
    text = card_html(BenchCard(values=(("series", "<b>porch</b>"),)), "A4")
    assert "&lt;b&gt;porch" in text and "<b>porch" not in text


def test_the_blank_cards_go_with_the_page() -> None:
    paths = [download.path for download in blank_cards()]
    assert paths == [*(card_name(paper) for paper in PAPERS), STYLE_NAME]
