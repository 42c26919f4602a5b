"""Files opened one by one: each becomes a table, or a sentence that says why it can't be read as a run sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from pipeline.intake.decode import decode
from pipeline.intake.received import LARGEST_FILE_BYTES, Finding, ReceivedFile, UnreadableError
from pipeline.intake.table import TextTable, find_table
from pipeline.intake.workbook import SIGNATURE, read_workbook


@dataclass
class Batch:
    """Files opened: tables by file_id, which of them are workbooks, and what was found."""

    tables: dict[int, TextTable] = field(default_factory=dict)
    workbooks: list[int] = field(default_factory=list)
    found: list[tuple[int, Finding]] = field(default_factory=list)

    def refuse(self, file_id: int, finding: Finding) -> None:
        """Sets a file aside as unreadable; nothing else is said about it."""
        self.tables.pop(file_id, None)
        self.found = [(one, said) for one, said in self.found if one != file_id]
        self.found.append((file_id, finding))


def open_all(files: Sequence[ReceivedFile]) -> Batch:
    """Every file opened, by its position; one that can't be read never stops the others."""
    batch = Batch()
    for file_id, file in enumerate(files):
        try:
            batch.tables[file_id] = _open(file_id, file.content, batch)
        except UnreadableError as refused:
            batch.refuse(file_id, refused.finding)
        except Exception:
            batch.refuse(file_id, Finding("file_not_read", {}))
    return batch


def _open(file_id: int, content: bytes, batch: Batch) -> TextTable:
    if len(content) > LARGEST_FILE_BYTES:
        size, limit = f"{len(content) / 1e6:.1f} MB", f"{LARGEST_FILE_BYTES / 1e6:.0f} MB"
        raise UnreadableError("file_too_large", size=size, limit=limit)
    if content.startswith(SIGNATURE):
        batch.workbooks.append(file_id)
        workbook = read_workbook(content)
        if workbook.passed_over:
            names = ", ".join(f"“{name}”" for name in workbook.passed_over)
            batch.found.append((file_id, Finding("sheets_passed_over", {"names": names})))
        return workbook
    decoded = decode(content)
    table = find_table(decoded.text)
    if decoded.guessed:
        batch.found.append((file_id, Finding("letters_guessed", {})))
    return table
