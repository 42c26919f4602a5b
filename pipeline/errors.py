"""The ways a command can end without doing its job, each with words for the person who typed it."""

from __future__ import annotations


class DrainpoolError(Exception):
    """Something could not be done; nothing was half done. Exit code 3. The text says what stopped,
    what is safe, and what to type next."""

    exit_code = 3


class OlderPoolError(DrainpoolError):
    """A pool of an older version is only read, and reading brings nothing up. A command that writes does."""


class WrongUseError(DrainpoolError):
    """The command was typed in a way that can't be carried out. Exit code 64."""

    exit_code = 64
