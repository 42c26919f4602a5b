"""Coming in and going out: invitations, signing in, signing out."""

from __future__ import annotations

import re

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.accounts.book import Account
from pipeline.desk.accounts.passphrases import LONGEST, SHORTEST, fits, hashed, unfit
from pipeline.desk.web.addresses import ANYONE, DeskForm, DeskPage
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.forms import field, read_form
from pipeline.desk.web.refusals import RefusedError, too_often
from pipeline.desk.web.render import page, to
from pipeline.desk.web.visitor import sign_in, sign_out, visitor_of
from pipeline.jobs.decisions.requests import Request as PoolRequest
from pipeline.jobs.decisions.requests import leave_request
from schemas.trade.labels import label_key

INSIDE = re.compile(r"/[A-Za-z0-9_./-]*(\?[A-Za-z0-9_.=&%+,-]*)?\Z")
CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{1,31}\Z")
QUARTER_HOUR = 15


def way_on(typed: str, otherwise: str) -> str:
    """Where to go after signing in: a page of this desk, never another site."""
    return typed if INSIDE.match(typed) and "//" not in typed else otherwise


async def sign_in_page(request: Request) -> Response:
    """The form to sign in."""
    return page(
        request, "sign_in.html", then=way_on(request.query_params.get("then", ""), ""), code="", wrong=""
    )


async def take_sign_in(request: Request) -> Response:
    """Checks code and passphrase, in turn with others; counts wrong ones by code and address together, so that nobody
    can lock another's code, and by address."""
    form = await read_form(request)
    desk, visitor = desk_of(request), visitor_of(request)
    code, passphrase = field(form, "code", 64), str(form.get("passphrase") or "")[: LONGEST + 1]
    then = way_on(field(form, "then"), "")
    at, key = desk.clock(), f"{label_key(code)} {visitor.address}"
    by_account, by_address = desk.limits.wrong_by_account, desk.limits.wrong_by_address
    if by_account.full(key, at) or by_address.full(visitor.address, at):
        raise too_often(
            "There were too many wrong tries.", QUARTER_HOUR, f"sign-in as {code}: too many wrong tries"
        )
    # counted before the check, so that many tries at once can't slip past the count
    by_account.count(key, at)
    by_address.count(visitor.address, at)
    account = desk.accounts.read().account(code)
    kept = account.passphrase if account is not None and account.open else None
    if not await run_in_threadpool(fits, kept, passphrase) or account is None:
        desk.log(request, f"refused 401: wrong sign-in as {code}")
        wrong = "Code and passphrase do not fit together. A coordinator can send you a new invitation."
        return page(request, "sign_in.html", 401, then=then, code=code, wrong=wrong)
    by_account.forget(key)
    by_address.take_back(visitor.address)
    return _admitted(request, desk, account, then or ("/room" if account.role == "coordinator" else "/mine"))


async def take_sign_out(request: Request) -> Response:
    """Ends this browser's session."""
    await read_form(request)
    visitor = visitor_of(request)
    if visitor.session is not None:
        desk_of(request).accounts.end_session(visitor.session)
    response = to("/")
    sign_out(response)
    return response


async def invitation_page(request: Request) -> Response:
    """The form behind an invitation: choose a passphrase."""
    desk = desk_of(request)
    token = request.path_params["token"]
    found = desk.accounts.read().invitation(token, desk.clock())
    if found is None:
        raise _used_already()
    return page(request, "invitation.html", invitation=found, token=token, wrong="", shortest=SHORTEST)


async def take_invitation(request: Request) -> Response:
    """Makes the account of an invitation, or gives it its new passphrase, and signs it in."""
    form = await read_form(request)
    desk = desk_of(request)
    token, at = request.path_params["token"], desk.clock()
    found = desk.accounts.read().invitation(token, at)
    if found is None:
        raise _used_already()
    passphrase = str(form.get("passphrase") or "").strip()[: LONGEST + 1]
    wrong = unfit(passphrase, found.code)
    if wrong is not None:
        return page(
            request, "invitation.html", 400, invitation=found, token=token, wrong=wrong, shortest=SHORTEST
        )
    account = desk.accounts.accept(token, await run_in_threadpool(hashed, passphrase), at)
    if account is None:
        raise _used_already()
    note_access(desk, "joined", account.code, account.code, account.role)
    return _admitted(request, desk, account, "/room" if account.role == "coordinator" else "/")


def _used_already() -> RefusedError:
    """A link that was used, has ended or never was: told in the same words."""
    return RefusedError(
        404,
        "This link was used already, or has ended",
        "If you chose a passphrase with it, sign in. If not, ask the coordinator for a new link.",
        "an invitation that is not in force",
        way="/sign-in",
    )


def note_access(desk: Desk, kind: str, code: str, by: str, words: str) -> None:
    """A line for the journal about an account: left in the inbox, written down by the next run."""
    leave_request(desk.pool, PoolRequest(kind, by, desk.clock(), words, member=code), desk.token(8))


def _admitted(request: Request, desk: Desk, account: Account, then: str) -> Response:
    number, until = desk.accounts.start_session(account.code, desk.clock())
    desk.log(request, f"signed in: {account.code}")
    response = to(then)
    sign_in(request, response, number, until)
    return response


ADDRESSES = (
    DeskPage("/sign-in", sign_in_page, ANYONE, label="Sign in", signed_out_only=True),
    DeskPage(
        "/invitation/{token}",
        invitation_page,
        ANYONE,
        reached_by="a link that the coordinator passes on",
    ),
    DeskForm("/sign-in", take_sign_in, ANYONE),
    DeskForm("/sign-out", take_sign_out, ANYONE),
    DeskForm("/invitation/{token}", take_invitation, ANYONE),
)
