"""Intake in order: bytes → text → table → cells → what each file settles → values, with every problem on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from hashlib import sha256

import polars as pl

from pipeline.intake.files.opening import Batch, open_all
from pipeline.intake.received import Finding, ReceivedFile, Sheets, problem_frame
from pipeline.intake.rows.gather import gather
from pipeline.intake.rows.misplaced import misplaced_rows, without_totals
from pipeline.intake.rows.settle import Settled, settle, settled_findings
from pipeline.intake.rows.shape import KEYS, heading_findings, ragged_rows, whole_rows, without
from pipeline.intake.rows.split_numbers import split_numbers
from pipeline.intake.rows.typed import on_all_rows, typed_frame
from schemas.kinds.kind import SheetKind
from schemas.problems import PROBLEM_SCHEMA

__all__ = ["ReceivedFile", "Sheets", "read_by_kind", "read_sheets"]


def read_by_kind(files: Sequence[ReceivedFile], kinds: Sequence[SheetKind]) -> list[Sheets]:
    """A batch of files read, each as the kind that its headings fit best: one `Sheets` per kind that came, in the
    order of `kinds`, the first always. A file that can't be read counts as the first kind and never stops the
    others. `file_id` is the position in the batch."""
    batch = open_all(files, kinds)
    read = []
    for kind in kinds:
        ids = {at for at in range(len(files)) if batch.kinds.get(at, kinds[0]) is kind}
        if ids or kind is kinds[0]:
            read.append(_read(files, batch.only(ids), sorted(ids), kind))
    return read


def read_sheets(files: Sequence[ReceivedFile], kind: SheetKind) -> Sheets:
    """A batch of files read and converted as sheets of one kind; one that can't be read never stops the others."""
    return read_by_kind(files, (kind,))[0]


def _read(files: Sequence[ReceivedFile], batch: Batch, ids: Sequence[int], kind: SheetKind) -> Sheets:
    """The opened files of one kind, `ids` among all files, with all that was found in them."""
    gathered, totals = without_totals(gather(list(batch.tables.items())))
    batch.found.extend(totals)
    rows = _rows_by_file(gathered)
    for file_id in [file_id for file_id in batch.tables if file_id not in rows]:
        batch.refuse(file_id, Finding("no_rows", {}))
    batch.found.extend(heading_findings(batch.tables, gathered))

    cells = gathered.select(*KEYS, *(name for name in kind.by_name if name in gathered.columns))
    misplaced = misplaced_rows(gathered, batch.tables, kind)
    ragged = ragged_rows(without(gathered, misplaced), batch.tables)
    split = split_numbers(without(gathered, pl.concat([misplaced, ragged])), batch.tables, kind)
    untrusted = pl.concat([misplaced, ragged, split])
    whole = whole_rows(cells, batch.tables, untrusted)
    trusted = cells if whole.all() else cells.filter(whole)

    headings = {file_id: table.headings for file_id, table in batch.tables.items() if table.headings.complete}
    settled = replace(
        settle(trusted, batch.workbooks, headings, kind), letters_guessed=batch.files_with("letters_guessed")
    )
    typed, problems, said_once = typed_frame(trusted, headings, settled, kind)
    batch.found.extend([*settled_findings(settled), *said_once])
    batch.drop("letters_guessed", _files_with(problems, "code_letters_guessed"))
    return Sheets(
        kind=kind,
        files=_files_frame({file_id: files[file_id] for file_id in ids}, batch, rows, settled),
        cells=cells,
        typed=on_all_rows(typed, cells),
        problems=_in_order([problem_frame(batch.found), untrusted, *problems]),
    )


def _files_with(problems: Sequence[pl.DataFrame], rule: str) -> set[int]:
    """The files that a rule has something to say about."""
    return {
        file_id for frame in problems for file_id in frame.filter(pl.col("rule") == rule)["file_id"].unique()
    }


def _rows_by_file(gathered: pl.DataFrame) -> dict[int, int]:
    return dict(gathered.group_by("file_id").len().iter_rows())


def _files_frame(
    files: Mapping[int, ReceivedFile], batch: Batch, rows: Mapping[int, int], settled: Settled
) -> pl.DataFrame:
    """One line per file received, readable or not."""
    return pl.DataFrame(
        {
            "file_id": pl.Series(list(files), dtype=pl.UInt32),
            "file": pl.Series([file.name for file in files.values()], dtype=pl.String),
            "submission": pl.Series(
                [sha256(file.content).hexdigest() for file in files.values()], dtype=pl.String
            ),
            "rows": pl.Series([rows.get(file_id, 0) for file_id in files], dtype=pl.UInt32),
            "readable": pl.Series([file_id in batch.tables for file_id in files], dtype=pl.Boolean),
            "decimal_mark": pl.Series([settled.decimal_mark(file_id) for file_id in files], dtype=pl.String),
        }
    )


def _in_order(found: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """One problem frame by file and row, what is said of the whole file first, then by column of the sheet."""
    told = [frame.select(*PROBLEM_SCHEMA) for frame in found if frame.height]
    if not told:
        return pl.DataFrame(schema=PROBLEM_SCHEMA)
    return pl.concat(told).sort(KEYS, nulls_last=False, maintain_order=True)
