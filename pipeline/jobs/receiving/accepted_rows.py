"""The accepted rows of run sheets that are not in the pool yet: just checked, or waiting in the inbox."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.errors import DrainpoolError
from pipeline.intake.steps import read_by_kind
from pipeline.jobs.receiving.checking import check_read, pool_settings, received_files
from pipeline.jobs.receiving.inbox import read_beside
from pipeline.jobs.receiving.sheets import INBOX, Sheet, read_sheet, sheets_in
from schemas.kinds.run import RUN
from schemas.trade.labels import same_label

LEFT_BY_THE_DESK = re.compile(r"[0-9]{8}T[0-9]{12}Z-")


def accepted_rows(pool: Path, sheets: Sequence[Sheet], today: date) -> pl.DataFrame:
    """The rows that would count if these run sheets were loaded, by kept column, in the order of the sheets."""
    checked = check_read(read_by_kind(received_files(sheets), (RUN,)), pool_settings(pool), today)
    return checked.accepted.sort("file_id", "sheet_row").select(RUN.kept_names)


def names_sent_by(pool: Path, senders: Collection[str]) -> tuple[str, ...]:
    """Names of the run sheets in the inbox that these accounts sent at the desk, oldest first."""
    folder = pool / INBOX
    if not folder.is_dir():
        return ()
    return tuple(
        path.name
        for path in sheets_in(folder)
        if LEFT_BY_THE_DESK.match(path.name) and _is_sent_by(path, senders)
    )


def _is_sent_by(path: Path, senders: Collection[str]) -> bool:
    try:
        by = read_beside(path).by
    except DrainpoolError:  # the month names a broken neighbour; here the sheet is passed over
        return False
    return any(same_label(by, sender) for sender in senders)


def sheets_waiting(pool: Path, names: Sequence[str]) -> list[Sheet]:
    """These sheets of the inbox, with what their senders said of own headings; those that left meanwhile are not there."""
    folder = pool / INBOX
    sheets = [
        replace(read_sheet(folder / name, name), columns=read_beside(folder / name).columns) for name in names
    ]
    return [sheet for sheet in sheets if sheet.content is not None]
