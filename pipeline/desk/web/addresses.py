"""What an address of the desk is: its handler, who may use it, and its place in the navigation."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.web.visitor import Visitor, coordinator, signed_in

Handler = Callable[[Request], Awaitable[Response]]
SeenBy = Literal["anyone", "members", "coordinator"]
ANYONE: SeenBy = "anyone"
MEMBERS: SeenBy = "members"
COORDINATOR: SeenBy = "coordinator"


@dataclass(frozen=True)
class DeskForm:
    """What a form is sent to. `seen_by`: who may send it."""

    path: str
    handler: Handler
    seen_by: SeenBy


@dataclass(frozen=True)
class DeskPage:
    """A page or file. `label`: its words in the navigation, blank where it is not listed there; `signed_out_only`:
    listed only while nobody is signed in; `reached_by`: how a visitor gets there where no template links to it."""

    path: str
    handler: Handler
    seen_by: SeenBy
    label: str = ""
    signed_out_only: bool = False
    reached_by: str = ""

    def listed_for(self, visitor: Visitor) -> bool:
        """Whether this visitor's navigation has the page."""
        if self.seen_by == COORDINATOR:
            return visitor.is_coordinator
        if self.seen_by == MEMBERS:
            return visitor.account is not None
        return not (self.signed_out_only and visitor.account is not None)


def navigation(pages: Sequence[DeskPage]) -> tuple[DeskPage, ...]:
    """The pages that the navigation lists, in order; each visitor sees those listed for them."""
    return tuple(page for page in pages if page.label)


def admitted(address: DeskPage | DeskForm) -> Handler:
    """The handler, called only for visitors who may use the address; others are sent to sign in, or told that there
    is no such page."""
    if address.seen_by == ANYONE:
        return address.handler
    check = coordinator if address.seen_by == COORDINATOR else signed_in

    async def handle(request: Request) -> Response:
        check(request)
        return await address.handler(request)

    return handle
