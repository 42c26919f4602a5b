"""What needs more than one cell: the share from percent or parts, the pot's volume from its inside lengths."""

from __future__ import annotations

import json
from fractions import Fraction

import polars as pl

from pipeline.intake.cells.volumes import pot_volume_rule
from pipeline.intake.received import details_text
from pipeline.intake.rows.convert import Converted, row_problems
from schemas.trade.pots import truncated_cone_ml

SHARES_AGREE_POINTS = 0.5
ROUNDING = 1e-9
LENGTHS = ("pot_top_diameter", "pot_base_diameter", "fill_depth")


def shares(cells: pl.DataFrame, converted: Converted) -> tuple[pl.Series, list[pl.DataFrame]]:
    """Percent of component to 0.1 point, from `component_share`, `parts` or the two columns of parts, and the
    problems of rows where none is given or they disagree."""
    percent = _values(cells, converted, "component_share")
    parts = _values(cells, converted, "parts")
    columns, problems = _from_two_columns(cells, converted)
    given = [_given(cells, name) for name in ("component_share", "parts", "base_parts", "component_parts")]
    none = ~(given[0] | given[1] | given[2] | given[3])
    problems.append(row_problems(cells, none, _share_column(cells), "share_missing"))
    ones = _ones_among_fractions(cells)
    problems.append(row_problems(cells, ones, "component_share", "share_is_fraction", _percent_of_one(cells)))
    percent = percent.zip_with(~ones, pl.Series([None], dtype=pl.Float64))
    share = percent.zip_with(percent.is_not_null(), parts)
    problems.append(_disagreeing(cells, percent, parts, "parts"))
    problems.append(_disagreeing(cells, share, columns, "base_parts"))
    share = share.zip_with(share.is_not_null(), columns)
    return share.round(1, mode="half_away_from_zero").alias("component_share"), problems


def _ones_among_fractions(cells: pl.DataFrame) -> pl.Series:
    """True for a bare 1 in a file that has shares such as 0.4: it may be the whole, 100 %."""
    if "component_share" not in cells.columns:
        return pl.Series([False], dtype=pl.Boolean).new_from_index(0, cells.height)
    share = pl.col("component_share")
    fraction = share.str.contains(r"^0?[.,]0*[1-9][0-9]*$").fill_null(False)
    one = share.str.contains(r"^1(?:[.,]0+)?$").fill_null(False)
    return cells.select(one & fraction.any().over("file_id"))["component_share"]


def _percent_of_one(cells: pl.DataFrame) -> pl.Series:
    return pl.Series([details_text({"percent": "100"})]).new_from_index(0, cells.height)


def _share_column(cells: pl.DataFrame) -> str:
    return next(
        (name for name in ("component_share", "parts", "base_parts") if name in cells.columns), "parts"
    )


def _from_two_columns(cells: pl.DataFrame, converted: Converted) -> tuple[pl.Series, list[pl.DataFrame]]:
    base = _values(cells, converted, "base_parts")
    component = _values(cells, converted, "component_parts")
    has_base, has_component = _given(cells, "base_parts"), _given(cells, "component_parts")
    whole = base + component
    percent = (100 * component / whole).zip_with(
        (whole > 0).fill_null(False), pl.Series([None], dtype=pl.Float64)
    )
    nothing = ((whole == 0) & has_base & has_component).fill_null(False)
    return percent, [
        row_problems(cells, has_base & ~has_component, "base_parts", "parts_half_given"),
        row_problems(cells, has_component & ~has_base, "component_parts", "parts_half_given"),
        row_problems(cells, nothing, "base_parts", "parts_of_nothing"),
    ]


