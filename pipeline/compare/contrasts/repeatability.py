"""How closely separate pots of one mix by one grower repeat: the pooled spread s_r that every variance rests on.

Source: pooling of cell variances as in ISO 5725-2 (from memory); the rules for using it are the project's methods
note, section 1.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.compare.arrays import Flags, Floats, Whole
from pipeline.compare.wording import counted

NEEDED_DEGREES = 10
NEEDED_MEMBERS = 3
LARGEST_PART = 0.5
SMALL_SHARE, LARGE_SHARE = 20.0, 40.0
UNLIKE_BY = 1.5


@dataclass(frozen=True)
class Repeatability:
    """Spread of single pots on the ln scale.

    `sd` is what the variances use; `measured` tells whether the pool's own replicates gave it. `pooled`, `small`
    (shares up to 20 %) and `large` (from 40 %) are the pooled values where there are replicates at all, else None.
    `cochran` is the largest cell variance over the sum of all, a screen only. `why` says where `sd` comes from.
    """

    sd: float
    measured: bool
    degrees: int
    members: int
    pooled: float | None
    small: float | None
    large: float | None
    cochran: float | None
    why: str


def pooled_sd(pots: Whole, sum_squares: Floats, chosen: Flags) -> tuple[float | None, int]:
    """(pooled standard deviation, degrees of freedom) over the chosen replicated cells; None without replicates."""
    use = chosen & (pots > 1)
    degrees = int((pots[use] - 1).sum())
    if degrees == 0:
        return None, 0
    return float(np.sqrt(sum_squares[use].sum() / degrees)), degrees


def pool_repeatability(
    pots: Whole, sum_squares: Floats, share: Floats, member: Whole, assumed: float
) -> Repeatability:
    """Pools all cells given (pots, sum of squares about the cell mean of ln rate, share, member).

    The pool's own value is used from 10 degrees of freedom and 3 members on, none giving over half of them;
    otherwise `assumed`.
    """
    every = np.ones(len(pots), dtype=bool)
    pooled, degrees = pooled_sd(pots, sum_squares, every)
    small, small_degrees = pooled_sd(pots, sum_squares, share <= SMALL_SHARE)
    large, large_degrees = pooled_sd(pots, sum_squares, share >= LARGE_SHARE)
    replicated = pots > 1
    given = np.bincount(member[replicated], weights=pots[replicated] - 1) if replicated.any() else np.zeros(0)
    members = int((given > 0).sum())
    variances = sum_squares[replicated] / np.maximum(pots[replicated] - 1, 1)
    cochran = float(variances.max() / variances.sum()) if degrees and variances.sum() > 0 else None
    sd, measured, why = assumed, False, ""
    if pooled is None:
        why = f"No mix was filled into more than one pot, so {assumed:g} is taken from the settings."
    elif degrees < NEEDED_DEGREES or members < NEEDED_MEMBERS:
        why = (
            f"Too few repeated pots ({degrees} beyond the first, from {counted(members, 'grower')}) to measure it, "
            f"so {assumed:g} is taken from the settings."
        )
    elif given.max() > LARGEST_PART * degrees:
        why = (
            f"One grower gave more than half of all repeated pots, so {assumed:g} is taken from the settings."
        )
    else:
        sd, measured, why = (
            pooled,
            True,
            f"Measured on {degrees} repeated pots from {counted(members, 'grower')}.",
        )
        if _unlike(small, large, small_degrees, large_degrees) and small is not None and large is not None:
            sd = min(small, large)
            why += " Small and large shares differ by more than 1.5 times; the smaller is used."
    return Repeatability(sd, measured, degrees, members, pooled, small, large, cochran, why)


def _unlike(small: float | None, large: float | None, small_degrees: int, large_degrees: int) -> bool:
    """Whether small and large shares differ by more than 1.5 times, each with enough repeats to say so."""
    if small is None or large is None or min(small_degrees, large_degrees) < NEEDED_DEGREES:
        return False
    return max(small, large) > UNLIKE_BY * min(small, large)
