"""Text with quotation marks, split into records as spreadsheets write them, or refused where a quote stays open."""

from __future__ import annotations

import csv
import io
import re

from pipeline.intake.received import UnreadableError


def read_records(text: str, separator: str) -> list[list[str]]:
    """Every record of the text, blank ones included; a line break between quotes is part of its cell.
    Raises UnreadableError where a quotation mark opens a cell and none closes it."""
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error:
        return _one_by_one(text, separator)


def _one_by_one(text: str, separator: str) -> list[list[str]]:
    """Records by a slower reading that bears with quotation marks that are only text, such as `"4" pot`: such a
    cell is taken as it stands, where its quotation marks come in pairs."""
    mark = re.escape(separator)
    cell = re.compile(rf'"((?:[^"]|"")*+)"(?={mark}|\r|\n|\Z)|([^{mark}\r\n]*)')
    end = re.compile(rf"({mark})|\r\n|\r|\n|\Z")
    records: list[list[str]] = []
    record: list[str] = []
    at = 0
    while True:
        found = cell.match(text, at)
        closing = end.match(text, found.end()) if found else None
        if found is None or closing is None:
            raise UnreadableError("quote_open", row=str(len(records) + 1))
        quoted, bare = found.groups()
        if bare is not None and bare.startswith('"') and bare.count('"') % 2:
            raise UnreadableError("quote_open", row=str(len(records) + 1))
        record.append(quoted.replace('""', '"') if quoted is not None else bare)
        at = closing.end()
        if closing.group(1) is None:
            records.append(record)
            record = []
            if at >= len(text):
                return records