def _disagreeing(cells: pl.DataFrame, one: pl.Series, other: pl.Series, name: str) -> pl.DataFrame:
    apart = ((one - other).abs() > SHARES_AGREE_POINTS + ROUNDING).fill_null(False)
    if not apart.any():
        return row_problems(cells, apart, name, "shares_differ")
    pairs = [
        None if not differ else details_text({"one": f"{first:.4g}", "other": f"{second:.4g}"})
        for differ, first, second in zip(apart, one, other, strict=True)
    ]
    return row_problems(cells, apart, name, "shares_differ", pl.Series(pairs, dtype=pl.String))


def pot_volumes(cells: pl.DataFrame, converted: Converted) -> tuple[pl.Series, pl.Series, list[pl.DataFrame]]:
    """Millilitres of mix in the pot, whether they were computed from the inside lengths, and the problems."""
    typed = _values(cells, converted, "pot_volume")
    blank = ~_given(cells, "pot_volume")
    lengths = [_values(cells, converted, name) for name in LENGTHS]
    all_given = _given(cells, LENGTHS[0]) & _given(cells, LENGTHS[1]) & _given(cells, LENGTHS[2])
    problems = [row_problems(cells, blank & ~all_given, "pot_volume", "pot_volume_blank")]
    readable = blank & lengths[0].is_not_null() & lengths[1].is_not_null() & lengths[2].is_not_null()
    if not readable.any():
        return typed, readable.alias("pot_volume_computed"), problems
    rows = cells.filter(readable)
    top, base, depth = (length.filter(readable) for length in lengths)
    computed = [truncated_cone_ml(*sizes) for sizes in zip(top, base, depth, strict=True)]
    rules = pl.Series([pot_volume_rule(Fraction(volume))[0] for volume in computed], dtype=pl.String)
    details = pl.Series([_computed_words(volume) for volume in computed], dtype=pl.String)
    outside = (rules == "pot_volume_outside").fill_null(False)
    for rule in ("pot_volume_outside", "pot_volume_unusual"):
        meant = (rules == rule).fill_null(False)
        problems.append(row_problems(rows, meant, "pot_volume", rule, details))
    problems.append(_said_once(rows, ~outside, details))
    kept = pl.Series(computed, dtype=pl.Float64).zip_with(~outside, pl.Series([None], dtype=pl.Float64))
    volumes = typed.clone().scatter(readable.arg_true(), kept)
    return volumes, readable.alias("pot_volume_computed"), problems


def _said_once(cells: pl.DataFrame, computed: pl.Series, details: pl.Series) -> pl.DataFrame:
    """The advice that a volume was computed: once per file, series and volume, on the first row that has it."""
    keys = [
        cells[name].str.to_lowercase().alias(name) for name in ("member", "series") if name in cells.columns
    ]
    same = pl.DataFrame([cells["file_id"], *keys, details.alias("details")]).filter(computed)
    first = same.with_row_index("at").select(
        first=pl.col("at") == pl.col("at").min().over(same.columns), others=pl.len().over(same.columns) - 1
    )
    words = [
        details_text({**json.loads(told), "rows": _rows_words(others)})
        for told, others in zip(same["details"], first["others"], strict=True)
    ]
    told = pl.Series(words, dtype=pl.String)
    return row_problems(cells.filter(computed), first["first"], "pot_volume", "pot_volume_computed", told)


def _rows_words(others: int) -> str:
    if not others:
        return "this row"
    return f"this row and {others} other row{'' if others == 1 else 's'} of its series"


def _computed_words(millilitres: float) -> str:
    return details_text({"litres": f"{millilitres / 1000:.4g}", "volume": f"{millilitres:.4g} ml"})


def _values(cells: pl.DataFrame, converted: Converted, column: str) -> pl.Series:
    found = converted.values.get(column)
    return (
        found
        if found is not None
        else pl.Series(column, [None], dtype=pl.Float64).new_from_index(0, cells.height)
    )


def _given(cells: pl.DataFrame, column: str) -> pl.Series:
    if column in cells.columns:
        return cells[column].is_not_null()
    return pl.Series(column, [False]).new_from_index(0, cells.height)
