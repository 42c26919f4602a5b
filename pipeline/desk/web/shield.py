"""Around every answer: strict headers, and a measure on what is read, counted while it streams in."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pipeline.desk.web.refusals import RefusedError, too_much

SHEET_BYTES = 20_000_000
SHEET_ROWS = 200_000
LINES_AROUND_ROWS = 32
"""Lines of a request that are no rows: a title and the heading, the form's other fields and boundaries."""
FORM_BYTES = 256 * 1024
AROUND_A_SHEET = 64 * 1024
"""Room for the form's other fields and the boundaries around a sheet."""
READ_AND_DROPPED_BYTES = 64_000_000
"""How much of a request beyond its measure is still read, so that a browser hears the answer."""

SHEET_PATHS = frozenset({"/send"})

PAGE_POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": PAGE_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "cache-control": "no-store",
}
ONE_YEAR_S = 31_536_000


class Shield:
    """Wraps the application: `Measured` reading, headers on every answer."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                if scope["scheme"] == "https":
                    headers.setdefault("strict-transport-security", f"max-age={ONE_YEAR_S}")
            await send(message)

        await self.app(scope, Measured(receive, scope["path"] in SHEET_PATHS), with_headers)


def has_too_many_rows(content: bytes) -> bool:
    """Whether a sheet of text has more lines than its heading and the rows allowed; a workbook's rows are counted when
    it is read."""
    lines = max(content.count(b"\n"), content.count(b"\r")) + (not content.endswith((b"\n", b"\r")))
    return not content.startswith(b"PK") and lines > SHEET_ROWS + 1


def too_many_rows() -> RefusedError:
    """A sheet beyond the rows that are checked at once."""
    return too_much(f"A sheet has at most {SHEET_ROWS:,} rows here. Send it in parts.".replace(",", " "))


class Measured:
    """A request's body, counted in bytes (and, for a sheet, in lines) as it comes in. Raises `too_much`
    when the measure is passed, after reading on for a while without keeping anything."""

    def __init__(self, receive: Receive, is_sheet: bool) -> None:
        self.receive, self.is_sheet = receive, is_sheet
        self.most = SHEET_BYTES + AROUND_A_SHEET if is_sheet else FORM_BYTES
        self.bytes = self.line_feeds = self.returns = 0

    async def __call__(self) -> Message:
        """The next piece of the body."""
        message = await self.receive()
        if message["type"] != "http.request":
            return message
        body = message.get("body", b"")
        self.bytes += len(body)
        if self.is_sheet:
            self.line_feeds += body.count(b"\n")
            self.returns += body.count(b"\r")
        if self.bytes > self.most:
            await self._drop_the_rest(message)
            raise too_much(self._words())
        if max(self.line_feeds, self.returns) > SHEET_ROWS + LINES_AROUND_ROWS:
            await self._drop_the_rest(message)
            raise too_many_rows()
        return message

    def _words(self) -> str:
        if self.is_sheet:
            return f"A sheet has at most {SHEET_BYTES // 1_000_000} MB here. Send it in parts."
        return "A form of this size can’t be read."

    async def _drop_the_rest(self, message: Message) -> None:
        while (
            message["type"] == "http.request"
            and message.get("more_body")
            and self.bytes < READ_AND_DROPPED_BYTES
        ):
            message = await self.receive()
            self.bytes += len(message.get("body", b""))
