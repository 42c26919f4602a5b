"""Receipts of many files gathered into one result, as text or as JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pipeline.check.receipt import as_json_value, as_text
from pipeline.check.steps import Checked
from pipeline.check.wording import shown
from pipeline.commands.line.result import CommandResult
from pipeline.jobs.receiving.sheets import Sheet
from schemas.rules import rule

NOT_OPENED = "not_opened"


@dataclass
class Receipts:
    """The receipts of the files checked so far, as text and as JSON values."""

    texts: list[str] = field(default_factory=list)
    files: list[Mapping[str, Any]] = field(default_factory=list)
    missing: int = 0

    def add(
        self,
        checked: Checked,
        notes: Mapping[int, Sequence[str]],
        extra: Mapping[int, Mapping[str, Any]],
        pool: Mapping[int, Sequence[str]],
        refused: Mapping[int, str] | None = None,
    ) -> None:
        """A checked batch: per file, lines for its text, keys for its JSON value, what the pool has of it, and why
        it was refused."""
        if checked.files.height:
            self.texts.append(as_text(checked, notes, refused))
            self.files += as_json_value(checked, extra, pool)["files"]

    def add_missing(self, sheets: Sequence[Sheet]) -> None:
        """The files of a batch that could not be opened at all."""
        for sheet in sheets:
            if sheet.content is None:
                self.missing += 1
                value = _missing_value(sheet)
                problem = value["problems"][0]
                self.texts.append(f"{shown(sheet.name)}: {problem['message']} {problem['fix']}\n")
                self.files.append(value)


def receipts_result(receipts: Receipts, exit_code: int, form: str) -> CommandResult:
    """All receipts as the result of `check` and `load`."""
    if form == "json":
        return CommandResult(exit_code, json.dumps({"files": receipts.files}, indent=1) + "\n")
    return CommandResult(exit_code, "\n".join(receipts.texts))


def _missing_value(sheet: Sheet) -> dict[str, Any]:
    broken = rule(NOT_OPENED)
    message, fix = broken.worded(None, None, {"why": sheet.missing})
    problem = {
        "row": None,
        "column": None,
        "value": None,
        "rule": broken.id,
        "level": broken.level,
        "message": message,
        "fix": fix,
    }
    return {"file": sheet.name, "rows": 0, "accepted": 0, "held": 0, "problems": [problem]}
