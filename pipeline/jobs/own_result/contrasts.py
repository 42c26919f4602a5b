"""Every series' contrasts without pooling them: quick enough for a receipt and a page."""

from __future__ import annotations

import polars as pl

from pipeline.compare.contrasts.cells import Cells
from pipeline.compare.contrasts.effects import contrast
from pipeline.compare.contrasts.selection import cells_of, of_component, with_codes
from pipeline.normalise.steps import add_rates
from pipeline.settings import Settings
from schemas.trade.headline import FRESH_POUR

SCHEMA = {
    "component": pl.String,
    "base": pl.String,
    "grade": pl.String,
    "member": pl.String,
    "member_key": pl.String,
    "series": pl.String,
    "series_key": pl.String,
    "component_share": pl.Float64,
    "pots": pl.Int64,
    "effect": pl.Float64,
    "ratio": pl.Float64,
}


def fresh_contrasts(runs: pl.DataFrame, settings: Settings) -> pl.DataFrame:
    """One row per mix and series with its own straight base, freshly filled pots, made as the comparison makes
    them, near shares joined (`SCHEMA`); `effect` is the ln ratio, `pots` those of the mix."""
    if runs.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    coded = _fresh(add_rates(runs))
    pairs = coded.select("component", "base").drop_nulls().unique().sort("component", "base")
    by_component = [pl.DataFrame(schema=SCHEMA)]
    for component, base in pairs.iter_rows():
        chosen = of_component(coded, component, base)
        contrasts = _based(chosen, settings).with_columns(component=pl.lit(component), base=pl.lit(base))
        by_component.append(_in_order(contrasts))
    return pl.concat(by_component)


def contrasts_of_series(rated: pl.DataFrame, settings: Settings) -> pl.DataFrame:
    """The same for each series alone, every share as it was mixed, whatever else the frame holds. `rated`: runs with
    their rates; a series has one component and one base."""
    if rated.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    return _in_order(_based(_fresh(rated).with_columns(merged=pl.col("component_share")), settings))


def _fresh(rated: pl.DataFrame) -> pl.DataFrame:
    return with_codes(rated).filter("in_headline", pl.col("pour_no") == FRESH_POUR)


def _based(chosen: pl.DataFrame, settings: Settings) -> pl.DataFrame:
    """Contrasts with the series' own straight base; whose they are stands beside them."""
    cells: Cells = cells_of(chosen, settings.stopwatch_step_s)
    effects = contrast(cells, settings.repeatability_sd**2)
    based = effects.chosen(effects.based)
    about = chosen.group_by("series_code").agg(
        pl.col("member", "member_key", "series", "series_key", "base").first(),
        pl.col("component").drop_nulls().first(),
        pl.col("component_grade").drop_nulls().first().alias("grade"),
    )
    rows = pl.DataFrame(
        {"series_code": based.series, "component_share": based.share, "pots": based.pots, "effect": based.y}
    )
    return rows.join(about, on="series_code", how="left", maintain_order="left").with_columns(
        pl.col("effect").exp().alias("ratio")
    )


def _in_order(contrasts: pl.DataFrame) -> pl.DataFrame:
    return contrasts.select([pl.col(name).cast(kind) for name, kind in SCHEMA.items()])
