"""What stands behind a component's headline: sensitivity, robustness lines, contrasts, settling, agreement, tables of
runs that are in no headline. Frames in, values out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import polars as pl

from pipeline.compare.behind.bend import bend_value
from pipeline.compare.behind.consistency import ACTION, agreement_value, member_z
from pipeline.compare.behind.direct_and_indirect import evidence_value
from pipeline.compare.behind.predeclared import exploratory_value, kinds_of, predeclared_value
from pipeline.compare.behind.robustness import Other, choices_value, robustness_lines, sensitivity_value
from pipeline.compare.behind.settling import Pours, settling_shift, settling_value
from pipeline.compare.behind.small_shares import small_shares_value
from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.independence import independence
from pipeline.compare.contrasts.selection import cells_of, single_runs, ties_of
from pipeline.compare.model.design import headline_design
from pipeline.compare.model.estimate import estimate, members_at
from pipeline.compare.model.prediction import NEEDED_FOR_MEAN, predict
from pipeline.compare.model.profile import profile_interval
from pipeline.compare.stopped.answer import answer_by_stopped_runs
from pipeline.compare.values.share_values import interval
from pipeline.compare.verdict.answer import Answer, Numbers, connected
from pipeline.settings import Settings
from schemas.trade.headline import AGED, DRY, FRESH_POUR, OTHER_PART, PLANTED, only

MEMBERS_FOR_AGREEMENT = 8
SPREADS = {
    "member_0": "sd_member_level",
    "member_1": "sd_member_slope",
    "series_0": "sd_series",
    "mix": "sd_mix",
}


@dataclass(frozen=True)
class Behind:
    """What the details are made from: all runs of the component, the fresh headline's, its answer, the settled pour."""

    every: pl.DataFrame
    chosen: pl.DataFrame
    fresh: Answer
    pour: int


def details_value(
    behind: Behind, numbers: Numbers, settings: Settings, recommended: float | None
) -> dict[str, Any]:
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
            _other_looks(behind, poured, settings),
            stated_share,
            _with_stopped(fresh, poured, numbers),
        ),
        "evidence": evidence_value(fresh),
        "spread_intervals": spread_value(fresh),
        "contrasts": predeclared_value(
            fresh, poured, cells_of(dry, settings.stopwatch_step_s), ties_of(dry), settling
        ),
        "exploratory": exploratory_value(fresh, poured),
        "settling": settling_value(pours, ties, fresh.repeatability.sd),
        "small_shares": small_shares_value(fresh, settings.small_shares, _screened(poured)),
        "bend": bend_value(fresh),
        "agreement": agreement_value(fresh, numbers.reference_share),
        "apart": apart_value(behind.every, fresh, settings),
        "rests_on": rests_on(poured),
    }


def _with_stopped(fresh: Answer, poured: pl.DataFrame, numbers: Numbers) -> Answer | None:
    """The answer with stopped runs taken in as bounds, where there are some but too few to decide."""
    if (
        fresh.stopped_runs_forbid_clears
        or fresh.by_censored
        or fresh.fitted is None
        or not fresh.cells.stopped.any()
    ):
        return None
    taken = answer_by_stopped_runs(
        replace(fresh, stopped_runs_forbid_clears=True), single_runs(poured), ties_of(poured), numbers
    )
    return taken if taken.by_censored else None


def _screened(poured: pl.DataFrame) -> np.ndarray:
    return kinds_of(poured).screened


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


def _other_looks(behind: Behind, poured: pl.DataFrame, settings: Settings) -> list[Other]:
    """Other choices of runs for the robustness lines."""
    step = settings.stopwatch_step_s
    setups = (
        poured.group_by("setup_type")
        .agg(pl.col("series_code").n_unique().alias("n"))
        .sort("n", "setup_type", descending=[True, False])
    )
    commonest = setups["setup_type"][0] if setups.height else ""
    cells = behind.fresh.cells
    looks = [
        ("repeated_only", "only mixes filled into two pots or more", cells.chosen(cells.pots > 1), poured),
        _look("settled", "settled pots", behind.chosen.filter(pl.col("pour_no") == behind.pour), step),
        _look(
            "loose_only", "only shares measured loose", poured.filter(pl.col("measured_by") == "loose"), step
        ),
        _look(
            "commonest_setup",
            f"only pots held {'in another way' if commonest == 'other' else 'on a ' + commonest.replace('_', ' ')}",
            poured.filter(pl.col("setup_type") == commonest),
            step,
        ),
    ]
    if behind.fresh.fitted is not None:
        far = [member for member, z in member_z(behind.fresh.fitted).items() if abs(z) > ACTION]
        if far:
            growers = "grower that looks" if len(far) == 1 else "growers that look"
            words = f"without the {len(far)} {growers} unlike the others"
            kept = poured.filter(~pl.col("member_code").is_in(far))
            looks.append(_look("without_far_off", words, kept, step))
    return [Other(check, words, chosen, ties_of(runs)) for check, words, chosen, runs in looks]


