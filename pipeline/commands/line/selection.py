"""Which runs `withdraw` and `restore` are about: as typed, and in words."""

from __future__ import annotations

import argparse

from pipeline.errors import WrongUseError


def selected(arguments: argparse.Namespace) -> tuple[str | None, str | None, str | None]:
    """Member, series and content hash of the runs chosen. WrongUseError where the options do not go together."""
    if arguments.series is not None and arguments.member is None:
        raise WrongUseError(
            "--series goes with --member; a sheet is withdrawn whole with --submission alone."
        )
    return arguments.member, arguments.series, arguments.submission


def in_words(arguments: argparse.Namespace) -> str:
    """The runs chosen, as a person would name them."""
    if arguments.submission is not None:
        return f"sheet {arguments.submission}"
    series = f", series “{arguments.series}”" if arguments.series is not None else ""
    return f"member {arguments.member}{series}"


def retyped(arguments: argparse.Namespace) -> str:
    """The options that choose the same runs again."""
    typed = {name: getattr(arguments, name) for name in ("member", "series", "submission")}
    return " ".join(f'--{name} "{value}"' for name, value in typed.items() if value is not None)


def amount(runs: int, series: int) -> str:
    """3 runs in 1 series."""
    return f"{runs} run{'' if runs == 1 else 's'} in {series} series"
