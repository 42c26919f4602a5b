"""Writing small run sheets for the story tests, and reading what the tool says of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from schemas.receipt import FileReceipt, ReceiptProblem

TODAY = date(2026, 6, 1)

PLAIN: dict[str, str] = {
    "member": "fen-07",
    "series": "bench A",
    "tested_on": "2026-03-14",
    "climate_zone": "Cfb",
    "setup_type": "rack",
    "pot_volume": "1 l",
    "component": "perlite",
    "component_grade": "medium",
    "component_share": "40",
    "pot_no": "1",
    "pour_no": "1",
    "poured": "300 ml",
    "collected": "150 ml",
    "drain_time": "3:25",
    "start_moisture": "moist",
}
BASELINE: dict[str, str] = {**PLAIN, "component_share": "0", "drain_time": "5:10"}


@dataclass(frozen=True)
class Verdict:
    """What the tool made of one sheet."""

    file: FileReceipt
    accepted: pl.DataFrame

    @property
    def counts(self) -> tuple[int, int, int]:
        return self.file["rows"], self.file["accepted"], self.file["held"]

    def problems(
        self, level: str | None = None, row: int | None = None, column: str | None = None
    ) -> list[ReceiptProblem]:
        return [
            problem
            for problem in self.file["problems"]
            if (level is None or problem["level"] == level)
            and (row is None or problem["row"] == row)
            and (column is None or problem["column"] == column)
        ]


def sheet_text(
    rows: Iterable[Mapping[str, str]], separator: str = ",", headings: list[str] | None = None
) -> str:
    """A run sheet as text: headings from the first row's names unless given."""
    rows = list(rows)
    names = list(dict.fromkeys(name for row in rows for name in row))
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\r\n")
    writer.writerow(headings or names)
    for row in rows:
        writer.writerow([row.get(name, "") for name in names])
    return out.getvalue()


def check(content: bytes | str, name: str = "sheet.csv", today: date = TODAY) -> Verdict:
    """One sheet through intake and check, as `drainpool check --format json` would tell it."""
    from pipeline.check.receipt import as_json_value
    from pipeline.check.steps import check_sheets
    from pipeline.intake.steps import ReceivedFile, read_sheets
    from pipeline.settings import Settings
    from schemas.kinds.run import RUN

    raw = content.encode() if isinstance(content, str) else content
    sheets = read_sheets([ReceivedFile(name, raw)], RUN)
    checked = check_sheets(sheets.files, sheets.cells, sheets.typed, sheets.problems, RUN, Settings(), today)
    told = as_json_value(checked)["files"][0]
    assert told["rows"] == told["accepted"] + told["held"], "rows = accepted + held"
    assert told["accepted"] == checked.accepted.height
    return Verdict(told, checked.accepted)


def check_rows(*rows: Mapping[str, str], **options: Any) -> Verdict:
    """Rows written plainly, then checked."""
    return check(sheet_text(rows), **options)


def one(**changes: str) -> Verdict:
    """A baseline row (row 2) and one mix row with the changes (row 3), in a sheet that is otherwise right."""
    extra = {name: "" for name in changes if name not in PLAIN}
    return check_rows({**BASELINE, **extra}, {**PLAIN, **changes})
