"""The one list of pages: every page is reachable, and each is shown only to those whom the list names."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.accounts.book import Account
from pipeline.desk.steps import FORMS, PAGES
from pipeline.desk.web.addresses import (
    ANYONE,
    COORDINATOR,
    MEMBERS,
    DeskForm,
    DeskPage,
    Handler,
    SeenBy,
    admitted,
    navigation,
)
from pipeline.desk.web.refusals import NotHereError, SignInFirstError
from pipeline.desk.web.visitor import Visitor

TEMPLATES = Path(__file__).resolve().parents[3] / "pipeline" / "desk" / "templates"
LINK = re.compile(r'(?:href|src)="(/[^"]*)"')
NOBODY = Visitor(None, None, "", False, "", "")
MEMBER = Visitor(Account("heron-12", "member", None, ""), 1, "", False, "", "")
ADA = Visitor(Account("ada", "coordinator", None, ""), 2, "", False, "", "")


def links() -> set[str]:
    """Addresses that the templates link to, each value put in by the template written `x`."""
    texts = (path.read_text(encoding="utf-8") for path in TEMPLATES.glob("*.html"))
    found = (re.sub(r"{{.*?}}", "x", re.sub(r"{%.*?%}", "", text)) for text in texts)
    return {link.split("?")[0] for text in found for link in LINK.findall(text)}


def is_reachable(page: DeskPage, linked: set[str]) -> bool:
    address = re.compile(re.sub(r"\\{[^}]*\\}", "[^ ]+", re.escape(page.path)))
    return bool(page.label or page.reached_by or any(address.fullmatch(link) for link in linked))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.path)
def test_every_page_can_be_reached(page: DeskPage) -> None:
    assert is_reachable(page, links() | {"/"}), f"nothing leads to {page.path}: give it a label or a link"


def test_a_page_that_nothing_leads_to_is_noticed() -> None:
    async def handler(_request: Request) -> Response:
        return Response()

    assert not is_reachable(DeskPage("/forgotten/{name}", handler, ANYONE), links())
    assert is_reachable(DeskPage("/receipts/{number}", handler, MEMBERS), links())


def test_navigation_for_each_visitor() -> None:
    listed = {
        who: [page.label for page in navigation(PAGES) if page.listed_for(visitor)]
        for who, visitor in (("nobody", NOBODY), ("member", MEMBER), ("coordinator", ADA))
    }
    for_all = ["Send a sheet", "Fill one in", "How to test", "Ask", "Reports"]
    assert listed == {
        "nobody": [*for_all, "Sign in"],
        "member": [*for_all, "My tests"],
        "coordinator": [*for_all, "The room", "My tests"],
    }


@pytest.mark.parametrize("address", (*PAGES, *FORMS), ids=lambda address: address.path)
def test_the_room_is_the_coordinators_and_own_pages_are_members(address: DeskPage | DeskForm) -> None:
    first = address.path.split("/")[1]
    wanted = {"room": COORDINATOR, "mine": MEMBERS}.get(first)
    assert wanted is None or address.seen_by == wanted


@pytest.mark.parametrize(
    ("seen_by", "visitor", "refused"),
    [
        (ANYONE, NOBODY, None),
        (MEMBERS, NOBODY, SignInFirstError),
        (MEMBERS, MEMBER, None),
        (COORDINATOR, NOBODY, SignInFirstError),
        (COORDINATOR, MEMBER, NotHereError),
        (COORDINATOR, ADA, None),
    ],
)
def test_the_list_decides_who_is_admitted(
    seen_by: SeenBy, visitor: Visitor, refused: type[Exception] | None
) -> None:
    called: list[Any] = []

    async def handler(request: Request) -> Response:
        called.append(request)
        return Response()

    request: Any = SimpleNamespace(
        state=SimpleNamespace(visitor=visitor), url=SimpleNamespace(path="/somewhere")
    )
    handle = admitted(DeskPage("/somewhere", handler, seen_by))
    if refused is None:
        asyncio.run(_awaited(handle, request))
        assert called == [request]
    else:
        with pytest.raises(refused):
            asyncio.run(_awaited(handle, request))
        assert called == []


async def _awaited(handle: Handler, request: Request) -> Response:
    return await handle(request)
