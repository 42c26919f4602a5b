"""What a file's cells say together: kitchen units read as US customary, minutes that may be minutes and seconds."""

from __future__ import annotations

import re
from decimal import Decimal

import polars as pl

from pipeline.intake.cells.readers import readers_of
from pipeline.intake.received import Finding
from pipeline.intake.rows.convert import Converted
from schemas.column import UNIT_KINDS
from schemas.kinds.kind import SheetKind
from schemas.trade.amounts import duration_in_words
from schemas.units import Unit, UnitKind, find_unit

FEWEST_DECIMAL_MINUTES = 2
"""So many numbers of minutes with decimals make a habit."""


_THREE_DIGITS = r"^([0-9]{1,3})([.,])([0-9]{3})(?: ?[^0-9., ].*)?$"
_SMALL: dict[UnitKind | None, float] = {"volume": 50, "time": 5, "span": 5, "age": 5}
"""Below so many ml, s, h or days an amount is unusual, and a thousand times as much is not (common practice)."""


def thousands_possible(
    cells: pl.DataFrame, converted: Converted, kind: SheetKind
) -> list[tuple[int, Finding]]:
    """One question per file that has small amounts with three digits behind the mark, such as 4.000 ml."""
    parts = []
    for reader in readers_of(kind):
        unit_kind = UNIT_KINDS.get(reader.kind)
        if reader.column not in cells.columns or unit_kind not in _SMALL:
            continue
        small = (converted.values[reader.column] < _SMALL[unit_kind]) & (converted.values[reader.column] >= 1)
        meant = small.fill_null(False) & cells[reader.column].str.contains(_THREE_DIGITS).fill_null(False)
        parts.append(cells.filter(meant).select("file_id", "sheet_row", typed=reader.column))
    if not parts:
        return []
    found = []
    first = pl.concat(parts).sort("file_id", "sheet_row").group_by("file_id", maintain_order=True).first()
    for file_id, typed in first.select("file_id", "typed").iter_rows():
        match = re.match(_THREE_DIGITS, typed)
        if match is None:
            continue
        unit = typed[match.end(3) :].strip()
        details = {
            "example": typed,
            "read": f"{float(f'{match[1]}.{match[3]}'):g} {unit}".strip(),
            "large": f"{match[1]}{match[3]} {unit}".strip(),
            "mark": "point" if match[2] == "." else "comma",
        }
        found.append((file_id, Finding("thousands_possible", details)))
    return found


def minutes_like_seconds(cells: pl.DataFrame, converted: Converted) -> list[tuple[int, Finding]]:
    """One question per file whose minutes with decimals could all be minutes and seconds: each fraction is .00 to
    .59, and some are neither .0 nor .5."""
    marks = converted.marks.get("drain_time")
    if marks is None or not marks.is_not_null().any():
        return []
    typed = pl.DataFrame({"file_id": cells["file_id"], "typed": marks}).drop_nulls()
    found: list[tuple[int, Finding]] = []
    for (file_id,), group in typed.group_by("file_id", maintain_order=True):
        numbers = group["typed"].to_list()
        tails = [number.replace(",", ".").partition(".")[2] for number in numbers]
        like_seconds = all(len(tail) <= 2 and int(tail.ljust(2, "0")) < 60 for tail in tails)
        if len(tails) < FEWEST_DECIMAL_MINUTES or not like_seconds:
            continue
        telling = next((at for at, tail in enumerate(tails) if tail.rstrip("0") not in ("", "5")), None)
        if telling is None:
            continue
        minutes, seconds = numbers[telling].replace(",", ".").partition(".")[0], tails[telling].ljust(2, "0")
        details = {
            "example": numbers[telling],
            "read": duration_in_words(Decimal(numbers[telling].replace(",", ".")) * 60),
            "clock": f"{int(minutes)}:{seconds}",
        }
        found.append((int(str(file_id)), Finding("minutes_like_seconds", details, column="drain_time")))
    return found


FEWEST_COUNTED = 3
"""So many labels in a row that count up are no chance."""


def labels_counted_up(cells: pl.DataFrame) -> list[tuple[int, Finding]]:
    """One question per file each of whose rows has a label of its own, one number higher than the row before."""
    if "series" not in cells.columns:
        return []
    split = cells.select(
        "file_id",
        label="series",
        stem=pl.col("series").str.extract(r"^(.*?)[0-9]{1,6}$"),
        number=pl.col("series").str.extract(r"([0-9]{1,6})$").cast(pl.Int64),
    )
    step = pl.col("number").diff().drop_nulls()
    counted = split.group_by("file_id", maintain_order=True).agg(
        up=(step == 1).all() & (pl.col("stem").n_unique() == 1) & pl.col("number").is_not_null().all(),
        rows=pl.len(),
        first=pl.col("label").first(),
        second=pl.col("label").slice(1, 1).first(),
        last=pl.col("label").last(),
    )
    found = counted.filter(pl.col("up") & (pl.col("rows") >= FEWEST_COUNTED))
    return [
        (file_id, Finding("label_counts_up", {"first": first, "second": second, "last": last}))
        for file_id, first, second, last in found.select("file_id", "first", "second", "last").iter_rows()
    ]


def _in_ml(unit: str) -> str:
    found = find_unit(unit, "volume")
    imperial = find_unit(f"imp {unit}", "volume")
    beside = f" (imperial {float(imperial.factor):.4g} ml)" if isinstance(imperial, Unit) else ""
    return f"1 {unit} = {float(found.factor):.4g} ml{beside}" if isinstance(found, Unit) else unit


def kitchen_units(cells: pl.DataFrame, converted: Converted, kind: SheetKind) -> list[tuple[int, Finding]]:
    """One advice line per file that has kitchen units without a country: they were read as US customary."""
    parts = []
    for reader in readers_of(kind):
        marks = converted.marks.get(reader.column)
        if (
            reader.has_unit
            and reader.into.endswith("_ml")
            and marks is not None
            and marks.is_not_null().any()
        ):
            parts.append(pl.DataFrame({"file_id": cells["file_id"], "unit": marks}).drop_nulls().unique())
    if not parts:
        return []
    used: dict[int, set[str]] = {}
    for file_id, unit in pl.concat(parts).iter_rows():
        used.setdefault(file_id, set()).add(unit)
    return [
        (file_id, Finding("kitchen_units_us", {"units": ", ".join(map(_in_ml, sorted(units)))}))
        for file_id, units in sorted(used.items())
    ]
