"""The dictionary page: columns, units and spellings, vocabularies, rules, settings, all made from `schemas`."""

from __future__ import annotations

import re
from fractions import Fraction

from reports.blank_sheet import blank_sheet_csv, blank_sheet_xlsx
from reports.frame import Content
from reports.page import (
    Block,
    Cell,
    Download,
    Folded,
    Inline,
    Link,
    Section,
    TableBlock,
    cell,
    say,
)
from reports.view import MonthView
from reports.words import plain
from schemas.column import Language
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS
from schemas.kinds.run import RUN
from schemas.rules import RULES, Rule
from schemas.settings import SETTINGS
from schemas.units import AMBIGUOUS, BASE_UNITS, READ_IN, UNITS, Unit, UnitKind
from schemas.vocabulary import CHOICES

LANGUAGES: dict[Language, str] = {
    "en": "English",
    "de": "German",
    "fr": "French",
    "nl": "Dutch",
    "es": "Spanish",
}
_PLACEHOLDER = re.compile(r"\{(\w+)\}")
IN_PLACE: dict[str, str] = {
    "clock": "the time as a clock",
    "example": "a value with its unit",
    "examples": "the units meant",
    "expected": "what the column holds",
    "heading_unit": "the unit in the heading",
    "hint": "(the receipt says more)",
    "instead": "the class meant",
    "label": "the label",
    "large": "the large reading",
    "likely": "the likely label",
    "literal": "the time as typed",
    "meant": "the column meant",
    "mended": "the mended value",
    "minutes": "minutes",
    "number": "the number",
    "number_all": "one number",
    "number_one": "one number",
    "offer": "what the receipt offers",
    "parts": "the parts",
    "percent": "the percent",
    "point": "a decimal point",
    "readings": "one of its readings",
    "row": "the row",
    "units": "the units of that column",
    "words": "the words of that column",
    "write": "a value",
}
"""What stands for the details that a receipt fills in: on this page there is no sheet to take them from."""


def dictionary_content(view: MonthView) -> Content:
    """`dictionary.html`, with the blank run sheet beside it."""
    sections = (
        Section(f"Where is a blank {_titles()}?", _sheet_words(), "sheet"),
        Section(
            "What goes into each column?",
            tuple(block for kind in KINDS.values() for block in (_columns(kind), _headings(kind))),
            "columns",
        ),
        Section("Which words are read?", tuple(_vocabularies()), "words"),
        Section("Which units are read?", tuple(_units()), "units"),
        Section("What is looked at, and what then?", tuple(_rules()), "rules"),
        Section("What do the downloads hold?", (_run_columns(),), "downloads"),
        Section("What has the club set?", (_settings(view),), "settings"),
    )
    files: list[Download] = []
    for kind in KINDS.values():
        files.append(Download(_file_name(kind, "csv"), blank_sheet_csv(kind).encode()))
        files.append(Download(_file_name(kind, "xlsx"), blank_sheet_xlsx(kind)))
    return Content(
        (f"What a {_titles()} holds, and what is looked at when it arrives",),
        ("Everything here is printed from the same tables that the checks use.",),
        sections,
        downloads=tuple(files),
    )


def _titles() -> str:
    """What people call the sheets: `run sheet`, or `run sheet or rain log`."""
    return " or ".join(kind.title for kind in KINDS.values())


def _file_name(kind: SheetKind, ending: str) -> str:
    return f"{kind.title.replace(' ', '-')}.{ending}"


def _sheet_words() -> tuple[Block, ...]:
    return (
        *(_links(kind) for kind in KINDS.values()),
        say(
            "Units are never guessed: write them in the cell (", "300 ml", ") or in the heading (", "poured_ml", "). "
            "Parts are safest with a plus sign: 3+1; a spreadsheet makes a time or a date of 3:1.",
        ),
    )  # fmt: skip


def _links(kind: SheetKind) -> Block:
    name = "" if len(KINDS) == 1 else f"{kind.title.capitalize()}: "
    return say(
        *([name] if name else []),
        Link("Spreadsheet with lists to choose from", _file_name(kind, "xlsx"), True),
        ", or ",
        Link("plain CSV", _file_name(kind, "csv"), True),
        f". One line per {kind.row}. Headings match whatever their case, accents, spaces, underscores, hyphens, dots, "
        "brackets or order.",
    )


def _columns(kind: SheetKind) -> TableBlock:
    rows = []
    for column in kind.columns:
        choices: tuple[Inline, ...] = (
            (" ", Link("words", f"#words-{column.choices}")) if column.choices else ()
        )
        rows.append(
            (cell(column.name), cell(column.required), cell(column.meaning, *choices), cell(column.example))
        )
    return TableBlock(
        f"The {kind.title}'s columns", ("column", "needed", "what it holds", "example"), tuple(rows)
    )


