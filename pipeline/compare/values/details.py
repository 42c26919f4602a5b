"""What stands behind a component's headline, put together. Frames in, values out."""

from __future__ import annotations

from typing import Literal

import numpy as np
import polars as pl

from pipeline.compare.behind.bend import bend_value
from pipeline.compare.behind.consistency import agreement_value
from pipeline.compare.behind.direct_and_indirect import evidence_value
from pipeline.compare.behind.predeclared import exploratory_value, kinds_of, predeclared_value
from pipeline.compare.behind.regret import regret_value
from pipeline.compare.behind.robustness import choices_value, robustness_lines, sensitivity_value
from pipeline.compare.behind.settling import Pours, settling_shift, settling_value
from pipeline.compare.behind.small_shares import small_shares_value
from pipeline.compare.contrasts.selection import cells_of, ties_of
from pipeline.compare.model.prediction import NEEDED_FOR_MEAN
from pipeline.compare.model.profile import profile_interval
from pipeline.compare.values.apart import apart_value
from pipeline.compare.values.looks import Behind, other_looks, with_stopped_runs
from pipeline.compare.verdict.answer import Answer, Numbers
from pipeline.settings import Settings
from schemas.results.details import DetailsValue, RestsOnValue, SpreadLine, SpreadsValue
from schemas.trade.headline import DRY, FRESH_POUR, only

MEMBERS_FOR_AGREEMENT = 8
SHARED = {
    "peat_lot": "one bag of base",
    "component_lot": "one bag of the component",
    "round": "one test day",
}
"""Column whose one value all tests may share -> what that is."""
SPREADS: dict[str, Literal["sd_member_level", "sd_member_slope", "sd_series", "sd_mix"]] = {
    "member_0": "sd_member_level",
    "member_1": "sd_member_slope",
    "series_0": "sd_series",
    "mix": "sd_mix",
}
"""Name of a variance in the model -> key of its spread."""


def details_value(
    behind: Behind, numbers: Numbers, settings: Settings, recommended: float | None
) -> DetailsValue:
    """All keys beyond the contract's own, by name."""
    fresh = behind.fresh
    poured = behind.chosen.filter(pl.col("pour_no") == FRESH_POUR)
    pours, ties = pours_of(behind.chosen), ties_of(behind.chosen)
    dry = behind.every.filter(only(DRY) & (pl.col("pour_no") == FRESH_POUR))
    settling = settling_shift(pours, ties, behind.pour, fresh.repeatability.sd)
    stated_share = (
        recommended
        if recommended is not None
        and fresh.fitted is not None
        and recommended in fresh.fitted.estimate.design.shares
        else None
    )
    return {
        "sensitivity": sensitivity_value(fresh, numbers),
        "choices": choices_value(fresh),
        "robustness": robustness_lines(
            fresh,
            numbers,
            other_looks(behind, poured, settings),
            stated_share,
            with_stopped_runs(fresh, poured, numbers),
        ),
        "evidence": evidence_value(fresh),
        "spread_intervals": spread_value(fresh),
        "contrasts": predeclared_value(
            fresh, poured, cells_of(dry, settings.stopwatch_step_s), ties_of(dry), settling
        ),
        "exploratory": exploratory_value(fresh, poured),
        "settling": settling_value(pours, ties, fresh.repeatability.sd),
        "small_shares": small_shares_value(
            fresh, behind.settled, settings.small_shares, kinds_of(poured).screened
        ),
        "bend": bend_value(fresh),
        "agreement": agreement_value(fresh, numbers.reference_share),
        "regret": regret_value(fresh, settings.weight_of_too_little, settings.weight_of_too_much),
        "apart": apart_value(behind.every, fresh, settings),
        "rests_on": rests_on(poured),
    }


def pours_of(chosen: pl.DataFrame) -> Pours:
    """Timed headline pours, pots numbered over all series."""
    timed = chosen.filter(pl.col("ended") == "reached").with_columns(
        pl.struct("series_code", "component_share", "pot_no").rank("dense").alias("pot")
        if chosen.height
        else pl.lit(0).alias("pot")
    )
    return Pours(
        member=timed["member_code"].to_numpy().astype(np.int64),
        series=timed["series_code"].to_numpy().astype(np.int64),
        share=timed["merged"].to_numpy().astype(np.float64),
        pot=timed["pot"].to_numpy().astype(np.int64),
        pour=timed["pour_no"].to_numpy().astype(np.int64),
        log_rate=np.log(timed["rate_ml_min_l"].to_numpy().astype(np.float64)),
    )


def spread_value(given: Answer) -> SpreadsValue:
    """Each spread with its 95 % profile interval, and a sentence where it is estimated as zero."""
    if given.fitted is None:
        return {"why": given.why}
    fit = given.fitted.estimate.fit
    value: SpreadsValue = {}
    names = dict(SPREADS)
    if not given.fitted.estimate.design.slope:
        names.pop("member_1")
    for name, key in names.items():
        limits = profile_interval(fit, name)
        if limits is not None:
            low, high = limits
            line: SpreadLine = {"sd": float(np.sqrt(fit.variance(name))), "low": low, "high": high}
            if high is None:
                line["why"] = "Nothing is ruled out at the upper end."
            value[key] = line
    if fit.variance("member_0") == 0.0 and fit.variance("member_1") == 0.0:
        few = given.fitted.evidence.units_in_fit < MEMBERS_FOR_AGREEMENT
        value["words"] = (
            "Too few growers to tell how much they differ; an estimate of zero does not mean that they agree."
            if few
            else "Growers' ratios differ by no more than their own series do; the interval says what is ruled out."
        )
    return value


def rests_on(poured: pl.DataFrame) -> RestsOnValue:
    """Setups, grades and pot volumes that the headline rests on, in growers, and how many used two setups or more."""
    per_member = poured.group_by("member_code").agg(pl.col("setup_type").n_unique().alias("setups"))
    volumes = poured["pot_volume_ml"].to_numpy()
    value: RestsOnValue = {
        "setups": _growers(poured, "setup_type"),
        "grades": _growers(poured, "component_grade"),
        "pot_volume_ml": np.quantile(volumes, [0.0, 0.5, 1.0]).tolist() if len(volumes) else [],
        "members_with_two_setups": int((per_member["setups"] > 1).sum()),
        "largest_part_of_series": _largest_part(poured),
        "shared_by_all": [words for column, words in SHARED.items() if _shared_by_all(poured, column)],
    }
    if value["largest_part_of_series"] is None:
        value["why"] = "Which part of the series one grower made is not said of fewer than 3 growers."
    return value


def _largest_part(poured: pl.DataFrame) -> float | None:
    """Of all series, those by the one grower with the most; None below 3 growers, where it would say who."""
    series = poured.group_by("member_code").agg(pl.col("series_code").n_unique().alias("series"))["series"]
    return None if len(series) < NEEDED_FOR_MEAN else float(series.to_numpy().max() / series.to_numpy().sum())


def _shared_by_all(poured: pl.DataFrame, column: str) -> bool:
    """Whether all of 2 growers' tests or more name one and the same thing here."""
    named = poured[column].str.to_lowercase()
    return poured["member_code"].n_unique() > 1 and not named.has_nulls() and named.n_unique() == 1


def _growers(poured: pl.DataFrame, column: str) -> dict[str, int]:
    table = (
        poured.drop_nulls(column)
        .group_by(column)
        .agg(pl.col("member_code").n_unique().alias("n"))
        .sort(column)
    )
    return {str(name): int(count) for name, count in table.iter_rows()}
