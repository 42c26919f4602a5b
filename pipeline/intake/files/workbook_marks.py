"""What the plain text of workbook cells does not tell: which are percent cells, which are numbers, which hold an error
in place of a value, how far a sheet goes.

A number cell `1.234` has a point as its decimal mark for certain; a text cell `1.234` may be a thousand and
some. A cell shown as 25 % is kept as 0.25.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from html import unescape

PERCENT_FORMATS = frozenset({9, 10})
"""Built-in number formats `0%` and `0.00%` (ECMA-376 part 1, 18.8.30)."""

CLOCK, HOURS_MINUTES, MINUTES_SECONDS, ALL_MINUTES = "clock", "h:mm", "m:ss", "[m]:ss"
"""What a time format shows: a time of day with AM or PM, hours and minutes, minutes and seconds without hours, or
minutes that pass 59."""
TIME_FORMATS = {18: CLOCK, 19: CLOCK, 20: HOURS_MINUTES, 45: MINUTES_SECONDS, 47: MINUTES_SECONDS}
"""Built-in number formats of times (ECMA-376 part 1, 18.8.30); those with hours, minutes and seconds need no mark."""

ERROR = "e"
"""Cell type of an error (ECMA-376 part 1, 18.18.11)."""

_SHEET = re.compile(r"(<(?:\w+:)?sheet\b[^>]*?\s\w+:id=\"([^\"]+)\"[^>]*>)")
_HIDDEN_SHEET = re.compile(r"\bstate\s*=\s*\"(?:hidden|veryHidden)\"")
_HIDDEN_ROW = re.compile(r"<(?:\w+:)?row\b(?=[^>]*\bhidden=\"(?:1|true)\")[^>]*\br=\"([0-9]{1,7})\"")
_MERGED = re.compile(r"<(?:\w+:)?mergeCell\b[^>]*\bref=\"([A-Z]{1,3}[0-9]{1,7}:[A-Z]{1,3}([0-9]{1,7}))\"")
_RELATION = re.compile(r"<(?:\w+:)?Relationship\b[^>]*>")
_FORMAT = re.compile(r"<(?:\w+:)?numFmt\b[^>]*>")
_CELL_FORMATS = re.compile(r"<(?:\w+:)?cellXfs\b.*?</(?:\w+:)?cellXfs>", re.DOTALL)
_CELL_FORMAT = re.compile(r"<(?:\w+:)?xf\b[^>]*>")
_ATTRIBUTE = re.compile(r"\b(Id|Target|numFmtId|formatCode)=\"([^\"]*)\"")
_CELL = re.compile(
    r"<(?:\w+:)?c\b([^>]*[^/>])>\s*(?:<(?:\w+:)?f\b(?:[^>]*/>|[^>]*>[^<]*</(?:\w+:)?f>)\s*)?"
    r"<(?:\w+:)?(?:v|is)\b[^>]*>([^<]*)"
)
_NO_RESULT = re.compile(
    r"<(?:\w+:)?c\b([^>]*[^/>])>\s*<(?:\w+:)?f\b(?:[^>]*/>|[^>]*>([^<]*)</(?:\w+:)?f>)\s*"
    r"(?:<(?:\w+:)?v\b[^>]*/>\s*|<(?:\w+:)?v\b[^>]*>\s*</(?:\w+:)?v>\s*)?</(?:\w+:)?c>"
)
_SINGLE_QUOTED = re.compile(r"(\s[\w:]+)\s*=\s*'([^'<]*)'")
_ROW_OR_CELL = re.compile(r"<(?:\w+:)?(row|c)\b[^>]*>")
_NO_REFERENCE = re.compile(r"<(?:\w+:)?c\b(?![^>]*\br=)[^>]*>")
_ROW_NUMBER = re.compile(r"\br=\"([0-9]{1,7})\"")
_REFERENCE = re.compile(r"\br=\"([A-Z]{1,3})([0-9]{1,7})\"")
_FROM_1904 = re.compile(r"\bdate1904\s*=\s*[\"'](?:1|true|on)[\"']")
_NOT_SHOWN = re.compile(r"\"[^\"]*\"|\\.|_.|\[(?!h+\]|m+\]|s+\])[^\]]*\]")
_STYLE = re.compile(r"\bs=\"([0-9]+)\"")
_TYPE = re.compile(r"\bt=\"(\w+)\"")


@dataclass(frozen=True)
class SheetMarks:
    """Of one sheet, rows and columns counted from 1: the used range, (row, column) of its percent cells and of its
    number cells with three decimals, what its error cells show (`#DIV/0!`), and what the formats of its time cells
    show. `unfinished`: places of formulas without a result, which `errors` shows too. `hidden`: the sheet itself is hidden, `hidden_rows`: rows of it
    are. `merged`: cells merged into one, as `B2:B4`, and their last row. `from_1904`: its days count from 1904."""

    first_column: int
    last_column: int
    last_row: int
    percent: frozenset[tuple[int, int]]
    three_decimals: frozenset[tuple[int, int]]
    errors: Mapping[tuple[int, int], str] = field(default_factory=dict)
    times: Mapping[tuple[int, int], str] = field(default_factory=dict)
    from_1904: bool = False
    unfinished: frozenset[tuple[int, int]] = frozenset()
    hidden: bool = False
    hidden_rows: frozenset[int] = frozenset()
    merged: tuple[tuple[str, int], ...] = ()


NOTHING = SheetMarks(1, 0, 0, frozenset(), frozenset())


def sheet_marks(archive: zipfile.ZipFile) -> list[SheetMarks]:
    """The marks of every sheet of a workbook, in the workbook's order."""
    names = set(archive.namelist())
    relations = _relations(archive, names)
    styles = _text(archive, names, "xl/styles.xml")
    percent, times = _percent_styles(styles), _time_styles(styles)
    workbook = _text(archive, names, "xl/workbook.xml")
    from_1904 = bool(_FROM_1904.search(workbook))
    found = []
    for tag, relation in _SHEET.findall(workbook):
        part = relations.get(relation, "")
        marks = _marks(_text(archive, names, part), percent, times) if part in names else NOTHING
        found.append(replace(marks, from_1904=from_1904, hidden=bool(_HIDDEN_SHEET.search(tag))))
    return found


