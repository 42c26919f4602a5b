"""The page's own form for a small test, and the run sheet that it makes: the same CSV that a file would hold."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from schemas.column import Column
from schemas.kinds.kind import SheetKind
from schemas.kinds.run import RUN
from schemas.trade.parts import percent_in, says_parts
from schemas.vocabulary import CHOICES, Choice

FIRST_POURS, MORE_POURS, MOST_POURS = 6, 6, 48
NUMBERS = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
PLAIN_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?\Z")

ONCE: tuple[Column, ...] = tuple(column for column in RUN.columns if column.form == "once")
"""The columns that the form asks once for all its pours."""
COLUMNS: tuple[str, ...] = tuple(column.name for column in RUN.columns if column.form)
WITH_CHOICES: tuple[str, ...] = tuple(column.name for column in RUN.columns if column.form and column.choices)
UNITS: dict[str, tuple[str, ...]] = {column.name: column.form_units for column in ONCE if column.form_units}
"""Fields that have a unit beside them, and the units offered; none is chosen for anybody."""

OF_POUR = ("mix", "pot", "pour", "time", "ended")


@dataclass(frozen=True)
class Pour:
    """One line of the form: the mix (a share or parts), pot, pour, time and how it ended, as typed."""

    mix: str = ""
    pot: str = ""
    pour: str = ""
    time: str = ""
    ended: str = ""

    @property
    def blank(self) -> bool:
        """Nothing was typed in this line."""
        return not (self.mix or self.time or self.pot or self.pour)


def pours_in(fields: Mapping[str, str]) -> list[Pour]:
    """The lines of the form, blank ones included, as many as the form says."""
    return [
        Pour(*(fields.get(f"{name}_{at}", "") for name in OF_POUR)) for at in range(1, how_many(fields) + 1)
    ]


def how_many(fields: Mapping[str, str]) -> int:
    """How many lines the form has."""
    typed = fields.get("pours", "")
    number = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 4 else FIRST_POURS
    return min(max(number, 1), MOST_POURS)


def field_names(pours: int) -> tuple[str, ...]:
    """Every field that a form of so many lines sends."""
    lines = tuple(f"{name}_{at}" for at in range(1, pours + 1) for name in OF_POUR)
    units = tuple(f"{name}_unit" for name in UNITS)
    return ("pours", *(column.name for column in ONCE), *units, *lines)


def as_csv(fields: Mapping[str, str]) -> bytes:
    """The run sheet: one row per line of the form that holds anything, UTF-8, a heading line above."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    shared = {name: _with_unit(fields, name) for name in COLUMNS}
    fillings: dict[str, int] = {}
    for pour in pours_in(fields):
        if pour.blank:
            continue
        row = {**shared, **_of_pour(pour, fillings)}
        writer.writerow([row[name] for name in COLUMNS])
    return out.getvalue().encode("utf-8", "replace")


def _of_pour(pour: Pour, fillings: dict[str, int]) -> dict[str, str]:
    """A line's own cells. A pot left blank is the next filling of this mix, a pour left blank the first."""
    mix = pour.mix.strip()
    key = mix_key(mix)
    pot = pour.pot
    if not pot:
        fillings[key] = fillings.get(key, 0) + 1
        pot = str(fillings[key])
    elif pot.isascii() and pot.isdigit() and len(pot) < 6:
        fillings[key] = max(fillings.get(key, 0), int(pot))
    is_parts = says_parts(mix)
    return {
        "component_share": "" if is_parts else mix,
        "parts": mix if is_parts else "",
        "pot_no": pot,
        "pour_no": pour.pour or "1",
        "drain_time": pour.time,
        "ended": pour.ended,
    }


def mix_key(mix: str) -> str:
    """The same word for the same mix, as a share or as parts: 3+2 and 40 % are one mix. Only for counting fillings."""
    percent = percent_in(mix)
    if percent is None and len(numbers := NUMBERS.findall(mix)) == 1:
        percent = float(numbers[0].replace(",", "."))
    return mix if percent is None else f"{percent:.1f}"


def _with_unit(fields: Mapping[str, str], name: str) -> str:
    """A number and the unit chosen beside it; a text that has its own unit stays as it is."""
    value = fields.get(name, "")
    unit = fields.get(f"{name}_unit", "")
    return f"{value} {unit}" if unit in UNITS.get(name, ()) and PLAIN_NUMBER.match(value) else value


def form_holds(runs: Sequence[Mapping[str, Any]], kind: SheetKind) -> bool:
    """Whether the form has a field for all that these runs of one series say: nothing stands in a column that it
    lacks, and what it asks once is the same in every run."""
    for column in kind.columns:
        if column.kept is None or column.name in kind.series:
            continue
        values = {run[column.kept.name] for run in runs}
        if not column.form and not values <= {None, column.when_blank}:
            return False
        if column.takes_series_own:
            values.discard(None)
        if column.form == "once" and len(values) > 1:
            return False
    return True


def as_fields(runs: Sequence[Mapping[str, Any]]) -> dict[str, str] | None:
    """A series of the pool as the form's fields, to be mended in the page. None where the form can't hold all of it:
    then it is mended as a sheet, so that nothing is lost."""
    if not 0 < len(runs) <= MOST_POURS or not form_holds(runs, RUN):
        return None
    fields: dict[str, str] = {}
    for column in ONCE:
        value = next((run[column.becomes] for run in runs if run[column.becomes] is not None), None)
        if value is None:
            continue
        fields[column.name] = f"{value:.10g}" if column.name in UNITS else str(value)
        if column.name in UNITS and column.kept is not None:
            fields[f"{column.name}_unit"] = column.kept.unit
    for at, run in enumerate(runs, start=1):
        told = (
            f"{run['component_share']:g}",
            str(run["pot_no"]),
            str(run["pour_no"]),
            clock(run["drain_time_s"]),
            run["ended"],
        )
        fields |= {f"{name}_{at}": text for name, text in zip(OF_POUR, told, strict=True)}
    return {**fields, "pours": str(len(runs))}


def clock(seconds: float) -> str:
    """A time as a stopwatch shows it, 3:25 or 3:25.5; with its unit where tenths can't say it."""
    tenths = round(seconds * 10)
    if abs(tenths - seconds * 10) > 1e-6:
        return f"{seconds:.10g} s"
    minutes, rest = divmod(tenths, 600)
    return f"{minutes}:{rest // 10:02d}" + (f".{rest % 10}" if rest % 10 else "")


def choices(name: str) -> tuple[Choice, ...]:
    """What a field with choices offers."""
    vocabulary = RUN.by_name[name].choices
    return CHOICES[vocabulary] if vocabulary else ()