def _look(check: str, words: str, runs: pl.DataFrame, step: float) -> tuple[str, str, Cells, pl.DataFrame]:
    return check, words, cells_of(runs, step), runs


def spread_value(given: Answer) -> dict[str, Any]:
    """Each spread with its 95 % profile interval, and a sentence where it is estimated as zero."""
    if given.fitted is None:
        return {"why": given.why}
    fit, value = given.fitted.estimate.fit, dict[str, Any]()
    names = dict(SPREADS)
    if not given.fitted.estimate.design.slope:
        names.pop("member_1")
    for name, key in names.items():
        limits = profile_interval(fit, name)
        if limits is not None:
            value[key] = {"sd": float(np.sqrt(fit.variance(name))), "low": limits[0], "high": limits[1]}
            if limits[1] is None:
                value[key]["why"] = "Nothing is ruled out at the upper end."
    if fit.variance("member_0") == 0.0 and fit.variance("member_1") == 0.0:
        few = given.fitted.evidence.units_in_fit < MEMBERS_FOR_AGREEMENT
        value["words"] = (
            "Too few growers to tell how much they differ; an estimate of zero does not mean that they agree."
            if few
            else "Growers' ratios differ by no more than their own series do; the interval says what is ruled out."
        )
    return value


def apart_value(every: pl.DataFrame, fresh: Answer, settings: Settings) -> dict[str, Any]:
    """Tables of starts on dry mix, aged and planted pots and other parts of the pour: in no headline."""
    value = {}
    for reason in (DRY, AGED, PLANTED, OTHER_PART):
        runs = every.filter(only(reason))
        first = runs.filter(
            pl.col("pour_no") == pl.col("pour_no").min().over("series_code", "component_share", "pot_no")
        )
        value[reason.name] = {
            "runs": runs.height,
            "shares": _plain_table(cells_of(first, settings.stopwatch_step_s), first, fresh),
        }
    return value


def _plain_table(cells: Cells, runs: pl.DataFrame, fresh: Answer) -> list[dict[str, Any]]:
    """Counts per share, with ratio and interval where 3 growers have a baseline of the same kind."""
    effects = connected(cells, fresh.repeatability.sd)
    lines: list[dict[str, Any]] = []
    if not np.any(effects.based):
        return lines
    counted = effects.member[effects.based].tolist()
    independent = independence(effects.member.tolist(), ties_of(runs), counted)
    design = headline_design(effects, independent)
    members = members_at(design)
    estimated = (
        estimate(design)
        if members.max() >= NEEDED_FOR_MEAN and len(effects) > design.layout.X.shape[1]
        else None
    )
    prediction = None if estimated is None else predict(estimated, fresh.repeatability.sd**2, 1.25)
    for j, share in enumerate(design.shares):
        line: dict[str, Any] = {"share": float(share), "members": int(members[j]), "ratio": None, "ci": None}
        if estimated is not None and prediction is not None and members[j] >= NEEDED_FOR_MEAN:
            line["ratio"] = float(np.exp(estimated.mean[j]))
            line["ci"] = interval(prediction.low[j], prediction.high[j])
        if line["ci"] is None:
            line["why"] = f"Fewer than {NEEDED_FOR_MEAN} growers with a baseline of the same kind."
        lines.append(line)
    return lines


def rests_on(poured: pl.DataFrame) -> dict[str, Any]:
    """Setups, grades and pot volumes that the headline rests on, in growers, and how many used two setups or more."""
    per_member = poured.group_by("member_code").agg(pl.col("setup_type").n_unique().alias("setups"))
    volumes = poured["pot_volume_ml"].to_numpy()
    return {
        "setups": _growers(poured, "setup_type"),
        "grades": _growers(poured, "component_grade"),
        "pot_volume_ml": np.quantile(volumes, [0.0, 0.5, 1.0]).tolist() if len(volumes) else [],
        "members_with_two_setups": int((per_member["setups"] > 1).sum()),
    }


def _growers(poured: pl.DataFrame, column: str) -> dict[str, int]:
    table = (
        poured.drop_nulls(column)
        .group_by(column)
        .agg(pl.col("member_code").n_unique().alias("n"))
        .sort(column)
    )
    return {str(name): int(count) for name, count in table.iter_rows()}
