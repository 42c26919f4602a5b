"""The words a person may type after `drainpool`: every command, option and one-line help.

Only the standard library is imported here, so that `drainpool --help` answers at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn, cast

from pipeline.commands.line.by_whom import by_whom
from pipeline.commands.line.options import (
    add_by_whom,
    add_columns,
    add_command,
    add_files,
    add_pool,
    add_reason,
    add_text_or_json,
)
from pipeline.commands.line.result import CommandResult, Say
from pipeline.errors import WrongUseError
from schemas.kinds.registry import KINDS
from schemas.trade.public_reasons import PUBLIC_REASONS

DESCRIPTION = "Pools growers' drain tests of potting mixes, and says how much mineral component is enough."
EPILOG = (
    "Exit codes: 0 done; 1 done, some row held (check, load); 2 a file can't be read as a run sheet; "
    "3 could not be done, nothing half done; 64 wrong use. Start with: drainpool demo"
)


class PlainParser(argparse.ArgumentParser):
    """A parser whose complaints are one plain sentence and exit code 64."""

    def error(self, message: str) -> NoReturn:
        raise WrongUseError(f"{_plain(message)} Try: {self.prog} --help")


def _plain(message: str) -> str:
    sentence = (
        message.replace("the following arguments are required:", "something is missing:")
        .replace("unrecognized arguments:", "this was not understood:")
        .replace(": expected one argument", " needs a value behind it")
        .replace(": expected at least one argument", " needs a value behind it")
        .replace("argument ", "")
    )
    return sentence[:1].upper() + sentence[1:] + ("" if sentence.endswith(".") else ".")


def parse(typed: Sequence[str]) -> argparse.Namespace:
    """The typed words as values; WrongUseError, worded, where they make no command.
    `--help` prints and leaves through SystemExit(0), as everywhere."""
    arguments = build_parser().parse_args(list(typed))
    if arguments.command is None:
        raise WrongUseError("Which command? Try: drainpool --help")
    return arguments


def run(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Carries out the parsed command in its own room, which is imported only now."""
    if getattr(arguments, "clock_is_right", False):
        confirm = import_module("pipeline.jobs.keeping.clock").confirm_clock
        confirm(arguments.pool, by_whom(arguments), say)
    room = import_module(f"pipeline.commands.{arguments.command}")
    return cast(CommandResult, getattr(room, arguments.command)(arguments, say))


def build_parser() -> PlainParser:
    """The whole command line."""
    parser = PlainParser(prog="drainpool", description=DESCRIPTION, epilog=EPILOG, allow_abbrev=False)
    commands = parser.add_subparsers(dest="command", metavar="command", parser_class=PlainParser)
    _demo(commands)
    _sheet(commands)
    _plan(commands)
    _check(commands)
    _load(commands)
    _month(commands)
    _query(commands)
    _withdraw(commands)
    _answer(commands)
    _keeping(commands)
    _desk(commands)
    return parser


def _demo(commands: Any) -> None:
    parser = add_command(
        commands,
        "demo",
        "makes a pool from invented samples, runs its months, says which page to open",
    )
    add_pool(parser, required=False, default="drainpool-demo")
    add_by_whom(parser)


def _sheet(commands: Any) -> None:
    parser = add_command(commands, "sheet", "writes a blank sheet to fill in")
    parser.add_argument(
        "--kind", choices=tuple(KINDS), default="run", help="what is noted down (default: run)"
    )
    parser.add_argument(
        "--format",
        choices=("csv", "xlsx"),
        default="csv",
        help="csv (default) goes to standard output; xlsx has lists to choose from and goes there too, "
        "or at a terminal into run_sheet.xlsx in this folder",
    )


def _plan(commands: Any) -> None:
    parser = add_command(commands, "plan", "plans a test: pots, order, what to mix, and its run sheet")
    add_pool(parser, required=False)
    parser.add_argument("--member", metavar="M", help="whose test: their pot and holder are taken over")
    parser.add_argument(
        "--shares", metavar="0,25,40,50", help="percents to test (default: what the pool knows least about)"
    )
    how_many = parser.add_mutually_exclusive_group()
    how_many.add_argument("--pots", metavar="N", type=int, help="pots of each mix (default: 3)")
    how_many.add_argument("--chance", metavar="0.8", help="as many pots as see --ratio with this chance")
    parser.add_argument(
        "--ratio", metavar="1.25", help="times as fast that the test shall see (default: 1.25)"
    )
    parser.add_argument("--component", metavar="perlite", help="which component (default: the member's own)")
    parser.add_argument(
        "--seed", metavar="N", type=int, help="of the order of the pots; printed with every plan"
    )
    parser.add_argument("--out", metavar="DIR", type=Path, help="also write the plan and its run sheet there")


def _check(commands: Any) -> None:
    parser = add_command(commands, "check", "checks run sheets, changes nothing")
    add_files(parser)
    add_pool(parser, required=False)
    add_columns(parser)
    add_text_or_json(parser)


def _load(commands: Any) -> None:
    parser = add_command(commands, "load", "checks run sheets, then adds the accepted rows to the pool")
    add_files(parser)
    add_pool(parser)
    parser.add_argument("--received", metavar="YYYY-MM-DD", help="day the sheets came in (default: now)")
    parser.add_argument(
        "--whole-series",
        action="store_true",
        help="the sheet stands for the whole of each series in it: earlier runs of these series go out",
    )
    add_columns(parser)
    add_text_or_json(parser)
    add_by_whom(parser)


