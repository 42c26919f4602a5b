"""The two frames behind the pictures: every contrast to an own baseline, and every member's own ratios."""

from __future__ import annotations

import numpy as np
import polars as pl

from pipeline.compare.arrays import Floats
from pipeline.compare.model.estimate import NORMAL_95, t_quantile
from pipeline.compare.verdict.answer import Answer

EFFECT_COLUMNS = {
    "component": pl.String,
    "grade": pl.String,
    "member": pl.String,
    "series": pl.String,
    "club": pl.String,
    "setup_type": pl.String,
    "climate_zone": pl.String,
    "pot_volume_ml": pl.Float64,
    "component_share": pl.Float64,
    "effect": pl.Float64,
    "ratio": pl.Float64,
    "variance": pl.Float64,
    "pots": pl.Int64,
    "baseline_pots": pl.Int64,
    "state": pl.String,
}
MEMBER_COLUMNS = {
    "component": pl.String,
    "state": pl.String,
    "member": pl.String,
    "component_share": pl.Float64,
    "ratio": pl.Float64,
    "ratio_low": pl.Float64,
    "ratio_high": pl.Float64,
    "series": pl.Int64,
    "pots": pl.Int64,
}


def effects_frame(given: Answer, runs: pl.DataFrame, component: str, state: str) -> pl.DataFrame:
    """One row per contrast of a mix to its own series' baseline; `variance` is the pouring error's."""
    effects = given.effects.chosen(given.effects.based)
    about = runs.group_by("series_code").agg(
        pl.col("member", "series", "club", "setup_type", "climate_zone", "pot_volume_ml").first(),
        pl.col("component_grade").drop_nulls().first().alias("grade"),
    )
    table = pl.DataFrame(
        {
            "series_code": effects.series,
            "component_share": effects.share,
            "effect": effects.y,
            "ratio": np.exp(effects.y),
            "variance": effects.own_variance + effects.reference_variance,
            "pots": effects.pots,
            "baseline_pots": effects.reference_pots,
        }
    )
    named = table.join(about, on="series_code", how="left", maintain_order="left").with_columns(
        pl.lit(component).alias("component"), pl.lit(state).alias("state")
    )
    sorted_rows = named.sort("member", "series", "component_share", maintain_order=True)
    return sorted_rows.select([pl.col(name).cast(kind) for name, kind in EFFECT_COLUMNS.items()])


def members_frame(given: Answer, runs: pl.DataFrame, component: str, state: str) -> pl.DataFrame:
    """One row per member and share: the geometric mean ratio over their series, with a 95 % interval of their own.

    The interval rests on the spread of series and fillings that the pool found; without a pooled model it needs two
    series of the member, else it is blank.
    """
    effects = given.effects.chosen(given.effects.based)
    names = dict(runs.select("member_code", "member").unique("member_code", keep="first").iter_rows())
    rows = []
    for member in np.unique(effects.member):
        for share in np.unique(effects.share[effects.member == member]):
            own = np.flatnonzero((effects.member == member) & (effects.share == share))
            y = effects.y[own]
            half = _half_width(given, y, effects.own_variance[own] + effects.reference_variance[own])
            rows.append(
                {
                    "component": component,
                    "state": state,
                    "member": names[int(member)],
                    "component_share": float(share),
                    "ratio": float(np.exp(y.mean())),
                    "ratio_low": None if half is None else float(np.exp(y.mean() - half)),
                    "ratio_high": None if half is None else float(np.exp(y.mean() + half)),
                    "series": len(np.unique(effects.series[own])),
                    "pots": int(effects.pots[own].sum()),
                }
            )
    return pl.DataFrame(rows, schema=MEMBER_COLUMNS).sort("member", "component_share", maintain_order=True)


def _half_width(given: Answer, y: Floats, variance: Floats) -> float | None:
    if given.fitted is not None:
        fit = given.fitted.estimate.fit
        _, series, mix, _ = fit.layout.split(fit.variances)
        return NORMAL_95 * float(np.sqrt((series.sum() + mix.sum() + variance.mean()) / len(y)))
    if len(y) < 2:
        return None
    return float(t_quantile(np.array(len(y) - 1.0)) * y.std(ddof=1) / np.sqrt(len(y)))
