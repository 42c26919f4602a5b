"""Gathered receipts as the result of `check` and `load`."""

from __future__ import annotations

import json

from pipeline.commands.line.result import CommandResult
from pipeline.jobs.receiving.receipts import Receipts


def receipts_result(receipts: Receipts, exit_code: int, form: str) -> CommandResult:
    """All receipts as JSON or text."""
    if form == "json":
        return CommandResult(exit_code, json.dumps({"files": receipts.files}, indent=1) + "\n")
    return CommandResult(exit_code, "\n".join(receipts.texts))
