"""Files opened one by one: each becomes a table, or a sentence that says why it can't be read as a run sheet."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from functools import partial

from pipeline.intake.files.decode import decode
from pipeline.intake.files.table import TextTable, find_table
from pipeline.intake.files.workbook import SIGNATURE, read_workbook
from pipeline.intake.received import LARGEST_FILE_BYTES, Finding, ReceivedFile, UnreadableError
from schemas.kinds.kind import SheetKind

MOST_ROWS_NAMED = 10


@dataclass
class Batch:
    """Files opened: tables by file_id, which kind each is read as, which of them are workbooks, and what was found."""

    tables: dict[int, TextTable] = field(default_factory=dict)
    kinds: dict[int, SheetKind] = field(default_factory=dict)
    workbooks: list[int] = field(default_factory=list)
    found: list[tuple[int, Finding]] = field(default_factory=list)

    def refuse(self, file_id: int, finding: Finding) -> None:
        """Sets a file aside as unreadable; nothing else is said about it."""
        self.tables.pop(file_id, None)
        self.found = [(one, said) for one, said in self.found if one != file_id]
        self.found.append((file_id, finding))

    def files_with(self, rule: str) -> frozenset[int]:
        """The files that a rule has something to say about."""
        return frozenset(file_id for file_id, finding in self.found if finding.rule == rule)

    def drop(self, rule: str, file_ids: Collection[int]) -> None:
        """Takes back what a rule says of these files, where another says it better."""
        self.found = [(one, said) for one, said in self.found if said.rule != rule or one not in file_ids]

    def only(self, file_ids: Collection[int]) -> Batch:
        """The same of these files alone."""
        return Batch(
            {file_id: table for file_id, table in self.tables.items() if file_id in file_ids},
            {file_id: kind for file_id, kind in self.kinds.items() if file_id in file_ids},
            [file_id for file_id in self.workbooks if file_id in file_ids],
            [(file_id, finding) for file_id, finding in self.found if file_id in file_ids],
        )


def open_all(files: Sequence[ReceivedFile], kinds: Sequence[SheetKind]) -> Batch:
    """Every file opened, by its position, as the kind that its headings fit best, the first of `kinds` where two
    fit alike or none fits; one that can't be read never stops the others."""
    batch = Batch()
    for file_id, file in enumerate(files):
        try:
            batch.tables[file_id] = _open(file_id, file, batch, kinds)
        except UnreadableError as refused:
            batch.refuse(file_id, refused.finding)
        except Exception:
            batch.refuse(file_id, Finding("file_not_read", {}))
    return batch


def _open(file_id: int, file: ReceivedFile, batch: Batch, kinds: Sequence[SheetKind]) -> TextTable:
    content = file.content
    if len(content) > LARGEST_FILE_BYTES:
        size, limit = f"{len(content) / 1e6:.1f} MB", f"{LARGEST_FILE_BYTES / 1e6:.0f} MB"
        raise UnreadableError("file_too_large", size=size, limit=limit)
    if content.startswith(SIGNATURE):
        batch.workbooks.append(file_id)
        workbook, batch.kinds[file_id] = _best_fitting(
            kinds, partial(read_workbook, content, own=file.columns)
        )
        if workbook.passed_over:
            names = ", ".join(f"“{name}”" for name in workbook.passed_over)
            batch.found.append((file_id, Finding("sheets_passed_over", {"names": names})))
        hidden = [row for row in workbook.hidden if row > workbook.heading_row]
        if hidden:
            batch.found.append((file_id, Finding("rows_hidden", {"rows": _rows_in_words(hidden)})))
        if workbook.merged:
            batch.found.append((file_id, Finding("cells_merged", {"cells": _some(workbook.merged)})))
        return workbook
    decoded = decode(content)
    table, batch.kinds[file_id] = _best_fitting(kinds, partial(find_table, decoded.text, own=file.columns))
    if decoded.guessed:
        batch.found.append((file_id, Finding("letters_guessed", {})))
    return table


def _some(cells: Sequence[str]) -> str:
    """`B2:B4, C2:C4`; of more than ten the first, and how many there are."""
    named = ", ".join(cells[:MOST_ROWS_NAMED])
    return named if len(cells) <= MOST_ROWS_NAMED else f"{named} … ({len(cells)} in all)"


def _rows_in_words(rows: Sequence[int]) -> str:
    """`Row 4 is`, `Rows 4, 5 and 8 are`; of more than ten, how many."""
    if len(rows) == 1:
        return f"Row {rows[0]} is"
    if len(rows) > MOST_ROWS_NAMED:
        return f"{len(rows)} rows, the first of them row {rows[0]}, are"
    return f"Rows {', '.join(map(str, rows[:-1]))} and {rows[-1]} are"


def _best_fitting(
    kinds: Sequence[SheetKind], read: Callable[[SheetKind], TextTable]
) -> tuple[TextTable, SheetKind]:
    """The table read as the kind that its headings fit best, and that kind: a whole heading line before one that
    lacks columns, then the one with most columns known. Raises what the first kind raised where none fits."""
    tables: list[tuple[TextTable, SheetKind]] = []
    refused: UnreadableError | None = None
    for kind in kinds:
        try:
            tables.append((read(kind), kind))
        except UnreadableError as error:
            refused = refused or error
    if refused is not None and not tables:
        raise refused
    return max(tables, key=lambda table: (table[0].headings.complete, len(table[0].headings.positions)))
