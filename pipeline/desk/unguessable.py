"""Words that nobody can guess: for links, seats, secrets and file names."""

from __future__ import annotations

import secrets
import string

LETTERS = string.ascii_letters + string.digits


def word(length: int) -> str:
    """A word of letters and digits; 24 of them hold 142 bits."""
    return "".join(secrets.choice(LETTERS) for _ in range(length))
