"""Who is at the desk: the account signed in, if any, and the marks that tie forms to this browser."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.accounts import Account
from pipeline.desk.desk import Desk, desk_of
from pipeline.desk.refusals import NotHereError, SignInFirstError
from pipeline.desk.signed import form_mark, same, session_number, session_value

SESSION_COOKIE = "drainpool_session"
SEAT_COOKIE = "drainpool_seat"
SEAT_LENGTH = 24


@dataclass(frozen=True)
class Visitor:
    """One browser. `seat`: its own word, by which a form of a browser not signed in is known."""

    account: Account | None
    session: int | None
    seat: str
    new_seat: bool
    address: str
    mark: str

    @property
    def code(self) -> str | None:
        """The code signed in."""
        return self.account.code if self.account else None

    @property
    def is_coordinator(self) -> bool:
        """Whether a coordinator is signed in."""
        return self.account is not None and self.account.role == "coordinator"

    def may_see(self, owner: str | None) -> bool:
        """Whether what belongs to `owner` may be shown: to themselves and to the coordinator."""
        mine = self.code is not None and owner is not None and self.code.casefold() == owner.casefold()
        return mine or self.is_coordinator

    @property
    def sender(self) -> str:
        """Whose uploads are counted: the account, or the address of who is not signed in."""
        return f"account {self.code}" if self.code else f"address {self.address}"


def visitor_of(request: Request) -> Visitor:
    """Who sent this request; looked up once."""
    if not hasattr(request.state, "visitor"):
        request.state.visitor = _looked_up(request, desk_of(request))
    visitor: Visitor = request.state.visitor
    return visitor


def _looked_up(request: Request, desk: Desk) -> Visitor:
    book = desk.accounts.read()
    at = desk.clock()
    number = _number(book.secret, request.cookies.get(SESSION_COOKIE, ""), at)
    account = book.signed_in(number, at) if number is not None else None
    session = number if account is not None else None
    seat = request.cookies.get(SEAT_COOKIE, "")
    new_seat = not (len(seat) == SEAT_LENGTH and seat.isascii() and seat.isalnum())
    seat = desk.word(SEAT_LENGTH) if new_seat else seat
    mark = form_mark(book.secret, "" if session is not None else seat, session)
    return Visitor(
        account, session, seat, new_seat, request.client.host if request.client else "unknown", mark
    )


def _number(secret: str, cookie: str, at: datetime) -> int | None:
    try:
        return session_number(secret, cookie, at) if cookie else None
    except (ValueError, OverflowError, OSError):
        return None


def signed_in(request: Request) -> Visitor:
    """The visitor, signed in; otherwise the way leads over the sign-in page and back."""
    visitor = visitor_of(request)
    if visitor.account is None:
        raise SignInFirstError(request.url.path)
    return visitor


def coordinator(request: Request) -> Visitor:
    """The visitor, a coordinator; for every other member the page does not exist."""
    visitor = signed_in(request)
    if not visitor.is_coordinator:
        raise NotHereError(f"member {visitor.code} asked for {request.url.path}")
    return visitor


def carries_mark(request: Request, given: str) -> bool:
    """Whether a form's mark is the one that this browser was given."""
    return same(given, visitor_of(request).mark)


def take_seat(request: Request, response: Response) -> None:
    """Gives a browser without a seat its own."""
    visitor = visitor_of(request)
    if visitor.new_seat and visitor.session is None:
        response.set_cookie(
            SEAT_COOKIE, visitor.seat, httponly=True, samesite="strict", secure=_secure(request), path="/"
        )


def sign_in(request: Request, response: Response, number: int, until: datetime) -> None:
    """Puts the session's cookie into the answer."""
    secret = desk_of(request).accounts.read().secret
    response.set_cookie(
        SESSION_COOKIE,
        session_value(secret, number, until),
        expires=until,
        httponly=True,
        samesite="lax",
        secure=_secure(request),
        path="/",
    )


def sign_out(response: Response) -> None:
    """Takes the session's cookie out of the browser."""
    response.delete_cookie(SESSION_COOKIE, path="/", httponly=True, samesite="lax")


def _secure(request: Request) -> bool:
    return request.url.scheme == "https"
