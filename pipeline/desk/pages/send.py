"""Sending a sheet: checked at once for anyone, sent to the pool by somebody signed in."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import Response

from pipeline.desk.mending.form_sheet import form_sheet
from pipeline.desk.mending.replacing import Replacing, of_kept_sheet
from pipeline.desk.pages.receipt_values import choosing, not_sent_because, receipt_values
from pipeline.desk.sheets.receipts import LINK_LIVES, KeptSheet
from pipeline.desk.web.addresses import ANYONE, MEMBERS, DeskForm, DeskPage
from pipeline.desk.web.desk import Desk, desk_of
from pipeline.desk.web.forms import field, read_form, upload
from pipeline.desk.web.refusals import NotHereError, RefusedError, too_much, too_often
from pipeline.desk.web.render import page, to
from pipeline.desk.web.shield import has_too_many_rows, too_many_rows
from pipeline.desk.web.visitor import Visitor, signed_in, visitor_of
from pipeline.jobs.decisions.requests import leave_sheet
from pipeline.jobs.receiving.own_headings import kept_headings
from pipeline.jobs.receiving.page_check import CheckedSheet
from pipeline.jobs.receiving.sheets import SHEET_ENDINGS, Sheet
from schemas.column import OwnHeadings
from schemas.trade.moments import moment_text

BIG_SHEET_BYTES = 1_000_000
LONGEST_NAME = 120
SAID = {
    "pots": "Other pots of this series were sent meanwhile. Pots that you left blank have the numbers after theirs now.",
    "asked": "Nothing was sent yet: please say first whether earlier pours are to be replaced.",
}
PATHS_IN_NAMES = re.compile(r"[/\\\x00-\x1f\x7f]|^\.+$")


async def send_page(request: Request) -> Response:
    """The form to choose or drop a sheet."""
    return page(request, "send.html", endings=",".join(sorted(SHEET_ENDINGS)))


async def take_sheet(request: Request) -> Response:
    """Checks the sheet and leads to its receipt, behind a link that lives for 24 hours."""
    desk, visitor = desk_of(request), visitor_of(request)
    may_check(desk, visitor)
    form = await read_form(request)
    file = upload(form, "sheet")
    if file is None:
        raise RefusedError(
            400, "No sheet was chosen", "Go back, choose a .csv or .xlsx file and send it again."
        )
    try:
        name = fit_name(file.filename or "")
        if (file.size or 0) > BIG_SHEET_BYTES:
            async with desk.one_big_sheet:
                return await _checked(request, name, file)
        return await _checked(request, name, file)
    finally:
        await form.close()


async def _checked(request: Request, name: str, file: UploadFile) -> Response:
    content = await file.read()
    if has_too_many_rows(content):
        raise too_many_rows()
    return await check_and_keep(request, name, content, None)


def may_check(desk: Desk, visitor: Visitor) -> None:
    """Counts one check of this sender; refuses beyond 30 an hour."""
    if desk.limits.uploads.full(visitor.sender, desk.clock()):
        raise too_often(
            "30 sheets an hour can be checked here.", 60, f"more than 30 sheets an hour from {visitor.sender}"
        )
    desk.limits.uploads.count(visitor.sender, desk.clock())


def fit_name(typed: str) -> str:
    """The file's name; refuses one that holds a path or is no sheet's."""
    if PATHS_IN_NAMES.search(typed) or not typed.strip():
        raise RefusedError(
            400,
            "That is no plain file name",
            "A sheet’s name can’t hold slashes, backslashes or line breaks. Give the file a plain name, like my_tests.csv, and send it again. Nothing was changed.",
            f"a file name that holds a path: {typed[:80]!r}",
        )
    if len(typed) > LONGEST_NAME:
        raise RefusedError(
            400,
            "That file name is too long",
            f"Give the file a name of at most {LONGEST_NAME} characters. Nothing was changed.",
        )
    if Path(typed).suffix.lower() not in SHEET_ENDINGS:
        raise RefusedError(
            400,
            "That is no sheet",
            "A run sheet is a .csv or an .xlsx file (.tsv and .txt are read too). In a spreadsheet choose “Save as” and CSV. Nothing was changed.",
        )
    return typed


async def check_and_keep(
    request: Request,
    name: str,
    content: bytes,
    form: dict[str, str] | None,
    columns: OwnHeadings = (),
    leaving: int = 0,
    said: str = "",
) -> Response:
    """Checks the bytes, keeps the sheet behind a new link and leads there. `columns`: what its sender says of own
    headings; without that, what they said before of headings in this sheet. `leaving` as in `KeptSheet`; `said`: a
    word for the sentence that the receipt begins with."""
    desk = desk_of(request)
    big = len(content) > BIG_SHEET_BYTES
    check = desk.checker.check_alone if big else desk.checker.check
    sheet = Sheet(name, content, columns=columns)
    checked = await check(sheet)
    account = visitor_of(request).account
    if checked.missing and account is not None and not columns:
        before = await run_in_threadpool(kept_headings, tuple(account.columns.items()), sheet)
        checked = await check(replace(sheet, columns=before)) if before else checked
    if not checked.readable:
        rules = sorted({problem["rule"] for problem in checked.receipt["problems"]})
        desk.log(request, f"a sheet that can't be read: {', '.join(rules)}")
    content = content if checked.readable else b""  # nobody can send it: only its receipt is worth a place
    kept = replace(as_kept_sheet(name, checked, moment_text(desk.clock()), form), leaving=leaving)
    token = await run_in_threadpool(desk.kept_sheets.keep_check, kept, content, desk.clock())
    if token is None:
        raise too_much("Too many sheets wait here to be sent. Try again tomorrow, or ask the coordinator.")
    return to(f"/checked/{token}{'?said=' + said if said else ''}")


def as_kept_sheet(name: str, checked: CheckedSheet, made: str, form: dict[str, str] | None) -> KeptSheet:
    """A checked sheet as it is kept."""
    readings = [list(reading) for reading in checked.readings]
    return KeptSheet(name=name, made=made, form=form, **{**vars(checked), "readings": readings})


async def take_columns(request: Request) -> Response:
    """Checks a sheet again with the sender's answers to which own column is which; keeps them for their next sheet."""
    desk, visitor = desk_of(request), visitor_of(request)
    form = await read_form(request)
    kept, token = _kept_sheet(request)
    columns_asked = choosing(kept.missing)
    answers = {one.name: field(form, f"column_{one.name}") for one in columns_asked}
    units = {one.name: field(form, f"unit_{one.name}") for one in columns_asked}
    chosen = {
        own: f"{one.name} ({units[one.name]})" if units[one.name] in one.units else one.name
        for one in columns_asked
        if (own := answers[one.name]) in kept.own_columns
    }
    if not chosen:
        raise RefusedError(400, "No column was chosen", "Go back and choose one of your columns.")
    if len(chosen) < sum(own in kept.own_columns for own in answers.values()):
        raise RefusedError(
            400,
            "One of your columns was chosen twice",
            "Each of your columns can stand for one column only. Go back and choose again.",
        )
    may_check(desk, visitor)
    columns = {**kept.columns, **chosen}
    if visitor.code is not None:
        await run_in_threadpool(desk.accounts.keep_columns, visitor.code, columns)
    content = await run_in_threadpool(desk.kept_sheets.content, token)
    return await check_and_keep(request, kept.name, content, kept.form, tuple(columns.items()))


