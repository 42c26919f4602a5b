"""Options that several commands share, each described once."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any, cast


def add_command(commands: Any, name: str, says: str) -> argparse.ArgumentParser:
    """A command, carried out by the function `name` in `pipeline.commands.<name>`; `says` is its one-line help."""
    parser = commands.add_parser(
        name, help=says, description=says[:1].upper() + says[1:] + ".", allow_abbrev=False
    )
    return cast(argparse.ArgumentParser, parser)


def add_pool(parser: argparse.ArgumentParser, required: bool = True, default: str | None = None) -> None:
    """`--pool DIR`."""
    parser.add_argument(
        "--pool",
        metavar="DIR",
        type=Path,
        required=required,
        default=default,
        help="the pool's folder" + (f" (default: {default})" if default else ""),
    )


def add_by_whom(parser: argparse.ArgumentParser) -> None:
    """`--by-whom NAME`, on every command that changes the pool."""
    parser.add_argument("--by-whom", metavar="NAME", help="who makes this change (default: your login name)")
    parser.add_argument(
        "--clock-is-right",
        action="store_true",
        help="this machine's clock is right, though the pool was last changed more than half a year ago",
    )


def add_reason(parser: argparse.ArgumentParser, required: bool = True) -> None:
    """`--reason TEXT`, kept in the journal."""
    parser.add_argument("--reason", metavar="TEXT", required=required, help="why; kept in the journal")


def add_files(parser: argparse.ArgumentParser) -> None:
    """The run sheets to read."""
    parser.add_argument("files", metavar="FILE", nargs="+", help="a run sheet, or a folder of run sheets")


def add_columns(parser: argparse.ArgumentParser) -> None:
    """`--columns FILE.toml`, which column each own heading stands for."""
    parser.add_argument(
        "--columns",
        metavar="FILE.toml",
        type=Path,
        help='a list of own headings, each with the column that it stands for: "Zeit (min)" = "drain_time"',
    )


def add_text_or_json(parser: argparse.ArgumentParser) -> None:
    """`--format text|json`."""
    parser.add_argument("--format", choices=("text", "json"), default="text", help="default: text")
