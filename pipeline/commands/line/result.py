"""What a command returns to `cli.py`: an exit code and what goes to standard output."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

Say = Callable[[str], None]
"""Takes one line of progress for standard error."""

DONE = 0
SOME_ROW_HELD = 1
FILE_UNREADABLE = 2


@dataclass(frozen=True)
class CommandResult:
    """The result of a command: text or raw bytes for standard output, and the exit code of the contract."""

    exit_code: int
    result: str | bytes = ""