def _month(commands: Any) -> None:
    parser = add_command(commands, "month", "takes in the inbox and makes the month's report pages")
    parser.add_argument("month", metavar="YYYY-MM", help="which month")
    add_pool(parser)
    parser.add_argument(
        "--correct",
        action="store_true",
        help="make the next edition, with what is known now (needs --reason)",
    )
    parser.add_argument(
        "--reason",
        metavar="TEXT",
        help="why a new edition is made; kept in the journal, pages say what changed",
    )
    parser.add_argument("--publish", action="store_true", help="take the draft mark off a new edition")
    add_by_whom(parser)


def _query(commands: Any) -> None:
    parser = add_command(commands, "query", "the pooled comparison for one part of the pool")
    add_pool(parser)
    parser.add_argument("--climate", metavar="Cfb,Csb", help="climate classes, or a main group such as C")
    parser.add_argument(
        "--pot-volume", metavar="0.5l..2l", help="a range of pot volumes; either end may be open"
    )
    for name, example in (
        ("setup", "rack,sieve"),
        ("grade", "medium"),
        ("component", "perlite"),
        ("base", "sphagnum_peat"),
    ):
        parser.add_argument(f"--{name}", metavar=example, help=f"only this {name}, or these")
    parser.add_argument("--since", metavar="YYYY-MM-DD", help="tested on this day or later")
    parser.add_argument("--until", metavar="YYYY-MM-DD", help="tested on this day or before")
    parser.add_argument(
        "--against", metavar="SHARE", help="compare with this share (percent) in place of straight base"
    )
    parser.add_argument("--by", choices=("climate", "pot", "setup", "grade"), help="one table per level")
    parser.add_argument("--format", choices=("table", "csv", "json"), default="table", help="default: table")


def _withdraw(commands: Any) -> None:
    parser = add_command(commands, "withdraw", "takes runs out of later months")
    add_pool(parser)
    _which_runs(parser.add_mutually_exclusive_group(required=True))
    parser.add_argument("--series", metavar="S", help="with --member: only this series")
    add_reason(parser)
    add_by_whom(parser)

    parser = add_command(commands, "restore", "puts withdrawn runs back, or makes a pool from its backup")
    add_pool(parser)
    what = parser.add_mutually_exclusive_group(required=True)
    _which_runs(what)
    what.add_argument("--backup", metavar="FILE", type=Path, help="the backup to make the pool of")
    parser.add_argument("--series", metavar="S", help="with --member: only this series")
    add_reason(parser, required=False)
    add_by_whom(parser)


def _which_runs(what: Any) -> None:
    what.add_argument("--member", metavar="M", help="all runs of this member")
    what.add_argument("--submission", metavar="HASH", help="all runs of this sheet (its content hash)")


def _answer(commands: Any) -> None:
    parser = add_command(commands, "answer", "writes down what the coordinator decided about an odd result")
    add_pool(parser)
    parser.add_argument(
        "decision", choices=("keep", "ask", "aside"), help="keep it, ask about it, set it aside"
    )
    parser.add_argument("--member", metavar="M", required=True, help="whose runs")
    parser.add_argument("--series", metavar="S", help="only this series")
    parser.add_argument("--row", metavar="N", type=int, help="only the run in this sheet row of the series")
    parser.add_argument(
        "--submission", metavar="HASH", help="of which sheet the row is, where several have it"
    )
    parser.add_argument(
        "--why",
        choices=tuple(PUBLIC_REASONS),
        help="with aside: what the pages say of it (default: other); --reason stays private",
    )
    add_reason(parser)
    add_by_whom(parser)


def _keeping(commands: Any) -> None:
    parser = add_command(
        commands,
        "held",
        "lists the rows that wait to be mended and the runs that wait for an answer, by member",
    )
    add_pool(parser)
    parser.add_argument(
        "--by",
        choices=("member", "effect"),
        default="member",
        help="effect: everything that needs you, largest effect on the answer first, each with a letter ready to send",
    )
    add_text_or_json(parser)

    parser = add_command(commands, "rebuild", "makes the pool's store again from archive and journal")
    add_pool(parser)

    parser = add_command(commands, "verify", "looks whether everything in the pool still agrees")
    add_pool(parser)
    parser.add_argument(
        "--reread", action="store_true", help="also list sheets that today's rules would read differently"
    )
    add_by_whom(parser)

    parser = add_command(commands, "restamp", "puts moments right that a wrong clock stamped")
    add_pool(parser)
    parser.add_argument(
        "--to", metavar="YYYY-MM-DD", help="the day on which it was really done (default: now)"
    )
    add_reason(parser)
    add_by_whom(parser)

    parser = add_command(commands, "erase", "erases a member: sheets, rows and pages")
    add_pool(parser)
    parser.add_argument("--member", metavar="M", required=True, help="whose data")
    add_reason(parser)
    add_by_whom(parser)

    parser = add_command(commands, "backup", "writes all that can't be made again into one file")
    add_pool(parser)
    parser.add_argument("file", metavar="FILE", type=Path, help="the file to write")


def _desk(commands: Any) -> None:
    parser = add_command(commands, "desk", "opens the pool in a browser, for members and the coordinator")
    add_pool(parser)
    parser.add_argument(
        "--host", default="127.0.0.1", help="address to listen at (default: this machine only)"
    )
    parser.add_argument("--port", type=int, default=8765, help="default: 8765")
    parser.add_argument(
        "--behind-proxy",
        metavar="ADDRESS",
        help="address of a reverse proxy whose word is taken on where requests come from (default: nobody's)",
    )
