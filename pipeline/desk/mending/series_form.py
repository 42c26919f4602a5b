"""One own series in the page's form, to mend single numbers; and the sheet that the mended form makes.

What the form has no field for rides along: a mended sheet begins with the rows as they stand, and only what was
changed in the form is changed in them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from pipeline.desk.sheets.bench_form import (
    MOST_POURS,
    ONCE,
    UNITS,
    Pour,
    cells_of_mix,
    cells_of_pour,
    mix_key,
    pours_in,
    with_unit,
    written,
)
from schemas.column import Column
from schemas.kinds.kind import SheetKind
from schemas.kinds.run import RUN
from schemas.trade.amounts import plain_decimal
from schemas.trade.shares import ROUNDING, SAME_WITHIN

Run = Mapping[str, Any]
"""One run of the pool, by kept column."""
FIXED = ("member", "series")
"""What a mended sheet keeps whatever the form says: another label would be another series."""
SHEET_COLUMNS = tuple(
    column.name for column in RUN.columns if column.kept is not None or column.name == "parts"
)


def in_order(runs: Sequence[Run]) -> list[Run]:
    """The runs of a series as the form shows them: by mix, pot and pour."""
    return sorted(runs, key=lambda run: tuple(run[name] for name in RUN.place))


def shown_of(runs: Sequence[Run], first: int) -> list[Run]:
    """The runs that one page of the form shows, from the run `first` (counted from 1) on."""
    return in_order(runs)[first - 1 : first - 1 + MOST_POURS]


def as_fields(runs: Sequence[Run]) -> dict[str, str]:
    """These runs of one series as the form's fields. What the form asks once and the runs do not agree on is blank."""
    fields: dict[str, str] = {}
    for column in ONCE:
        values = _values(runs, column)
        if len(values) == 1:
            (value,) = values
            fields[column.name] = _number(value) if column.name in UNITS else str(value)
            if column.name in UNITS and column.kept is not None:
                fields[f"{column.name}_unit"] = column.kept.unit
    for at, run in enumerate(runs, start=1):
        line = {**_line(run), "was": place_text(run)}
        fields |= {f"{name}_{at}": text for name, text in line.items()}
    return {**fields, "pours": str(len(runs))}


def varying(runs: Sequence[Run]) -> frozenset[str]:
    """The columns that the form asks once and in which these runs differ."""
    return frozenset(column.name for column in ONCE if len(_values(runs, column)) > 1)


def as_csv(fields: Mapping[str, str], runs: Sequence[Run], known: Mapping[str, int]) -> bytes:
    """The mended sheet: the runs that the form showed, changed where the form was; lines added to it come as new pours,
    with what all these runs agree on. A line that was emptied is left out."""
    given = as_fields(runs)
    changed = {
        column.name: with_unit(fields, column.name) for column in ONCE if _differs(fields, given, column)
    }
    changed = {name: text for name, text in changed.items() if name not in FIXED}
    before = {place_text(run): run for run in runs}
    fillings = dict(known)
    rows = []
    for at, pour in enumerate(pours_in(fields), start=1):
        if pour.blank:
            continue
        run = before.get(fields.get(f"was_{at}", ""))
        if run is None:
            rows.append({**_agreed(runs), **changed, **cells_of_pour(pour, fillings)})
        else:
            rows.append({**cells_of(run), **changed, **_changed_in_line(pour, run)})
    return written(SHEET_COLUMNS, rows)


def places_given_up(fields: Mapping[str, str], runs: Sequence[Run]) -> int:
    """How many of the runs that the form showed have no place in the mended sheet any more: their line was emptied,
    or says another mix, pot or pour now."""
    before = {place_text(run): _line(run) for run in runs}
    kept = set()
    for at, pour in enumerate(pours_in(fields), start=1):
        was = fields.get(f"was_{at}", "")
        given = before.get(was)
        if given is not None and (pour.mix, pour.pot, pour.pour) == (
            given["mix"],
            given["pot"],
            given["pour"],
        ):
            kept.add(was)
    return len(runs) - len(kept)


def highest_pots(runs: Sequence[Run]) -> dict[str, int]:
    """By mix (`mix_key`), the highest pot among these runs."""
    highest: dict[str, int] = {}
    for run in runs:
        key = mix_key(_number(run["component_share"]))
        highest[key] = max(highest.get(key, 0), run["pot_no"])
    return highest


def place_text(run: Run) -> str:
    """Which mix, pot and pour a run is, as one word."""
    return "/".join(_number(run[name]) for name in RUN.place)


def same_place(first: Run, second: Run) -> bool:
    """Whether two runs of one series are the same mix, pot and pour."""
    apart = abs(first["component_share"] - second["component_share"])
    return (first["pot_no"], first["pour_no"]) == (second["pot_no"], second["pour_no"]) and (
        apart <= SAME_WITHIN + ROUNDING
    )


def cells_of(run: Run, kind: SheetKind = RUN) -> dict[str, str]:
    """A run as cells of a sheet, each number with its unit; read again, they give the same run."""
    return {
        column.name: _cell(run.get(column.kept.name), column.kept.unit)
        for column in kind.columns
        if column.kept is not None
    }


def clock(seconds: float) -> str:
    """A time as a stopwatch shows it, 3:25 or 3:25.5; with its unit where tenths can't say it."""
    tenths = round(seconds * 10)
    if abs(tenths - seconds * 10) > 1e-6:
        return f"{_number(seconds)} s"
    minutes, rest = divmod(tenths, 600)
    return f"{minutes}:{rest // 10:02d}" + (f".{rest % 10}" if rest % 10 else "")


def _values(runs: Sequence[Run], column: Column) -> set[Any]:
    values = {run[column.becomes] for run in runs}
    if column.takes_series_own or len(values) == 1:
        values.discard(None)
    return values


def _line(run: Run) -> dict[str, str]:
    """A run as the texts of its line in the form."""
    return {
        "mix": _number(run["component_share"]),
        "pot": str(run["pot_no"]),
        "pour": str(run["pour_no"]),
        "time": clock(run["drain_time_s"]),
        "ended": run["ended"],
    }


def _changed_in_line(pour: Pour, run: Run) -> dict[str, str]:
    given = _line(run)
    cells = cells_of_pour(pour, {})
    mended = cells_of_mix(pour.mix) if pour.mix != given["mix"] else {}
    names = (("pot", "pot_no"), ("pour", "pour_no"), ("time", "drain_time"))
    mended |= {column: cells[column] for name, column in names if getattr(pour, name) != given[name]}
    if (pour.ended or "reached") != given["ended"]:
        mended["ended"] = pour.ended
    return mended


def _differs(fields: Mapping[str, str], given: Mapping[str, str], column: Column) -> bool:
    names = (column.name, f"{column.name}_unit") if column.name in UNITS else (column.name,)
    return any(fields.get(name, "") != given.get(name, "") for name in names)


def _agreed(runs: Sequence[Run]) -> dict[str, str]:
    """The cells that all runs have in common, those that name a run left out."""
    every = [cells_of(run) for run in runs]
    own = {RUN.sheet_name(name) for name in RUN.place} | {"drain_time", "ended", "run_order", "came_out"}
    return {
        name: text
        for name, text in every[0].items()
        if name not in own and all(cells[name] == text for cells in every)
    }


def _cell(value: Any, unit: str) -> str:
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{_number(value)} {'' if unit.startswith('percent') else unit}".strip()
    return str(value)


def _number(value: float) -> str:
    """Plain digits; three decimals get a fourth, so that nobody takes them for thousands."""
    return plain_decimal(Decimal(repr(value)))
