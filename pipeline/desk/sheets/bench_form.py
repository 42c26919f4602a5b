"""The page's own form for a small test, and the run sheet that it makes: the same CSV that a file would hold."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from schemas.column import Column
from schemas.kinds.run import RUN
from schemas.trade.parts import percent_in, says_parts
from schemas.vocabulary import CHOICES, Choice

FIRST_POURS, MORE_POURS, MOST_POURS = 6, 6, 48
NUMBERS = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
DECIMAL_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])|\A,(?=[0-9])")
TWO_READINGS = re.compile(r"(?<![0-9.,])([1-9][0-9]{0,2})[.,]([0-9]{3})(?![0-9.,])")
"""One mark before exactly three digits: 1,250 is 1.25 to one and 1250 to another."""

ONCE: tuple[Column, ...] = tuple(column for column in RUN.columns if column.form == "once")
"""The columns that the form asks once for all its pours."""
COLUMNS: tuple[str, ...] = tuple(column.name for column in RUN.columns if column.form)
WITH_CHOICES: tuple[str, ...] = tuple(column.name for column in RUN.columns if column.form and column.choices)
UNITS: dict[str, tuple[str, ...]] = {column.name: column.form_units for column in ONCE if column.form_units}
"""Fields that have a unit beside them, and the units offered; none is chosen for anybody."""
ASKED: dict[str, str] = {column.name: column.asked for column in RUN.columns if column.form}
"""What the form calls each column that it has."""

OF_POUR = ("mix", "pot", "pour", "time", "ended")
OF_MENDING = ("mends", "from")
"""Which own series the form mends, and from which of its pours on; both blank for a new sheet."""


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


def first_shown(fields: Mapping[str, str]) -> int:
    """From which run of a series on the form mends it, counted from 1."""
    typed = fields.get("from", "")
    return max(int(typed), 1) if typed.isascii() and typed.isdigit() and len(typed) < 7 else 1


def field_names(pours: int) -> tuple[str, ...]:
    """Every field that a form of so many lines sends."""
    lines = tuple(f"{name}_{at}" for at in range(1, pours + 1) for name in (*OF_POUR, "was"))
    units = tuple(f"{name}_unit" for name in UNITS)
    return ("pours", *OF_MENDING, *(column.name for column in ONCE), *units, *lines)


def as_csv(fields: Mapping[str, str], known: Mapping[str, int] | None = None) -> bytes:
    """The run sheet: one row per line of the form that holds anything, UTF-8, a heading line above. `known`: by mix
    (`mix_key`), the highest pot of this series that was sent before; pots left blank go on from there."""
    shared = {name: with_unit(fields, name) for name in COLUMNS}
    fillings = dict(known or {})
    rows = [{**shared, **cells_of_pour(pour, fillings)} for pour in pours_in(fields) if not pour.blank]
    return written(COLUMNS, rows)


def written(columns: Sequence[str], rows: Sequence[Mapping[str, str]]) -> bytes:
    """Rows as the bytes of a sheet, their columns named in the heading line."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([row.get(name, "") for name in columns] for row in rows)
    return out.getvalue().encode("utf-8", "replace")


def filled_lines(fields: Mapping[str, str]) -> list[int]:
    """The lines of the form that became rows, in order: the first of them is row 2 of the sheet."""
    return [at for at, pour in enumerate(pours_in(fields), start=1) if not pour.blank]


def cells_of_pour(pour: Pour, fillings: dict[str, int]) -> dict[str, str]:
    """A line's own cells. A pour left blank is the first. A pot left blank is the next filling of this mix, or with
    a later pour the filling before it; `fillings`, the highest pot of each mix so far, is moved on."""
    key = mix_key(pour.mix.strip())
    pot = pour.pot
    if not pot:
        again = key in fillings and pour.pour not in ("", "1")
        fillings[key] = fillings.get(key, 0) + (0 if again else 1)
        pot = str(fillings[key])
    elif pot.isascii() and pot.isdigit() and len(pot) < 6:
        fillings[key] = max(fillings.get(key, 0), int(pot))
    return {
        **cells_of_mix(pour.mix),
        "pot_no": pot,
        "pour_no": pour.pour or "1",
        "drain_time": decimal_point(pour.time),
        "ended": pour.ended,
    }


def cells_of_mix(typed: str) -> dict[str, str]:
    """A mix as share or as parts, whichever was typed."""
    mix = decimal_point(typed.strip())
    is_parts = says_parts(mix)
    return {"component_share": "" if is_parts else mix, "parts": mix if is_parts else ""}


def decimal_point(text: str) -> str:
    """A number with a decimal comma as one with a point: fields of the form hold one number, never thousands. Parts
    may have a comma in each."""
    return text if "." in text else DECIMAL_COMMA.sub(".", text)


def in_two_readings(fields: Mapping[str, str]) -> list[str]:
    """A sentence for each number of the form that can be read in two ways; nothing settles it, so it is asked."""
    numbers = [(ASKED[name], fields.get(name, "")) for name in UNITS]
    numbers += [(f"Pour {at}, time", pour.time) for at, pour in enumerate(pours_in(fields), start=1)]
    return [
        f"{asked}: “{typed}” can be {match[1]}.{match[2]}0 or {match[1]}{match[2]}. Write the one that you mean."
        for asked, typed in numbers
        if (match := TWO_READINGS.search(typed))
    ]


def mix_key(mix: str) -> str:
    """The same word for the same mix, as a share or as parts: 3+2 and 40 % are one mix. Only for counting fillings."""
    percent = percent_in(mix)
    if percent is None and len(numbers := NUMBERS.findall(mix)) == 1:
        percent = float(numbers[0].replace(",", "."))
    return mix if percent is None else f"{percent:.1f}"


def with_unit(fields: Mapping[str, str], name: str) -> str:
    """What was typed, with the unit chosen beside it (`1 1/2 cups`); a text that has letters of its own stays as it is."""
    value = fields.get(name, "")
    if name not in UNITS:
        return value
    unit = fields.get(f"{name}_unit", "")
    bare = any(letter.isnumeric() for letter in value) and not any(
        letter.isalpha() or letter in "°'\"′″" for letter in value
    )
    number = decimal_point(value)
    return f"{number} {unit}" if bare and unit in UNITS[name] else number


def choices(name: str) -> tuple[Choice, ...]:
    """What a field with choices offers."""
    vocabulary = RUN.by_name[name].choices
    return CHOICES[vocabulary] if vocabulary else ()
