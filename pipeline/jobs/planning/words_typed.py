"""Numbers of a plan as people type them: shares with or without a percent sign, either decimal mark."""

from __future__ import annotations

import math

from pipeline.errors import WrongUseError


def read_shares(typed: str | None) -> tuple[float, ...]:
    """`0,25,40` or `25 % 40 %` as percents; nothing typed is no share. WrongUseError, worded, for anything else."""
    if typed is None:
        return ()
    pieces = typed.replace("%", " ").replace(",", " ").replace(";", " ").split()
    return tuple(_share(piece, typed) for piece in pieces)


def _share(piece: str, typed: str) -> float:
    share = _number(piece)
    if share is None or share < 0:
        raise WrongUseError(
            f"--shares: “{typed}” can't be read. Write percents with commas between, like 0,25,40,50."
        )
    if 0 < share < 1:
        raise WrongUseError(
            f"--shares: {piece} looks like a fraction. Write percents: {100 * share:g} in place of {piece}."
        )
    return round(share, 1)


def read_number(typed: str | None, option: str) -> float | None:
    """A number with a point or a comma; None where nothing was typed. WrongUseError, worded, for anything else."""
    if typed is None:
        return None
    number = _number(typed.strip().replace(",", "."))
    if number is None:
        raise WrongUseError(f"{option}: “{typed}” is no number. Write it like 0.8 or 1.25.")
    return number


def _number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if math.isfinite(number) else None