def _text(archive: zipfile.ZipFile, names: set[str], part: str) -> str:
    if part not in names:
        return ""
    text = archive.read(part).decode("utf-8", errors="replace")
    return _SINGLE_QUOTED.sub(_double_quoted, text) if "='" in text else text


def _double_quoted(attribute: re.Match[str]) -> str:
    """An attribute in single quotation marks written with double ones."""
    value = attribute[2].replace('"', "&quot;")
    return f'{attribute[1]}="{value}"'


def _with_references(sheet: str) -> str:
    """A sheet whose cells all say where they stand; some programs leave that out."""
    row = column = 0

    def placed(tag: re.Match[str]) -> str:
        nonlocal row, column
        if tag[1] == "row":
            number = _ROW_NUMBER.search(tag[0])
            row, column = int(number[1]) if number else row + 1, 0
            return tag[0]
        reference = _REFERENCE.search(tag[0])
        column = _column_number(reference[1]) if reference else column + 1
        if reference:
            return tag[0]
        end = 2 if tag[0].endswith("/>") else 1
        return f'{tag[0][:-end]} r="{_column_letters(column)}{row}"{tag[0][-end:]}'

    return _ROW_OR_CELL.sub(placed, sheet)


def _relations(archive: zipfile.ZipFile, names: set[str]) -> dict[str, str]:
    """Part names by relation id."""
    found = {}
    for tag in _RELATION.findall(_text(archive, names, "xl/_rels/workbook.xml.rels")):
        attributes = dict(_ATTRIBUTE.findall(tag))
        target = attributes.get("Target", "")
        found[attributes.get("Id", "")] = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
    return found


def _percent_styles(styles: str) -> frozenset[int]:
    """Positions of the cell formats that show percent."""
    shown = set(PERCENT_FORMATS)
    for tag in _FORMAT.findall(styles):
        attributes = dict(_ATTRIBUTE.findall(tag))
        if "%" in _NOT_SHOWN.sub(
            "", unescape(attributes.get("formatCode", ""))
        ):  # `0"%"` shows a plain 25 as 25%
            shown.add(int(attributes["numFmtId"]))
    return frozenset(at for at, number in enumerate(_format_numbers(styles)) if number in shown)


