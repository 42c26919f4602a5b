"""What a sheet itself says, in order; nothing is pooled and nothing rests on the month.

  accepted runs of a sheet that wait for no answer
  -> rates      every pour, ml per minute and litre of mix (`normalise`)
  -> ratios     each mix to the series' own straight base, freshly filled pots (`compare`'s own contrasts)
  -> repeats    the largest factor between two pots of one mix
  -> others     where each ratio lies among other growers' (`others`)
  -> notes      what has no figure, and why (`wording`)

Each sheet gets what it would get alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import polars as pl

from pipeline.check.steps import Checked
from pipeline.check.waits import waiting_rows
from pipeline.jobs.own_result.contrasts import contrasts_of_series
from pipeline.jobs.own_result.others import OtherGrowers
from pipeline.jobs.own_result.wording import arithmetic, notes
from pipeline.normalise.steps import add_rates
from pipeline.settings import Settings
from schemas.kinds.run import RUN
from schemas.receipt import OwnRatio, PotRate, SeriesResult
from schemas.trade.headline import FRESH_POUR, REASONS, in_headline
from schemas.trade.shares import same_share

DIGITS = 6
Row = Mapping[str, Any]


def own_results(
    checked: Checked, settings: Settings, others: OtherGrowers | None = None
) -> dict[int, list[SeriesResult]]:
    """By file_id, the own result of each series of its accepted run sheet, in the order of the sheet; every file
    has its list. Beside a pool, `others` says where the ratios lie."""
    results: dict[int, list[SeriesResult]] = {file_id: [] for file_id in checked.files["file_id"]}
    runs = checked.accepted_of(RUN).join(
        waiting_rows(checked), on=["file_id", "sheet_row"], how="anti", maintain_order="left"
    )
    if runs.is_empty():
        return results
    alone = pl.concat_str(pl.col("file_id").cast(pl.String), pl.col("series_key"), separator="\t")
    rated = add_rates(runs).with_columns(
        in_headline().alias("in_headline"),
        pl.coalesce(pl.when(reason.holds).then(pl.lit(reason.label)) for reason in REASONS).alias("apart"),
        label_key=pl.col("series_key"),
        series_key=alone,
    )
    ratios = _by_series(contrasts_of_series(rated, settings))
    repeats = _repeat_factors(rated)
    for (_, series_key), rows in _by_series(rated).items():
        key = (rows[0]["member_key"], series_key)
        results[rows[0]["file_id"]].append(
            _series_result(rows, list(_ratios(ratios.get(key, []), others)), repeats.get(key))
        )
    return results


def _by_series(frame: pl.DataFrame) -> dict[tuple[str, str], list[Row]]:
    series: dict[tuple[str, str], list[Row]] = {}
    for row in frame.iter_rows(named=True):
        series.setdefault((row["member_key"], row["series_key"]), []).append(row)
    return series


def _series_result(rows: Sequence[Row], ratios: list[OwnRatio], repeat_factor: float | None) -> SeriesResult:
    ordered = sorted(rows, key=lambda row: (row["component_share"], row["pot_no"], row["pour_no"]))
    first = rows[0]
    timed = next((row for row in ordered if row["ended"] == "reached"), None)
    return {
        "member": first["member"],
        "series": first["series"],
        "tested_on": max(row["tested_on"] for row in rows).isoformat(),
        "component": next((row["component"] for row in rows if row["component"]), None),
        "base": first["base"],
        "pots": [_pot_rate(row) for row in ordered],
        "ratios": ratios,
        "repeat_factor": repeat_factor,
        "by_hand": None if timed is None else arithmetic(timed),
        "notes": notes(ordered, {ratio["share"] for ratio in ratios}),
    }


def _pot_rate(row: Row) -> PotRate:
    rate = None if row["rate_ml_min_l"] is None else _rounded(row["rate_ml_min_l"])
    stopped = row["ended"] == "stopped"
    return {
        "share": row["component_share"],
        "pot": row["pot_no"],
        "pour": row["pour_no"],
        "ended": row["ended"],
        "rate_ml_min_l": None if stopped else rate,
        "slower_than_ml_min_l": rate if stopped else None,
    }


def _ratios(contrasts: Sequence[Row], others: OtherGrowers | None) -> Iterator[OwnRatio]:
    for row in contrasts:
        mix, share, ratio = (row["component"], row["base"]), row["component_share"], row["ratio"]
        yield {
            "share": share,
            "ratio": _rounded(ratio),
            "pots": row["pots"],
            "others": others.beside(mix, share, ratio, row["member_key"]) if others is not None else None,
        }


def _repeat_factors(rated: pl.DataFrame) -> dict[tuple[str, str], float]:
    """By member and series: the largest factor between the rates of two freshly filled pots of one mix."""
    fresh = rated.filter(pl.col("ended") == "reached", "in_headline", pl.col("pour_no") == FRESH_POUR)
    keys = ["member_key", "series_key"]
    new_mix = ~same_share(pl.col("component_share").diff().over(keys))
    factors = (
        fresh.sort(*keys, "component_share")
        .with_columns(mix=new_mix.fill_null(True).cast(pl.Int64).cum_sum())
        .group_by(*keys, "mix")
        .agg(pl.len().alias("pots"), factor=pl.col("rate_ml_min_l").max() / pl.col("rate_ml_min_l").min())
        .filter(pl.col("pots") > 1)
        .group_by(keys)
        .agg(pl.col("factor").max())
    )
    return {(member, series): _rounded(factor) for member, series, factor in factors.iter_rows()}


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")
