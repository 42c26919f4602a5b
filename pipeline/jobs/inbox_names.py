"""What the inbox's files are called: sheets, the moment beside a sheet, requests."""

from __future__ import annotations

from pathlib import Path

INBOX = "inbox"
MOMENT_ENDING = ".received"
REQUEST_ENDING = ".request.json"


def moment_file(path: Path) -> Path:
    """Where the moment of a sheet in the inbox is written."""
    return path.with_name(path.name + MOMENT_ENDING)