def _format_numbers(styles: str) -> list[int]:
    """The number format of each cell format, in order."""
    block = _CELL_FORMATS.search(styles)
    formats = _CELL_FORMAT.findall(block.group(0)) if block else []
    return [int(dict(_ATTRIBUTE.findall(tag)).get("numFmtId", 0)) for tag in formats]


def _time_styles(styles: str) -> dict[int, str]:
    """What the cell formats of times show, by their position."""
    shown = dict(TIME_FORMATS)
    for tag in _FORMAT.findall(styles):
        attributes = dict(_ATTRIBUTE.findall(tag))
        form = time_form(attributes.get("formatCode", ""))
        if form:
            shown[int(attributes["numFmtId"])] = form
    return {at: shown[number] for at, number in enumerate(_format_numbers(styles)) if number in shown}


def time_form(code: str) -> str:
    """What a number format of a time shows; "" where it is none, or shows hours, minutes and seconds."""
    plain = _NOT_SHOWN.sub("", unescape(code).casefold().split(";")[0])
    if "am/pm" in plain or "a/p" in plain:
        return CLOCK
    if "m" not in plain or "d" in plain or "y" in plain:
        return ""
    if "[m" in plain:
        return ALL_MINUTES
    if "h" in plain:
        return "" if "s" in plain else HOURS_MINUTES
    return MINUTES_SECONDS if "s" in plain else ""


def _marks(sheet: str, percent_styles: frozenset[int], time_styles: Mapping[int, str]) -> SheetMarks:
    if _NO_REFERENCE.search(sheet):
        sheet = _with_references(sheet)
    first_column, last_column, last_row = 1_000_000, 0, 0
    percent, three_decimals, errors, times = set(), set(), {}, {}
    for attributes, value in _CELL.findall(sheet):
        reference = _REFERENCE.search(attributes)
        if reference is None:
            continue
        column, row = _column_number(reference[1]), int(reference[2])
        first_column, last_column = min(first_column, column), max(last_column, column)
        last_row = max(last_row, row)
        kind = _TYPE.search(attributes)
        if kind is not None and kind[1] != "n":
            if kind[1] == ERROR:
                errors[row, column] = value
            continue
        style = _STYLE.search(attributes)
        if style is not None and int(style[1]) in percent_styles:
            percent.add((row, column))
        elif style is not None and int(style[1]) in time_styles:
            times[row, column] = time_styles[int(style[1])]
        elif _has_three_decimals(value):
            three_decimals.add((row, column))
    unfinished = _formulas_without_result(sheet)
    return SheetMarks(
        min([first_column, *(column for _, column in unfinished)]),
        max([last_column, *(column for _, column in unfinished)]),
        max([last_row, *(row for row, _ in unfinished)]),
        frozenset(percent),
        frozenset(three_decimals),
        {**errors, **unfinished},
        times,
        unfinished=frozenset(unfinished),
        hidden_rows=frozenset(map(int, _HIDDEN_ROW.findall(sheet))),
        merged=tuple((cells, int(last_row)) for cells, last_row in _MERGED.findall(sheet)),
    )


def _formulas_without_result(sheet: str) -> dict[tuple[int, int], str]:
    """The formulas that the program that wrote them has not computed, by place; a text result may be empty."""
    found = {}
    for attributes, formula in _NO_RESULT.findall(sheet):
        reference, kind = _REFERENCE.search(attributes), _TYPE.search(attributes)
        if reference is not None and (kind is None or kind[1] != "str"):
            found[int(reference[2]), _column_number(reference[1])] = f"={unescape(formula) or '…'}"
    return found


def _has_three_decimals(value: str) -> bool:
    try:
        return len(repr(float(value)).partition(".")[2]) == 3
    except ValueError:
        return False


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def _column_letters(number: int) -> str:
    """Spreadsheet letters of a column counted from 1: A, B … Z, AA."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
