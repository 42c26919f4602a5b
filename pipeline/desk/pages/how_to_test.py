"""How to test: the page, and the bench card to print."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from pipeline.desk.web.addresses import ANYONE, DeskPage
from pipeline.desk.web.refusals import NotHereError
from pipeline.desk.web.render import page
from reports.bench_card import PAPERS, STYLE_NAME, card_html, card_name, card_style
from schemas.trade.cautions import FULL
from schemas.trade.how_to_test import IN_SHORT, PROTOCOL, BenchCard


async def how_to_test_page(request: Request) -> Response:
    """The protocol, and the way to the card."""
    cards = [(paper, f"/{card_name(paper)}") for paper in PAPERS]
    return page(request, "how_to_test.html", in_short=IN_SHORT, protocol=PROTOCOL, cards=cards, cautions=FULL)


async def bench_card(request: Request) -> Response:
    """The blank card for one paper."""
    paper = next((one for one in PAPERS if one.lower() == request.path_params["paper"]), None)
    if paper is None:
        raise NotHereError()
    return HTMLResponse(card_html(BenchCard(), paper))


async def bench_card_style(_request: Request) -> Response:
    """The style sheet of the card."""
    return Response(card_style(), media_type="text/css; charset=utf-8")


ADDRESSES = (
    DeskPage("/how-to-test", how_to_test_page, ANYONE, label="How to test"),
    DeskPage(
        "/bench-card-{paper:str}.html", bench_card, ANYONE, reached_by="links of the page on how to test"
    ),
    DeskPage(f"/{STYLE_NAME}", bench_card_style, ANYONE, reached_by="the card itself"),
)
