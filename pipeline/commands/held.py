"""`drainpool held`: which rows wait for a mended sheet, which runs for an answer, and why."""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict
from typing import TYPE_CHECKING

from pipeline.commands.line.result import DONE, CommandResult, Say

if TYPE_CHECKING:
    from pipeline.jobs.keeping.steps import WaitingRow, WaitingRun


def held(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """What waits and why, by member; a mended sheet takes its rows off this list."""
    from pipeline.jobs.keeping.steps import runs_that_wait, waiting_by_member

    if arguments.by == "effect":
        return _by_effect(arguments)
    waiting, asked = waiting_by_member(arguments.pool), runs_that_wait(arguments.pool)
    if arguments.format == "json":
        value = {"held": waiting, "waits": asked}
        return CommandResult(DONE, json.dumps(value, indent=1, default=str) + "\n")
    sections = [*([_held_lines(waiting)] if waiting else []), *([_asked_lines(asked)] if asked else [])]
    return CommandResult(DONE, "\n\n".join(sections) + "\n" if sections else "No row waits.\n")


def _asked_lines(asked: list[WaitingRun]) -> str:
    """The accepted runs that wait for an answer, and how to give it."""
    from reports.words import count

    runs = [
        f"  {run['member']}, series “{run['series']}”, row {run['sheet_row']} of sheet {run['submission'][:12]}: "
        f"{run['question']}"
        for run in asked
    ]
    verb = "waits" if len(asked) == 1 else "wait"
    return "\n".join(
        [
            "Accepted, waiting for an answer",
            *runs,
            "",
            f"{count(len(asked), 'run')} {verb} for an answer: a mended sheet, or drainpool answer keep or aside "
            "--member M --series S --row N --reason TEXT.",
        ]
    )


def _held_lines(waiting: list[WaitingRow]) -> str:
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
    return "\n".join(lines)


def _by_effect(arguments: argparse.Namespace) -> CommandResult:
    """Everything that needs the coordinator, the largest effect on the answer first, each with its letter."""
    from datetime import timedelta

    from pipeline.jobs.attention import DAYS_TO_ANSWER, letter, matters_of
    from pipeline.jobs.receiving.checking import now

    listed = matters_of(arguments.pool)
    answer_by = now().date() + timedelta(days=DAYS_TO_ANSWER)
    if arguments.format == "json":
        values = [{**asdict(matter), "letter": letter(matter, answer_by)} for matter in listed]
        return CommandResult(DONE, json.dumps({"matters": values}, indent=1) + "\n")
    if not listed:
        return CommandResult(DONE, "Nothing needs you: no series pulls an average, and no row waits.\n")
    lines: list[str] = []
    for place, matter in enumerate(listed, start=1):
        who = f"{matter.member or 'no member named'}{f', {matter.series}' if matter.series else ''}"
        lines += [f"{place}. {matter.effect:.0%}  {who}: {matter.title}", f"   {matter.detail}", ""]
        lines += [f"   | {line}".rstrip() for line in letter(matter, answer_by).splitlines()] + [""]
    lines.append(
        "In percent: how far the plain average of a share would move without that series; for held rows, their part of all "
        "rows. A quick look for sorting, not the pooled model."
    )
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
