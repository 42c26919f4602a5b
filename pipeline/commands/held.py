"""`drainpool held`: which rows wait for a mended sheet, and why."""

from __future__ import annotations

import argparse
import json
from typing import Any

from pipeline.commands.line.result import DONE, CommandResult, Say


def held(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """What waits and why, by member; a mended sheet takes its rows off this list."""
    from pipeline.jobs.keeping.steps import waiting_by_member

    waiting = waiting_by_member(arguments.pool).to_dicts()
    if arguments.format == "json":
        return CommandResult(DONE, json.dumps({"held": waiting}, indent=1, default=str) + "\n")
    if not waiting:
        return CommandResult(DONE, "No row waits.\n")
    lines: list[str] = []
    member: Any = object()
    for row in waiting:
        if row["member"] != member:
            member = row["member"]
            lines += [*([""] if lines else []), member or "No member named"]
        lines.append(
            f"  {row['file']}, {_place(row)} (received {row['received']:%Y-%m-%d}): {row['message']}"
        )
    lines += ["", f"{_counted(waiting)} waiting for a mended sheet."]
    return CommandResult(DONE, "\n".join(lines) + "\n")


def _counted(waiting: list[dict[str, Any]]) -> str:
    """How many rows, and how many sheets that could not be read at all."""
    from reports.words import count, listed

    sheets = sum(row["sheet_row"] is None for row in waiting)
    rows = len(waiting) - sheets
    return listed(
        count(number, noun) for number, noun in ((rows, "row"), (sheets, "unreadable sheet")) if number
    )


def _place(row: dict[str, Any]) -> str:
    return "whole file" if row["sheet_row"] is None else f"row {row['sheet_row']}"
