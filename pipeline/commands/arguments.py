"""The words a person may type after `drainpool`: every command, option and one-line help.

Only the standard library is imported here, so that `drainpool --help` answers at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn, cast

from pipeline.commands.answer import Answer, Say
from pipeline.errors import WrongUseError

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


def run(arguments: argparse.Namespace, say: Say) -> Answer:
    """Carries out the parsed command in its own room, which is imported only now."""
    room = import_module(f"pipeline.commands.{arguments.room}")
    return cast(Answer, getattr(room, arguments.command)(arguments, say))


def build_parser() -> PlainParser:
    """The whole command line."""
    parser = PlainParser(prog="drainpool", description=DESCRIPTION, epilog=EPILOG, allow_abbrev=False)
    commands = parser.add_subparsers(dest="command", metavar="command", parser_class=PlainParser)
    _demo(commands)
    _sheet(commands)
    _check(commands)
    _load(commands)
    _month(commands)
    _query(commands)
    _withdraw(commands)
    _desk(commands)
    return parser


def _command(commands: Any, name: str, room: str, says: str) -> argparse.ArgumentParser:
    parser = commands.add_parser(
        name, help=says, description=says[:1].upper() + says[1:] + ".", allow_abbrev=False
    )
    parser.set_defaults(room=room)
    return cast(argparse.ArgumentParser, parser)


def _pool(parser: argparse.ArgumentParser, required: bool = True, default: str | None = None) -> None:
    parser.add_argument(
        "--pool",
        metavar="DIR",
        type=Path,
        required=required,
        default=default,
        help="the pool's folder" + (f" (default: {default})" if default else ""),
    )


def _by_whom(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--by-whom", metavar="NAME", help="who makes this change (default: your login name)")


def _demo(commands: Any) -> None:
    parser = _command(
        commands,
        "demo",
        "demo",
        "makes a pool from invented samples, runs its months, says which page to open",
    )
    _pool(parser, required=False, default="drainpool-demo")
    _by_whom(parser)


def _sheet(commands: Any) -> None:
    parser = _command(commands, "sheet", "sheet", "writes a blank run sheet to fill in")
    parser.add_argument(
        "--format",
        choices=("csv", "xlsx"),
        default="csv",
        help="csv (default) goes to standard output; xlsx has lists to choose from and goes there too, "
        "or at a terminal into run_sheet.xlsx in this folder",
    )


def _check(commands: Any) -> None:
    parser = _command(commands, "check", "check", "checks run sheets, changes nothing")
    parser.add_argument("files", metavar="FILE", nargs="+", help="a run sheet, or a folder of run sheets")
    _pool(parser, required=False)
    _text_or_json(parser)


def _load(commands: Any) -> None:
    parser = _command(commands, "load", "load", "checks run sheets, then adds the accepted rows to the pool")
    parser.add_argument("files", metavar="FILE", nargs="+", help="a run sheet, or a folder of run sheets")
    _pool(parser)
    parser.add_argument("--received", metavar="YYYY-MM-DD", help="day the sheets came in (default: now)")
    parser.add_argument(
        "--whole-series",
        action="store_true",
        help="the sheet stands for the whole of each series in it: earlier runs of these series go out",
    )
    _text_or_json(parser)
    _by_whom(parser)


def _text_or_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--format", choices=("text", "json"), default="text", help="default: text")


def _month(commands: Any) -> None:
    parser = _command(commands, "month", "month", "takes in the inbox and makes the month's report pages")
    parser.add_argument("month", metavar="YYYY-MM", help="which month")
    _pool(parser)
    parser.add_argument(
        "--correct",
        action="store_true",
        help="make the next edition, with what is known now (needs --reason)",
    )
    parser.add_argument("--reason", metavar="TEXT", help="why a new edition is made")
    parser.add_argument("--publish", action="store_true", help="take the draft mark off a new edition")
    _by_whom(parser)


def _query(commands: Any) -> None:
    parser = _command(commands, "query", "query", "the pooled comparison for one part of the pool")
    _pool(parser)
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
    parser.add_argument("--by", choices=("climate", "pot", "setup", "grade"), help="one table per level")
    parser.add_argument("--format", choices=("table", "csv", "json"), default="table", help="default: table")


def _withdraw(commands: Any) -> None:
    for name, says in (
        ("withdraw", "takes runs out of later months"),
        ("restore", "puts withdrawn runs back"),
    ):
        parser = _command(commands, name, "withdraw", says)
        _pool(parser)
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("--member", metavar="M", help="all runs of this member")
        what.add_argument("--submission", metavar="HASH", help="all runs of this sheet (its content hash)")
        parser.add_argument("--series", metavar="S", help="with --member: only this series")
        parser.add_argument("--reason", metavar="TEXT", required=True, help="why; kept in the journal")
        _by_whom(parser)


def _desk(commands: Any) -> None:
    parser = _command(
        commands, "desk", "desk", "opens the pool in a browser, for members and the coordinator"
    )
    _pool(parser)
    parser.add_argument(
        "--host", default="127.0.0.1", help="address to listen at (default: this machine only)"
    )
    parser.add_argument("--port", type=int, default=8765, help="default: 8765")
    parser.add_argument(
        "--behind-proxy",
        metavar="ADDRESS",
        help="address of a reverse proxy whose word is taken on where requests come from (default: nobody's)",
    )
