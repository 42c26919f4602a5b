"""Who makes a change: the name typed, or else the login name."""

from __future__ import annotations

import argparse
import getpass

from pipeline.errors import WrongUseError

LONGEST = 80
NOBODY_KNOWN = "unknown"


def by_whom(arguments: argparse.Namespace) -> str:
    """The name that the journal will carry. WrongUseError where the typed one is blank or too long."""
    typed = arguments.by_whom
    if typed is None:
        try:
            return getpass.getuser()
        except (KeyError, OSError):
            return NOBODY_KNOWN
    name = " ".join(str(typed).split())
    if not 0 < len(name) <= LONGEST:
        raise WrongUseError(f"--by-whom needs a name of 1 to {LONGEST} characters.")
    return name


def reason(arguments: argparse.Namespace) -> str:
    """The reason typed, spaces evened out. WrongUseError where it is blank."""
    words = " ".join(str(arguments.reason or "").split())
    if not words:
        raise WrongUseError(
            "--reason needs some words; they are kept in the journal and shown with the change."
        )
    return words
