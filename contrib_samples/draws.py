"""Draws every run of a member from the stated truth. The same seed and member give the same runs, whatever
else changes in the federation: each member has a stream of their own."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from math import exp, log
from random import Random
from statistics import NormalDist

from contrib_samples import truth
from contrib_samples.events import RAN_DRY, STOPPED, Spot
from contrib_samples.federation import POTS, Member, Series
from contrib_samples.hands import HANDS
from contrib_samples.spellings import Run

# straight base at pour 1 in a 1 l pot with water of 20 °C: ml a minute from a litre of mix; taller pots drain
# slower per litre. For plausible times only: none of it touches a ratio.
BASE_RATE_ML_MIN_L = 40.0
SD_MEMBER_BASE, SD_SERIES_BASE = 0.35, 0.20
WARMTH_PER_DEGREE = 0.024
CHANCE_OF_NOTE = 0.04


@dataclass(frozen=True)
class _Grower:
    """What is this member's own in every test: base rate, and deviation from the average at any share
    (`shift`) and in proportion to the share (`slope`), ln units."""

    base: float
    shift: float
    slope: float


def runs_of(member: Member, seed: int) -> list[Run]:
    """All runs of one member, series by series, in the order of the planned sheet."""
    random = Random(f"{seed} {member.code}")  # noqa: S311 - an invented federation, no secret
    grower = _Grower(
        base=_normal(random, SD_MEMBER_BASE),
        shift=_normal(random, truth.SD_MEMBER),
        slope=_normal(random, truth.SD_MEMBER_SLOPE),
    )
    return [run for series in member.series for run in _series_runs(random, member, grower, series)]


def _normal(random: Random, sd: float) -> float:
    return NormalDist(0.0, sd).inv_cdf(min(max(random.random(), 1e-12), 1 - 1e-12))


def _series_runs(random: Random, member: Member, grower: _Grower, series: Series) -> list[Run]:
    water_temp_c = round(random.uniform(9.0, 22.0) * 2) / 2
    pot = POTS[series.pot]
    base = log(BASE_RATE_ML_MIN_L) + grower.base + _normal(random, SD_SERIES_BASE)
    base += WARMTH_PER_DEGREE * (water_temp_c - 20) - log(pot.volume_ml / 1000) / 3
    series_shift = _normal(random, truth.SD_SERIES)
    rates: dict[tuple[float, int, int], float] = {}
    for share in series.shares:
        mix = _normal(random, truth.SD_MIX) if share else 0.0
        own = grower.shift + share / 100 * grower.slope + series_shift + mix if share else 0.0
        for pot_no in range(1, series.pots + 1):
            filling = _normal(random, truth.SD_FILLING)
            for pour_no in range(1, series.pours + 1):
                expected = base + _average(series, share, pour_no) + own + filling
                rates[share, pot_no, pour_no] = exp(expected + _normal(random, truth.SD_POUR))
    order = _order_of_test(random, series)
    notes = HANDS[member.hand].notes
    runs = []
    for (share, pot_no, pour_no), rate in rates.items():
        note = random.choice(notes) if notes and random.random() < CHANCE_OF_NOTE else ""
        time_s, ended, came_out_ml = _clock(
            Spot(member.code, series.label, share, pot_no, pour_no), series, rate
        )
        runs.append(
            Run(
                member=member,
                series=series,
                share=share,
                pot_no=pot_no,
                pour_no=pour_no,
                tested_on=series.day + timedelta(days=pour_no - 1),
                drain_time_s=time_s,
                ended=ended,
                water_temp_c=water_temp_c,
                run_order=order[share, pot_no, pour_no],
                came_out_ml=came_out_ml,
                note=note,
            )
        )
    return runs


def _average(series: Series, share: float, pour_no: int) -> float:
    """What growers see on average of this mix beside the series' straight base when fresh, ln units."""
    average = truth.LATER_POUR[pour_no]
    if series.dry:
        average += truth.DRY_START[1 if share else 0]
    if share:
        average += truth.ln_ratio(series.grade, share, pour_no, series.setup, series.component, series.base)
    return average


def _order_of_test(random: Random, series: Series) -> dict[tuple[float, int, int], int]:
    """Pots in random order, all first pours before all second ones."""
    pots = [(share, pot_no) for share in series.shares for pot_no in range(1, series.pots + 1)]
    order: dict[tuple[float, int, int], int] = {}
    for pour_no in range(1, series.pours + 1):
        random.shuffle(pots)
        for share, pot_no in pots:
            order[share, pot_no, pour_no] = len(order) + 1
    return order


def _clock(spot: Spot, series: Series, rate_ml_min_l: float) -> tuple[float, str, float]:
    """Seconds on the clock, how the run ended, and what came out in ml where it ran dry."""
    pot = POTS[series.pot]
    collected_ml = pot.poured_ml * series.collected_part
    time_s = collected_ml / (rate_ml_min_l * pot.volume_ml / 1000) * 60
    if spot in STOPPED:
        return time_s * STOPPED[spot], "stopped", 0.0
    if spot in RAN_DRY:
        return time_s * 1.5, "ran_dry", pot.poured_ml * RAN_DRY[spot]
    return time_s, "reached", 0.0
