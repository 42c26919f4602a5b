"""Run sheets as files: named on the command line, in a folder or in the inbox; read in a fixed order."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from schemas.column import OwnHeadings

SHEET_ENDINGS = frozenset({".csv", ".tsv", ".txt", ".xlsx"})
RECEIPT_ENDING = ".receipt.txt"
INBOX = "inbox"
MOMENT_ENDING = ".received"
REQUEST_ENDING = ".request.json"
BATCH_FILES = 500
BATCH_BYTES = 32_000_000


@dataclass(frozen=True)
class Sheet:
    """One file: its name as typed, and either its bytes or a sentence that says why there are none. `columns`: what
    its member said of own headings. `whole_series`: it takes the place of every run of the series that it names."""

    name: str
    content: bytes | None
    missing: str = ""
    columns: OwnHeadings = ()
    whole_series: bool = False


def named_sheets(typed: Sequence[str], columns: OwnHeadings = ()) -> Iterator[Sheet]:
    """Every file named, with what was said of own headings; a folder stands for the run sheets in it, by name. The
    order is the one typed. Each is read when its turn comes."""
    for sheet in _read_in_order(typed):
        yield replace(sheet, columns=columns)


def _read_in_order(typed: Sequence[str]) -> Iterator[Sheet]:
    for one in typed:
        path = Path(one)
        if not path.is_dir():
            yield read_sheet(path, one)
            continue
        inside = sheets_in(path)
        if not inside:
            yield Sheet(one, None, "there is no run sheet (.csv, .tsv, .txt, .xlsx) in this folder")
        for sheet in inside:
            yield read_sheet(sheet, str(sheet))


def is_sheet_name(path: Path) -> bool:
    """Whether a file in a folder looks like a run sheet; lock files, hidden files and receipts do not."""
    if path.name.startswith((".", "~$")) or path.name.lower().endswith(RECEIPT_ENDING):
        return False
    return path.suffix.lower() in SHEET_ENDINGS


def moment_file(path: Path) -> Path:
    """Where the moment of a sheet in the inbox is written."""
    return path.with_name(path.name + MOMENT_ENDING)


def is_request(name: str) -> bool:
    """Whether a file name is that of a request from the desk."""
    return name.endswith(REQUEST_ENDING)


def sheets_in(folder: Path) -> list[Path]:
    """The run sheets lying in a folder, by name; folders inside it are not looked into."""
    return sorted(path for path in folder.iterdir() if path.is_file() and is_sheet_name(path))


def read_sheet(path: Path, name: str) -> Sheet:
    """The bytes of one file, or the reason why they can't be had. Bytes of a name that are no text are shown as �."""
    name = os.fsencode(name).decode("utf-8", "replace")
    try:
        return Sheet(name, path.read_bytes())
    except FileNotFoundError:
        return Sheet(name, None, "there is no such file")
    except OSError as error:
        return Sheet(name, None, f"the computer could not open it ({error.strerror or 'no reason given'})")


def batches(sheets: Iterable[Sheet]) -> Iterator[list[Sheet]]:
    """The sheets in their order, in batches that fit in memory together."""
    batch: list[Sheet] = []
    size = 0
    for sheet in sheets:
        batch.append(sheet)
        size += len(sheet.content or b"")
        if len(batch) >= BATCH_FILES or size >= BATCH_BYTES:
            yield batch
            batch, size = [], 0
    if batch:
        yield batch
