"""What each cell was read as, told back to the sender of a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.check.readings import readings_by_file
from pipeline.check.steps import Checked
from pipeline.intake.steps import read_by_kind
from pipeline.jobs.receiving.checking import check_read, received_files
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings
from schemas.kinds.registry import KINDS


@dataclass(frozen=True)
class Reading:
    """One way in which a column's cells were typed, and what was understood, in a person's units."""

    column: str
    typed: str
    read: str


def check_and_read_back(
    sheets: Sequence[Sheet], settings: Settings, today: date
) -> tuple[Checked, dict[int, list[Reading]]]:
    """Checks sheets as `check` does, and says besides how the cells of accepted rows were read, by file_id."""
    checked = check_read(read_by_kind(received_files(sheets), tuple(KINDS.values())), settings, today)
    return checked, {
        file_id: [
            Reading(column["column"], form["typed"], form["read"])
            for column in columns
            for form in column["forms"]
        ]
        for file_id, columns in readings_by_file(checked.readings).items()
    }
