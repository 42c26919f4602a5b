"""What a file's cells say together: kitchen units read as US customary."""

from __future__ import annotations

import polars as pl

from pipeline.intake.convert import Converted
from pipeline.intake.readers import readers_of
from pipeline.intake.received import Finding
from schemas.kinds.kind import SheetKind
from schemas.units import Unit, find_unit


def _in_ml(unit: str) -> str:
    found = find_unit(unit, "volume", "pot_volume")
    return f"1 {unit} = {float(found.factor):.4g} ml" if isinstance(found, Unit) else unit


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
