"""Values that travel through a browser and come back unchanged or not at all: session cookies, form marks.

Signed with HMAC-SHA-256 under the accounts file's secret; each use of the secret has its own purpose word, so
that a mark made for one can't stand for another.
"""

from __future__ import annotations

import hmac
from datetime import UTC, datetime
from hashlib import sha256

SIGNATURE_LENGTH = 64


def signature(secret: str, purpose: str, text: str) -> str:
    """The signature of a text for one purpose, 64 hex digits."""
    return hmac.new(secret.encode(), f"{purpose}\n{text}".encode(), sha256).hexdigest()


def session_value(secret: str, number: int, until: datetime) -> str:
    """The cookie of a session: its number, the second at which it ends, and the signature."""
    text = f"{number}.{int(until.timestamp())}"
    return f"{text}.{signature(secret, 'session', text)}"


def session_number(secret: str, value: str, at: datetime) -> int | None:
    """The number of the session that a cookie names; None where it was not made here or has ended."""
    text, _, given = value.rpartition(".")
    if not same(given, signature(secret, "session", text)):
        return None
    number, _, until = text.partition(".")
    ends = datetime.fromtimestamp(int(until), UTC)
    return int(number) if at < ends else None


def form_mark(secret: str, seat: str, session: int | None) -> str:
    """The mark that a form carries: made from the browser's own seat cookie and the session signed in."""
    return signature(secret, "form", f"{seat}\n{session}")


def same(given: str, expected: str) -> bool:
    """Whether two texts are the same, in a time that does not tell how much of them is."""
    return hmac.compare_digest(given.encode("utf-8", "surrogatepass"), expected.encode())
