"""`drainpool held`: which rows wait for a mended sheet, and why."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from pipeline.commands.line.result import DONE, CommandResult, Say

if TYPE_CHECKING:
    from pipeline.jobs.keeping.steps import WaitingRow


def held(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """What waits and why, by member; a mended sheet takes its rows off this list."""
    from pipeline.jobs.keeping.steps import waiting_by_member

    waiting = waiting_by_member(arguments.pool)
    if arguments.format == "json":
        return CommandResult(DONE, json.dumps({"held": waiting}, indent=1, default=str) + "\n")
    if not waiting:
        return CommandResult(DONE, "No row waits.\n")
    lines: list[str] = []
    members: list[str | None] = []
    for row in waiting:
        if row["member"] not in members:
            members.append(row["member"])
            lines += [*([""] if lines else []), row["member"] or "No member named"]
        lines.append(
            f"  {row['file']}, {_place(row)} (received {row['received']:%Y-%m-%d}): {row['message']}"
        )
    lines += ["", f"{_counted(waiting)} waiting for a mended sheet."]
    return CommandResult(DONE, "\n".join(lines) + "\n")


def _counted(waiting: list[WaitingRow]) -> str:
    """How many rows, and how many sheets that could not be read at all."""
    from reports.words import count, listed

    sheets = sum(row["sheet_row"] is None for row in waiting)
    rows = len(waiting) - sheets
    return listed(
        count(number, noun) for number, noun in ((rows, "row"), (sheets, "unreadable sheet")) if number
    )


def _place(row: WaitingRow) -> str:
    return "whole file" if row["sheet_row"] is None else f"row {row['sheet_row']}"
