"""Intake and check for a batch of files. Touches no pool, so that `check` starts without the store's library."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from pipeline.check.steps import Checked, check_sheets, together
from pipeline.intake.steps import ReceivedFile, Sheets, read_by_kind
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings, read_settings, settings_from
from schemas.column import OwnHeadings
from schemas.kinds.registry import KINDS

SETTINGS_FILE = "settings.toml"


@dataclass(frozen=True)
class CheckedBatch:
    """Sheets, the settings and the day they were checked with, and what the check found. Can be pickled, so that
    the check may run in another process; `sheets` has those that could not be opened too."""

    sheets: tuple[Sheet, ...]
    settings: Settings
    day: date
    checked: Checked


def now() -> datetime:
    """The present moment, UTC, in whole seconds."""
    return datetime.now(UTC).replace(microsecond=0)


def pool_settings(pool: Path | None) -> Settings:
    """The settings of a pool; the defaults where there is no pool or it has no settings file."""
    return Settings() if pool is None else read_settings(pool / SETTINGS_FILE)


def check_batch(sheets: Sequence[Sheet], settings: Settings, today: date) -> Checked:
    """Reads and checks the sheets that could be opened; `file_id` is the position among those."""
    return check_read(read_by_kind(received_files(sheets), tuple(KINDS.values())), settings, today)


def received_files(sheets: Sequence[Sheet]) -> list[ReceivedFile]:
    """The sheets that could be opened, as intake takes them."""
    return [
        ReceivedFile(sheet.name, sheet.content, sheet.columns)
        for sheet in sheets
        if sheet.content is not None
    ]


def check_read(read: Sequence[Sheets], settings: Settings, today: date) -> Checked:
    """Checks what intake has read, each kind of sheet by its own rules."""
    return together(
        [
            check_sheets(one.files, one.cells, one.typed, one.problems, one.kind, settings, today)
            for one in read
        ]
    )


def check_for_loading(sheets: Sequence[Sheet], settings: Settings, day: date) -> CheckedBatch:
    """Checks sheets to be loaded afterwards. Pure: no disk, no clock, no pool; takes and gives what can be pickled."""
    return CheckedBatch(tuple(sheets), settings, day, check_batch(sheets, settings, day))


def recheck(named: Sequence[tuple[str, bytes, OwnHeadings]], day: date, values: Mapping[str, Any]) -> Checked:
    """Archived files checked again as on the day of their first check, with the settings of that day."""
    sheets = [Sheet(name, content, columns=columns) for name, content, columns in named]
    return check_batch(sheets, settings_from(values, "the journal"), day)
