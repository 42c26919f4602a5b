"""Random URL-safe tokens, and signed values that a browser carries: session cookies and CSRF tokens.

Signatures are HMAC-SHA-256 under the accounts file's secret. Each use has its own purpose in the signed text, so
that a value signed for one use is refused in another.
"""

from __future__ import annotations

import hmac
import secrets
import string
from datetime import UTC, datetime
from hashlib import sha256

SIGNATURE_LENGTH = 64
LETTERS = string.ascii_letters + string.digits


def random_token(length: int) -> str:
    """A random URL-safe token of letters and digits; 24 of them hold 142 bits."""
    return "".join(secrets.choice(LETTERS) for _ in range(length))


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


def csrf_token(secret: str, anonymous_session: str, session: int | None) -> str:
    """The CSRF token of a form, made from the browser's anonymous session and the session signed in."""
    return signature(secret, "form", f"{anonymous_session}\n{session}")


def same(given: str, expected: str) -> bool:
    """Whether two texts are the same, in a time that does not tell how much of them is."""
    return hmac.compare_digest(given.encode("utf-8", "surrogatepass"), expected.encode())
