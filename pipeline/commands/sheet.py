"""`drainpool sheet`: a blank sheet to fill in."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.errors import DrainpoolError
from schemas.kinds.registry import kind_named


def sheet(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """CSV goes to standard output; so does a spreadsheet, except at a terminal, where it becomes a file here."""
    from reports.blank_sheet import blank_sheet_csv, blank_sheet_xlsx

    kind = kind_named(arguments.kind)
    if arguments.format == "csv":
        return CommandResult(DONE, blank_sheet_csv(kind).encode())
    if not sys.stdout.isatty():
        return CommandResult(DONE, blank_sheet_xlsx(kind))
    name = Path(f"{kind.title.replace(' ', '_')}.xlsx")
    try:
        with name.open("xb") as file:
            file.write(blank_sheet_xlsx(kind))
    except FileExistsError:
        raise DrainpoolError(
            f"There is a {name} in this folder already; nothing was changed. Move it, or send the blank one "
            f"elsewhere: drainpool sheet --format xlsx > another_name.xlsx"
        ) from None
    return CommandResult(
        DONE, f"A blank {kind.title} stands in {name.resolve()}; its columns have lists to choose from.\n"
    )