async def checked_page(request: Request) -> Response:
    """The receipt behind a link, with the way to send the sheet."""
    kept, token = _kept_sheet(request)
    visitor = visitor_of(request)
    would = await _replacing(desk_of(request), kept, token, visitor)
    told_first = SAID.get(request.query_params.get("said", ""), "")
    return page(
        request,
        "receipt.html",
        **receipt_values(kept, visitor, would, told_first),
        token=token,
        hours=int(LINK_LIVES.total_seconds() // 3600),
    )


async def _replacing(desk: Desk, kept: KeptSheet, token: str, visitor: Visitor) -> Replacing:
    """What sending a sheet of the form would do to its member's earlier pours; nothing where it can't be sent."""
    if kept.form is None or not_sent_because(kept, visitor) is not None or visitor.code is None:
        return Replacing()
    content = await run_in_threadpool(desk.kept_sheets.content, token)
    return await run_in_threadpool(of_kept_sheet, desk, kept, content, owner_of(kept, visitor))


def owner_of(kept: KeptSheet, visitor: Visitor) -> str:
    """Whose sheet it is: a coordinator sends it for the one member it names."""
    own = visitor.code or ""
    return kept.members[0] if visitor.is_coordinator and len(kept.members) == 1 else own


async def checked_sheet(request: Request) -> Response:
    """The bytes of a sheet that the form made, as a file."""
    kept, token = _kept_sheet(request)
    if kept.form is None:
        raise NotHereError()
    content = await run_in_threadpool(desk_of(request).kept_sheets.content, token)
    return Response(
        content,
        media_type="text/csv; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="my_tests.csv"'},
    )


async def send_checked(request: Request) -> Response:
    """Leaves the checked sheet in the inbox, and keeps its receipt for its owner."""
    visitor = signed_in(request)
    form = await read_form(request)
    kept, token = _kept_sheet(request)
    desk = desk_of(request)
    code = visitor.code or ""
    held_whole = not_sent_because(kept, visitor)
    if held_whole is not None:
        raise RefusedError(
            403,
            "This sheet was held whole",
            held_whole,
            f"{code} sent a sheet with codes {', '.join(kept.foreign_to(code))[:200]}",
        )
    if not kept.receipt["accepted"]:
        raise RefusedError(
            409,
            "There is nothing to send yet",
            "No row of this sheet can be taken as it is. Mend it and check it again.",
        )
    if token in desk.being_sent:
        raise NotHereError()
    desk.being_sent.add(token)
    try:
        first = await _asked_first(request, kept, token, field(form, "agreed"))
        if first is not None:
            return first
        owner = plain_owner(owner_of(kept, visitor), code)
        sent = await run_in_threadpool(_send, desk, kept, token, owner, code)
    finally:
        desk.being_sent.discard(token)
    desk.log(request, f"sheet sent by {code}: {sent.number}")
    return to(f"/receipts/{sent.number}")


async def _asked_first(request: Request, kept: KeptSheet, token: str, agreed: str) -> Response | None:
    """Back to the receipt of a form's sheet where other pots were sent meanwhile, or where it would replace pours that
    its sender was not asked about; None where it can be sent. `agreed`: what the sender agreed to replace."""
    desk, visitor = desk_of(request), visitor_of(request)
    if kept.form is None:
        return None
    content = await run_in_threadpool(desk.kept_sheets.content, token)
    anew, leaving = await run_in_threadpool(form_sheet, desk, visitor, kept.form)
    if anew != content:
        desk.kept_sheets.drop_check(token)
        return await check_and_keep(request, kept.name, anew, kept.form, leaving=leaving, said="pots")
    if kept.whole_series and kept.receipt["held"]:
        raise RefusedError(
            409,
            "Mend the held pours first",
            "A mix, pot or pour was changed, so this sheet takes the place of the whole series: a held pour would be lost. Change what you typed, then send it. Nothing was changed.",
        )
    would = await _replacing(desk, kept, token, visitor)
    return None if would.question in ("", agreed) else to(f"/checked/{token}?said=asked#send")


def _send(desk: Desk, kept: KeptSheet, token: str, owner: str, by: str) -> KeptSheet:
    """Into the inbox first: from there on the sheet can't be lost."""
    at = desk.clock()
    content = desk.kept_sheets.content(token)
    leave_sheet(desk.pool, content, kept.name, by, at, desk.token(8), kept.columns, kept.whole_series)
    sent = desk.kept_sheets.keep_receipt(kept, owner, by, at)
    desk.kept_sheets.drop_check(token)
    return sent


def plain_owner(owner: str, otherwise: str) -> str:
    """A member's code as the name of a folder of receipts; the sender's where it is no plain code."""
    plain = " ".join(owner.split())
    return plain if re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9-]{1,31}", plain) else otherwise


