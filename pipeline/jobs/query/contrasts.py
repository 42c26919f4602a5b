"""Every series' contrasts of the pool as it stands, without pooling them: quick enough for a page."""

from __future__ import annotations

import polars as pl

from pipeline.compare.contrasts.effects import contrast
from pipeline.compare.contrasts.selection import cells_of, of_component, with_codes
from pipeline.normalise.steps import add_rates
from pipeline.settings import Settings
from schemas.trade.headline import FRESH_POUR

SCHEMA = {
    "component": pl.String,
    "grade": pl.String,
    "member": pl.String,
    "member_key": pl.String,
    "series": pl.String,
    "component_share": pl.Float64,
    "effect": pl.Float64,
    "ratio": pl.Float64,
}


def fresh_contrasts(runs: pl.DataFrame, settings: Settings) -> pl.DataFrame:
    """One row per mix and series with its own straight base, freshly filled pots, made as the comparison makes
    them: component, grade, member, member_key, series, component_share, effect (ln ratio), ratio."""
    if runs.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    coded = with_codes(add_rates(runs)).filter("in_headline", pl.col("pour_no") == FRESH_POUR)
    pairs = coded.select("component", "base").drop_nulls().unique().sort("component", "base")
    found = [pl.DataFrame(schema=SCHEMA)]
    for component, base in pairs.iter_rows():
        chosen = of_component(coded, component, base)
        effects = contrast(cells_of(chosen, settings.stopwatch_step_s), settings.repeatability_sd**2)
        based = effects.chosen(effects.based)
        about = chosen.group_by("series_code").agg(
            pl.col("member", "member_key", "series").first(),
            pl.col("component_grade").drop_nulls().first().alias("grade"),
        )
        rows = pl.DataFrame({"series_code": based.series, "component_share": based.share, "effect": based.y})
        named = rows.join(about, on="series_code", how="left", maintain_order="left").with_columns(
            pl.lit(component).alias("component"), pl.col("effect").exp().alias("ratio")
        )
        found.append(named.select([pl.col(name).cast(kind) for name, kind in SCHEMA.items()]))
    return pl.concat(found)
