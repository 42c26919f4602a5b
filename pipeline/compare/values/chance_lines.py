"""Chances of one share beside the stated ones: by the plain estimate, club by club, in both readings of stopped clocks."""

from __future__ import annotations

import numpy as np

from pipeline.compare.model.prediction import Prediction
from pipeline.compare.posterior.clubs import MEMBERS_OF_A_CLUB
from pipeline.compare.stopped.figures import StoppedChances
from pipeline.compare.verdict.answer import Answer, Fitted
from pipeline.compare.verdict.chances import SpreadChances
from schemas.results.component import ClubLine, PlainChances, StoppedClocks, StoppedReading


def number(value: float) -> float | None:
    """A finite number, else None."""
    return float(value) if np.isfinite(value) else None


def interval(low: float, high: float) -> list[float] | None:
    """Both ends as ratios, None where either is unknown or beyond any use."""
    if not (np.isfinite(low) and np.isfinite(high)) or max(abs(low), abs(high)) > 50.0:
        return None
    return [float(np.exp(low)), float(np.exp(high))]


def plain_chances(prediction: Prediction | None, column: int) -> PlainChances | None:
    """What the plain estimate says at one share; None where it says nothing there."""
    if prediction is None or not np.isfinite(prediction.p_clears[column]):
        return None
    new_series = interval(prediction.new_low[column], prediction.new_high[column])
    if new_series is None:
        return None
    return {
        "new_series": new_series,
        "p_faster": float(prediction.p_faster[column]),
        "p_clears": float(prediction.p_clears[column]),
        "p_faster_pot": float(prediction.p_faster_pot[column]),
        "p_clears_pot": float(prediction.p_clears_pot[column]),
    }


def club_lines(given: Answer, fitted: Fitted, column: int) -> list[ClubLine]:
    """Each fixed club at one share; none where clubs are not fixed or clocks decided."""
    chances = fitted.chances
    if not isinstance(chances, SpreadChances) or chances.clubs is None or given.independence is None:
        return []
    clubs = chances.clubs
    lines: list[ClubLine] = []
    for row, label in enumerate(given.independence.clubs):
        members = int(clubs.members[row])
        club = label or "no club"
        if members < MEMBERS_OF_A_CLUB:
            why = f"Fewer than {MEMBERS_OF_A_CLUB} growers."
            lines.append(
                {"club": club, "members": None, "ratio": None, "ci": None, "p_clears": None, "why": why}
            )
            continue
        lines.append(
            {
                "club": club,
                "members": members,
                "ratio": float(np.exp(clubs.ratio[row, column])),
                "ci": interval(clubs.low[row, column], clubs.high[row, column]),
                "p_clears": float(clubs.chance[row, column]),
            }
        )
    return lines


def stopped_clocks(fitted: Fitted, target_ratio: float, column: int) -> StoppedClocks | None:
    """Both readings at one share; None where clocks did not decide or the share is unknown."""
    chances = fitted.chances
    if not isinstance(chances, StoppedChances):
        return None
    readings: list[StoppedReading] = [
        {
            "rho": rho,
            "ratio": float(np.exp(reading.mean[column])),
            "p_clears": float(reading.above(target_ratio)[column]),
        }
        for rho, reading in zip((0.0, *chances.rhos), chances.readings, strict=True)
    ]
    if not all(np.isfinite(reading["p_clears"]) for reading in readings):
        return None
    return {"plain": readings[0], "related": readings[1:], "estimated": chances.estimated}