async def receipt_page(request: Request) -> Response:
    """The receipt of a sheet that was sent, for its owner and the coordinator."""
    visitor = signed_in(request)
    kept = await run_in_threadpool(desk_of(request).kept_sheets.receipt, request.path_params["number"])
    if kept is None:
        raise NotHereError()
    if not visitor.may_see(kept.owner):
        raise NotHereError(f"{visitor.code} asked for another member's receipt")
    return page(request, "receipt.html", **receipt_values(kept, visitor), token="", hours=0)


def _kept_sheet(request: Request) -> tuple[KeptSheet, str]:
    token = request.path_params["token"]
    desk = desk_of(request)
    kept = desk.kept_sheets.check(token, desk.clock())
    if kept is None:
        raise NotHereError()
    return kept, token


ADDRESSES = (
    DeskPage("/send", send_page, ANYONE, label="Send a sheet"),
    DeskPage("/checked/{token}", checked_page, ANYONE, reached_by="the answer to a sheet sent"),
    DeskPage("/checked/{token}/sheet.csv", checked_sheet, ANYONE),
    DeskPage("/receipts/{number}", receipt_page, MEMBERS),
    DeskForm("/send", take_sheet, ANYONE),
    DeskForm("/checked/{token}/columns", take_columns, ANYONE),
    DeskForm("/checked/{token}/send", send_checked, MEMBERS),
)
