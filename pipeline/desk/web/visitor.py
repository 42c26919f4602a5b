"""Who sent a request: the account signed in, if any, and the CSRF token that ties forms to this browser."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.accounts.book import Account
from pipeline.desk.accounts.tokens import csrf_token, same, session_number, session_value
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.refusals import NotHereError, SignInFirstError
from schemas.trade.labels import same_label

SESSION_COOKIE = "drainpool_session"
ANONYMOUS_COOKIE = "drainpool_anonymous_session"
ANONYMOUS_LENGTH = 24


@dataclass(frozen=True)
class Visitor:
    """One browser. `anonymous_session`: the random token by which a browser is known before anybody signs in."""

    account: Account | None
    session: int | None
    anonymous_session: str
    new_browser: bool
    address: str
    csrf_token: str

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
        mine = same_label(self.code, owner)
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
    anonymous = request.cookies.get(ANONYMOUS_COOKIE, "")
    new_browser = not (len(anonymous) == ANONYMOUS_LENGTH and anonymous.isascii() and anonymous.isalnum())
    anonymous = desk.token(ANONYMOUS_LENGTH) if new_browser else anonymous
    token = csrf_token(book.secret, "" if session is not None else anonymous, session)
    return Visitor(
        account, session, anonymous, new_browser, request.client.host if request.client else "unknown", token
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


def has_csrf_token(request: Request, given: str) -> bool:
    """Whether a form's CSRF token is the one that this browser was given."""
    return same(given, visitor_of(request).csrf_token)


def start_anonymous_session(request: Request, response: Response) -> None:
    """Gives a new browser its anonymous session."""
    visitor = visitor_of(request)
    if visitor.new_browser and visitor.session is None:
        response.set_cookie(
            ANONYMOUS_COOKIE,
            visitor.anonymous_session,
            httponly=True,
            samesite="strict",
            secure=_secure(request),
            path="/",
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
