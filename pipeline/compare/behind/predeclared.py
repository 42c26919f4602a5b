"""The six contrasts declared before looking, and the exploratory ones beside them. Frames in, values out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.compare.arrays import Floats, Whole
from pipeline.compare.behind.moderators import Shift, fit_shift, holm, shift_value
from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.effects import Effects
from pipeline.compare.contrasts.independence import Ties, independence
from pipeline.compare.verdict.answer import Answer, connected
from schemas.results.details import ContrastLine

SCREENED = ("sieve", "cut_cup")
CENTRE_LITRES = 2.0
COLD_BELOW_C = 15.0


@dataclass(frozen=True)
class Kinds:
    """What distinguishes series, by series number: NaN where it is not known."""

    fine: Floats
    log2_volume: Floats
    screened: Floats
    cold: Floats


def kinds_of(runs: pl.DataFrame) -> Kinds:
    """Kinds of the series in these runs."""
    table = runs.group_by("series_code").agg(
        pl.col("component_grade").drop_nulls().first(),
        pl.col("pot_volume_ml").median(),
        pl.col("setup_type").first(),
        pl.col("water_temp_c").mean(),
    )
    size = int(table["series_code"].cast(pl.Int64).max() or 0) + 1  # type: ignore[arg-type]
    codes = table["series_code"].to_numpy()
    grade, temperature = pl.col("component_grade"), pl.col("water_temp_c")
    flags = table.select(
        (grade == "fine").cast(pl.Float64).alias("fine"),
        (pl.col("pot_volume_ml") / (1000.0 * CENTRE_LITRES)).log(2.0).alias("log2_volume"),
        pl.col("setup_type").is_in(SCREENED).cast(pl.Float64).alias("screened"),
        (temperature < COLD_BELOW_C).cast(pl.Float64).alias("cold"),
    ).fill_null(np.nan)
    return Kinds(
        *(
            _spread(flags[name].to_numpy(), codes, size)
            for name in ("fine", "log2_volume", "screened", "cold")
        )
    )


def _spread(values: Floats, codes: Whole, size: int) -> Floats:
    result = np.full(size, np.nan)
    result[codes] = values
    return result


def predeclared_value(
    given: Answer, runs: pl.DataFrame, dry: Cells, dry_ties: Ties, settling: Shift
) -> list[ContrastLine]:
    """The six contrasts with Holm's p; empty without a model. `dry`: cells of starts on dry mix, numbered as `runs`."""
    if given.fitted is None or given.independence is None:
        return []
    kinds, effects, independent = kinds_of(runs), given.effects, given.independence
    volume = kinds.log2_volume[effects.series]
    shifts = [
        fit_shift(
            "fine", "fine grade beside medium and coarse", effects, kinds.fine[effects.series], independent
        ),
        fit_shift("pot_volume", "each doubling of pot volume", effects, volume, independent),
        fit_shift(
            "screened",
            "pot on a screen (sieve, cut cup) beside open holders",
            effects,
            kinds.screened[effects.series],
            independent,
        ),
        _dry_shift(given, dry, dry_ties),
        settling,
        fit_shift(
            "cold_water", "water below 15 °C beside warmer", effects, kinds.cold[effects.series], independent
        ),
    ]
    return [
        shift_value(shift, p) for shift, p in zip(shifts, holm([shift.p for shift in shifts]), strict=True)
    ]


def exploratory_value(given: Answer, runs: pl.DataFrame) -> list[ContrastLine]:
    """Pot volume within and between growers apart, and grade by pot volume: ratios and intervals, no p."""
    if given.fitted is None or given.independence is None:
        return []
    kinds, effects, independent = kinds_of(runs), given.effects, given.independence
    volume, fine = kinds.log2_volume[effects.series], kinds.fine[effects.series]
    between = member_means(effects, volume)
    apart = np.column_stack([volume - between, between])
    product = np.column_stack([fine, volume, fine * volume])
    shifts = [
        fit_shift(
            "pot_volume_within", "each doubling of pot volume, within growers", effects, apart, independent, 0
        ),
        fit_shift(
            "pot_volume_between",
            "each doubling of pot volume, between growers",
            effects,
            apart,
            independent,
            1,
        ),
        fit_shift(
            "fine_by_pot_volume",
            "fine grade, for each doubling of pot volume",
            effects,
            product,
            independent,
            2,
        ),
    ]
    return [shift_value(shift, None) for shift in shifts]


def member_means(effects: Effects, values: Floats) -> Floats:
    """The mean of a value over each member's contrasts."""
    codes, position = np.unique(effects.member, return_inverse=True)
    sums = np.bincount(position, weights=values, minlength=len(codes))
    return np.asarray((sums / np.bincount(position, minlength=len(codes)))[position])


def _dry_shift(given: Answer, dry: Cells, dry_ties: Ties) -> Shift:
    """Starts on dry mix beside moist ones: both kinds of contrasts in one model, dry ones as series of their own."""
    words = "start on dry mix beside moist or soaked"
    dry_effects = connected(dry, given.repeatability.sd)
    both = joined(given.effects, dry_effects)
    values = np.concatenate([np.zeros(len(given.effects)), np.ones(len(dry_effects))])
    if given.independence is None or not len(dry_effects):
        return Shift("dry_start", words, None, None, None, None, None, 0, 0, "No test started on dry mix.")
    ties = Ties({**dry_ties.clubs, **_clubs_of(given)}, dry_ties.rounds, dry_ties.lots)
    known = set(given.independence.unit)
    independent = (
        given.independence
        if set(dry_effects.member.tolist()) <= known
        else independence([int(member) for member in both.member], ties)
    )
    return fit_shift("dry_start", words, both, values, independent)


def _clubs_of(given: Answer) -> dict[int, frozenset[str]]:
    """Units of the fitted growers as codes, so that they stay together beside growers with dry starts only."""
    if given.independence is None:
        return {}
    return {member: frozenset({f"unit {unit}"}) for member, unit in given.independence.unit.items()}


def joined(first: Effects, second: Effects) -> Effects:
    """Both lots of contrasts, the series of the second numbered on from those of the first."""
    shift = int(max(first.series.max(initial=-1), second.series.max(initial=-1))) + 1
    return Effects(
        member=np.concatenate([first.member, second.member]),
        series=np.concatenate([first.series, second.series + shift]),
        share=np.concatenate([first.share, second.share]),
        reference=np.concatenate([first.reference, second.reference]),
        y=np.concatenate([first.y, second.y]),
        own_variance=np.concatenate([first.own_variance, second.own_variance]),
        reference_variance=np.concatenate([first.reference_variance, second.reference_variance]),
        pots=np.concatenate([first.pots, second.pots]),
        reference_pots=np.concatenate([first.reference_pots, second.reference_pots]),
    )
