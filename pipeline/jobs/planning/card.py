"""The bench cards of a plan: its own values and pours printed, blanks for what the bench will tell."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.jobs.planning.sheet import sheet_rows
from pipeline.jobs.planning.steps import TestPlan
from reports.bench_card import PAPERS, STYLE_NAME, card_html, card_style
from schemas.trade.how_to_test import LINES_ON_CARD, OF_EACH_POUR, WRITTEN_ONCE, BenchCard


def bench_cards(planned: TestPlan) -> list[BenchCard]:
    """As many cards as the plan's pours need, in the order of pouring."""
    rows = sheet_rows(planned)
    once = tuple((name, rows[0][name]) for name, _ in WRITTEN_ONCE if rows[0].get(name))
    pours = [tuple((name, row[name]) for name, _ in OF_EACH_POUR if row.get(name)) for row in rows]
    return [
        BenchCard(once, tuple(pours[start : start + LINES_ON_CARD]))
        for start in range(0, len(pours), LINES_ON_CARD)
    ]


def card_files(planned: TestPlan) -> dict[str, bytes]:
    """The cards as pages to print, for each paper, with their style sheet: name and content."""
    return {**dict(_pages(planned)), STYLE_NAME: card_style().encode()}


def _pages(planned: TestPlan) -> Iterator[tuple[str, bytes]]:
    for number, card in enumerate(bench_cards(planned), 1):
        for paper in PAPERS:
            yield f"bench-card-{number}-{paper.lower()}.html", card_html(card, paper).encode()
