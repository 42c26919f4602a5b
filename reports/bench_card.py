"""The bench card as HTML, one page on A4 and on Letter, with its style sheet beside it."""

from __future__ import annotations

import pkgutil
from typing import Literal

from reports.page import Download
from reports.render import environment
from schemas.trade.cautions import AT_THE_BENCH
from schemas.trade.how_to_test import IN_SHORT, OF_EACH_POUR, PROTOCOL, BenchCard

Paper = Literal["A4", "Letter"]
PAPERS: tuple[Paper, ...] = ("A4", "Letter")
STYLE_NAME = "bench-card.css"


def card_name(paper: Paper) -> str:
    """The card's file name."""
    return f"bench-card-{paper.lower()}.html"


def card_html(card: BenchCard, paper: Paper) -> str:
    """The card for this paper; what it does not know yet is a blank."""
    return (
        environment()
        .get_template("bench_card.html.jinja")
        .render(
            card=card,
            paper=paper,
            in_short=IN_SHORT,
            headings=[heading for _, heading in OF_EACH_POUR],
            protocol=PROTOCOL,
            cautions=AT_THE_BENCH,
        )
    )


def card_style() -> str:
    """The card's style sheet."""
    return (pkgutil.get_data("reports", "assets/bench_card.css") or b"").decode()


def blank_cards() -> tuple[Download, ...]:
    """The blank cards and their style sheet, as files that lie beside a page."""
    cards = tuple(Download(card_name(paper), card_html(BenchCard(), paper).encode()) for paper in PAPERS)
    return (*cards, Download(STYLE_NAME, card_style().encode()))