def _headings(kind: SheetKind) -> Folded:
    """The further headings that each column goes by."""
    rows = tuple(
        (cell(column.name), *(cell(", ".join(column.spellings.get(code, ()))) for code in LANGUAGES))
        for column in kind.columns
        if column.spellings
    )
    table = TableBlock(f"Headings of the {kind.title}", ("column", *LANGUAGES.values()), rows)
    title = f"{kind.title}: headings in other words and languages"
    return Folded(title, (table,), anchor=f"headings-{kind.name}")


def _vocabularies() -> list[Block]:
    blocks: list[Block] = []
    for name, choices in CHOICES.items():
        rows = tuple((cell(choice.value), cell(choice.meaning)) for choice in choices)
        table = TableBlock(plain(name), ("word", "meaning"), rows)
        blocks.append(Folded(f"{plain(name)}: {len(choices)} words", (table,), anchor=f"words-{name}"))
    return blocks


def _units() -> list[Block]:
    blocks: list[Block] = []
    for kind, base in BASE_UNITS.items():
        rows = tuple(_unit_row(unit, base) for unit in UNITS if unit.kind == kind)
        if rows:
            title = f"Units of {kind}{_read_in(kind)}"
            table = TableBlock(title, ("unit", f"in {base}", "spellings read", "fixed by"), rows)
            blocks.append(Folded(f"{kind}: {len(rows)} units", (table,), anchor=f"units-{kind}"))
    unclear = tuple(
        (cell(f"{', '.join(unit.spellings)} (of {_with_article(unit.kind)})"), cell(", ".join(unit.choices)))
        for unit in AMBIGUOUS
    )
    blocks.append(
        TableBlock("Never read, because they could mean two things", ("spelling", "write instead"), unclear)
    )
    return blocks


def _read_in(kind: UnitKind) -> str:
    """The columns that alone read the units of spans; of other kinds nothing is said."""
    if kind != "span":
        return ""
    columns = (column for sheet in KINDS.values() for column in sheet.columns)
    names = sorted(column.name for column in columns if column.unit_kind in READ_IN[kind])
    return f" (only in {', '.join(names)})"


def _with_article(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def _unit_row(unit: Unit, base: str) -> tuple[Cell, ...]:
    size = f"(value - {_exact(unit.offset)}) × {_exact(unit.factor)}" if unit.offset else _exact(unit.factor)
    country = " Read as US customary, and said so." if unit.bare_kitchen else ""
    return (
        cell(unit.name),
        cell(size),
        cell(", ".join(unit.spellings)),
        cell(unit.fixed_by + country),
    )


def _exact(value: Fraction) -> str:
    """A factor as an exact decimal where it ends, else as a fraction."""
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest != 1:
        return f"{value.numerator}/{value.denominator}"
    digits = f"{value.numerator * 10**14 // value.denominator:d}".rjust(15, "0")
    return f"{digits[:-14]}.{digits[-14:]}".rstrip("0").rstrip(".")


def _rules() -> list[Block]:
    blocks: list[Block] = [
        say(
            "Held: the row stays out of the pool until it is mended; nothing is thrown away. Advice: the row counts; the note may help next time."
        )
    ]
    for level, words in (("held", "Held"), ("advice", "Advice")):
        rows = tuple(_rule_row(rule) for rule in RULES if rule.level == level)
        table = TableBlock(words, ("what", "why", "how to mend"), rows)
        blocks.append(Folded(f"{words}: {len(rows)} rules", (table,), anchor=f"rules-{level}"))
    return blocks


def _rule_row(rule: Rule) -> tuple[Cell, ...]:
    return (
        cell(rule.title),
        cell(rule.meaning),
        cell(_filled(rule.fix)),
    )


def _filled(fix: str) -> str:
    """How to mend, with words in place of the details that only a receipt has."""
    return _PLACEHOLDER.sub(lambda found: IN_PLACE[found[1]], fix.replace("{sheet}", _titles()))


def _run_columns() -> Block:
    rows = [(cell(kept.name), cell(kept.unit), cell(kept.meaning)) for kept in RUN.kept if kept.published]
    rows.append(
        (cell("rate_ml_min_l"), cell("ml/min per l"), cell("Water collected per minute and litre of mix."))
    )
    table = TableBlock(
        "pool.csv and pool.parquet: one row per accepted run",
        ("column", "unit", "what it holds"),
        tuple(rows),
    )
    return Folded(f"pool.csv and pool.parquet: {len(rows)} columns", (table,), anchor="columns-of-downloads")


def _settings(view: MonthView) -> TableBlock:
    rows = []
    for setting in SETTINGS:
        value = view.results["settings"].get(setting.name, setting.default)
        shown = (
            ", ".join(f"{number:g}" for number in value) or "–"
            if isinstance(value, (list, tuple))
            else _number(value)
        )
        rows.append(
            (
                cell(setting.name),
                cell(f"{shown} {setting.unit}".strip()),
                cell(setting.meaning),
                cell(setting.source),
            )
        )
    return TableBlock(
        "Settings of this month", ("setting", "value", "what it means", "where it comes from"), tuple(rows)
    )


def _number(value: object) -> str:
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)
