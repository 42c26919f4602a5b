"""`drainpool held`, `rebuild`, `verify`, `erase`, `backup`: keeping a pool for years."""

from __future__ import annotations

import argparse
import json
from typing import Any

from pipeline.commands.answer import DONE, Answer, Say
from pipeline.commands.person import by_whom, reason
from pipeline.errors import DrainpoolError


def held(arguments: argparse.Namespace, say: Say) -> Answer:
    """What waits and why, by member; a mended sheet takes its rows off this list."""
    from pipeline.jobs.keeping import waiting_by_member

    waiting = waiting_by_member(arguments.pool).to_dicts()
    if arguments.format == "json":
        return Answer(DONE, json.dumps({"held": waiting}, indent=1, default=str) + "\n")
    if not waiting:
        return Answer(DONE, "No row waits.\n")
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
    return Answer(DONE, "\n".join(lines) + "\n")


def _counted(waiting: list[dict[str, Any]]) -> str:
    """How many rows, and how many sheets that could not be read at all."""
    from reports.words import count, listed

    sheets = sum(row["sheet_row"] is None for row in waiting)
    rows = len(waiting) - sheets
    return listed(
        count(number, noun) for number, noun in ((rows, "row"), (sheets, "unreadable sheet")) if number
    )


def rebuild(arguments: argparse.Namespace, say: Say) -> Answer:
    """Makes the store again, content for content."""
    from pipeline.jobs.keeping import rebuild_pool

    made = rebuild_pool(arguments.pool, say)
    told = f"Made again: {made.receipts} receipts, {made.runs} runs.\n"
    if made.differing:
        told += f"{len(made.differing)} sheets are read differently by this drainpool than when they were loaded.\n"
    return Answer(DONE, told)


def verify(arguments: argparse.Namespace, say: Say) -> Answer:
    """Names all that disagrees; exit code 3 where any of it is damage."""
    from pipeline.jobs.keeping import verify_pool

    found = verify_pool(arguments.pool, by_whom(arguments), say)
    damaged = any(one.damage for one in found)
    lines = [f"{'DAMAGE' if one.damage else 'Note'}: {one.where}: {one.words}" for one in found]
    lines.append(
        "Something disagrees; see above." if damaged else "Archive, journal, store and reports agree."
    )
    return Answer(DrainpoolError.exit_code if damaged else DONE, "\n".join(lines) + "\n")


def erase(arguments: argparse.Namespace, say: Say) -> Answer:
    """Erases a member; lists the months whose promise of the same bytes ends."""
    from pipeline.desk.forgetting import forget
    from pipeline.jobs.erasing import erase_member

    gone = erase_member(arguments.pool, arguments.member, reason(arguments), by_whom(arguments), say)
    forget(arguments.pool, arguments.member)
    lines = [
        f"Erased: {gone.runs} runs and {gone.held} held rows of {gone.sheets + gone.shared_sheets} sheets, "
        "their bytes, names and pages. Hashes and the fact stay in the journal."
    ]
    if gone.months:
        lines.append(
            f"These months can't be made again to the same bytes: {', '.join(gone.months)}. "
            "Made again, each becomes a new edition that says how many rows were erased."
        )
    lines.append("Backups made before still hold the data; they are yours to remove.")
    return Answer(DONE, "\n".join(lines) + "\n")


def backup(arguments: argparse.Namespace, say: Say) -> Answer:
    """One file from which the pool can be made again."""
    from pipeline.jobs.keeping import backup_pool

    size = backup_pool(arguments.pool, arguments.file, say)
    return Answer(
        DONE,
        f"Written: {arguments.file} ({size} bytes). "
        f"To make the pool of it in another folder: drainpool restore --pool NEW-FOLDER --backup {arguments.file}\n",
    )


def _place(row: dict[str, Any]) -> str:
    return "whole file" if row["sheet_row"] is None else f"row {row['sheet_row']}"
