"""How to test: the protocol, the bench card to print, the blank sheet, and what to take care of."""

from __future__ import annotations

from reports.bench_card import PAPERS, blank_cards, card_name
from reports.frame import Content
from reports.page import Link, Section, Strong, items, say
from reports.view import MonthView
from schemas.trade.cautions import FULL
from schemas.trade.how_to_test import IN_SHORT, PROTOCOL


def how_to_test_content(_view: MonthView) -> Content:
    """`how-to-test.html`."""
    parts = [
        Section(part.title, (items(*part.steps),), f"part-{number}")
        for number, part in enumerate(PROTOCOL, start=1)
    ]
    papers = [piece for paper in PAPERS for piece in (Link(paper, card_name(paper)), ", ")][:-1]
    return Content(
        ("Scoop, fill to a line, pour, and time half of it",),
        (IN_SHORT,),
        (
            Section(
                "On paper",
                (
                    say(
                        "The bench card has these steps and a blank for every number, on one page: ",
                        *papers,
                        ".",
                    ),
                    say(
                        Link("All columns of the sheet", "dictionary.html"),
                        " are explained, with what each may hold.",
                        tone="small",
                    ),
                ),
                "card",
            ),
            *parts,
            Section(
                "Take care",
                (items(*((Strong(f"{caution.title}. "), caution.text) for caution in FULL), tone="caution"),),
                "cautions",
            ),
        ),
        downloads=blank_cards(),
    )
