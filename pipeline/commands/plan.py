"""`drainpool plan`: a test's plan, its order, its recipe, and its sheet with all filled in but the times."""

from __future__ import annotations

import argparse
from pathlib import Path

from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.errors import DrainpoolError

TEXT_FILE, CSV_FILE, XLSX_FILE = "plan.txt", "run_sheet.csv", "run_sheet.xlsx"


def plan(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """The plan as text; with `--out`, the plan and its run sheet as files of that folder, none of them overwritten."""
    from pipeline.jobs.planning.card import card_files
    from pipeline.jobs.planning.sheet import sheet_csv, sheet_xlsx
    from pipeline.jobs.planning.steps import Asked, plan_for
    from pipeline.jobs.planning.text import plan_text
    from pipeline.jobs.planning.words_typed import read_number, read_shares

    asked = Asked(
        arguments.member,
        read_shares(arguments.shares),
        arguments.pots,
        read_number(arguments.chance, "--chance"),
        read_number(arguments.ratio, "--ratio") or 1.25,
        arguments.component,
        arguments.seed,
    )
    planned = plan_for(arguments.pool, asked)
    text = plan_text(planned)
    if arguments.out is None:
        return CommandResult(DONE, text)
    sheets = {CSV_FILE: sheet_csv(planned), XLSX_FILE: sheet_xlsx(planned)}
    files = {TEXT_FILE: text.encode(), **sheets, **card_files(planned)}
    _put(arguments.out, files)
    return CommandResult(
        DONE,
        f"{text}\nThe plan, its bench cards to print and its run sheet stand in {arguments.out.resolve()}. Fill in days and times, then type: "
        f"drainpool check {arguments.out / CSV_FILE}\n",
    )


def _put(folder: Path, files: dict[str, bytes]) -> None:
    """Writes the files where none of them is there yet; raises DrainpoolError, with nothing written, where one is."""
    from pipeline.atomic_write import write_whole

    there = sorted(name for name in files if (folder / name).exists())
    if there:
        raise DrainpoolError(
            f"{folder} has a {there[0]} already; nothing was changed. Name another folder behind --out."
        )
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        write_whole(folder / name, content)
