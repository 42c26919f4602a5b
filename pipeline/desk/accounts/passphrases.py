"""Passphrases: kept as argon2id hashes, and at most two checked at once, so that guessing can't fill the memory."""

from __future__ import annotations

import unicodedata
from functools import cache
from threading import BoundedSemaphore

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from schemas.trade.labels import label_key

SHORTEST, LONGEST = 10, 200
AT_ONCE = 2
MEMORY_KIB, PASSES, LANES = 32 * 1024, 3, 1
"""Cost of one check: 32 MiB and three passes, above the floor of 19 MiB and two passes in the OWASP Password Storage Cheat Sheet."""

_HASHER = PasswordHasher(time_cost=PASSES, memory_cost=MEMORY_KIB, parallelism=LANES)
_TURN = BoundedSemaphore(AT_ONCE)


def unfit(passphrase: str, code: str) -> str | None:
    """Why a passphrase can't be taken, in a sentence; None where it can."""
    if not SHORTEST <= len(passphrase) <= LONGEST:
        return f"A passphrase has {SHORTEST} to {LONGEST} characters; three or four odd words do well."
    if len(set(passphrase.casefold())) < 4 or label_key(code) == label_key(passphrase):
        return "That passphrase is too easy to guess. Three or four odd words do well."
    return None


def hashed(passphrase: str) -> str:
    """The hash to keep. Takes its turn among the checks."""
    with _TURN:
        return _HASHER.hash(_even(passphrase))


def fits(kept: str | None, passphrase: str) -> bool:
    """Whether a passphrase is the one whose hash was kept. Takes as long where nothing was kept."""
    if len(passphrase) > LONGEST:
        return False
    with _TURN:
        try:
            return _HASHER.verify(kept or _nobody(), _even(passphrase)) and kept is not None
        except (VerificationError, InvalidHashError):
            return False


@cache
def _nobody() -> str:
    """A hash that no passphrase is known for, so that an unknown code costs the same as a known one."""
    return _HASHER.hash("nobody signs in with this")


def _even(passphrase: str) -> bytes:
    """The same bytes from every keyboard: composed characters, no spaces around."""
    return unicodedata.normalize("NFC", passphrase.strip()).encode("utf-8", "surrogatepass")
