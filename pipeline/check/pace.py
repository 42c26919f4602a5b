"""A drain time far from those of its own series: nearly always a slip of the clock's units, so it is worth a line."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from pipeline.check.findings import RowRule
from pipeline.check.numbers import figures
from schemas.trade.slips import CLOCK, DECIMAL, slips_of

FAR = 8.0
FEWEST = 4
NEAR = 1.6


@dataclass(frozen=True)
class Pace:
    """Times of a series are of one kind: far from their middle one, a row is asked about, never held."""

    id: str = "time_unlike_series"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Advice on rows that took 8 times as long as the middle row of their series, or an eighth of it, with the
        volumes of pot and water allowed for."""
        timed = rows.filter(pl.col("ended") == "reached").with_columns(
            pace=pl.col("drain_time_s") * pl.col("pot_volume_ml") / pl.col("collected_ml")
        )
        middle = pl.col("pace").median().over("series_no")
        times = pl.col("pace") / middle
        known = timed.with_columns(
            times=pl.when(times >= 1).then(times).otherwise(1 / times),
            longer=times >= 1,
            enough=pl.len().over("series_no") >= FEWEST,
        )
        slip: pl.Expr = pl.lit("")
        for factor in [slip.factor for slip in slips_of(CLOCK, DECIMAL)]:
            near = pl.col("times").is_between(factor / NEAR, factor * NEAR)
            way = pl.when("longer").then(pl.lit("shorter")).otherwise(pl.lit("longer"))
            words = pl.concat_str(
                pl.lit(" It would be like the others if it were "), pl.lit(f"{factor:g} times "), way
            )
            slip = pl.when(near).then(pl.concat_str(words, pl.lit("."))).otherwise(slip)
        details = {
            "times": figures("times", 2),
            "way": pl.when("longer").then(pl.lit("as long as")).otherwise(pl.lit("shorter than")),
            "series": pl.col("series"),
            "slip": slip,
        }
        return RowRule(self.id, "drain_time", pl.col("enough") & (pl.col("times") >= FAR), details).find(
            known
        )
