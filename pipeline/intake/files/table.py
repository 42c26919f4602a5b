"""Where the table in a text file begins: the separator, the heading line, and the lines or records below it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice

from pipeline.intake.characters import SPACES
from pipeline.intake.files.careful import read_records
from pipeline.intake.files.headings import Headings, count_known, read_headings
from pipeline.intake.received import MOST_ROWS, UnreadableError
from schemas.column import OwnHeadings
from schemas.kinds.kind import SheetKind

SEPARATORS = (",", ";", "\t")
FEWEST_KNOWN = 2
"""A line is the heading line only where it names at least so many columns."""
FEWEST_COMPLETE = 10
"""A line that names fewer columns can't have every required one."""
FEWEST_FILLED = 6
"""A line above the heading is a row, not a title, where it has so many filled cells: half of what a row needs."""
LINES_LOOKED_AT = 60
"""How far down the heading line may stand."""


@dataclass(frozen=True)
class TextTable:
    """A text file with its heading found. `heading_row` counts spreadsheet rows from the top, from 1.

    `body`: the text below the heading line, lines ended by \\n, where no cell is quoted and each line is a row;
    else None, and `records` holds the rows below the heading, split into cells. `passed_over`: names of further
    sheets of the same workbook that hold run sheets too, and are not read. `above`: the records above the heading
    that look like rows, the others emptied. `swallowed`: rows that stood inside one quoted cell. `unfinished`: row and
    position of cells that hold a formula and no result. `hidden`: filled rows that the workbook hides.
    `merged`: cells below the heading that the workbook merges into one, as `B2:B4`.
    """

    separator: str
    headings: Headings
    heading_line: str
    heading_row: int
    body: str | None
    records: Sequence[Sequence[str]]
    passed_over: tuple[str, ...] = ()
    above: Sequence[Sequence[str]] = ()
    swallowed: frozenset[int] = frozenset()
    unfinished: frozenset[tuple[int, int]] = frozenset()
    hidden: Sequence[int] = ()
    merged: Sequence[str] = ()


def find_table(text: str, kind: SheetKind, own: OwnHeadings = ()) -> TextTable:
    """The table of a text, its headings read as that kind's. Raises UnreadableError where no heading line is found or there are too many rows."""
    text, declared = _without_separator_line(text)
    if '"' in text:
        return _quoted_table(text, declared, kind, own)
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return _plain_table(text, declared, kind, own)


def _plain_table(text: str, declared: str, kind: SheetKind, own: OwnHeadings) -> TextTable:
    first = text[: text.find("\n")] if "\n" in text else text
    separator, headings = _as_heading_line(first, declared, kind, own)
    above: list[list[str]] = []
    if headings is None or not headings.complete:
        head = text.split("\n", LINES_LOOKED_AT)[:LINES_LOOKED_AT]
        separator, row = heading_place(
            ((mark, [line.split(mark) for line in head]) for mark in _candidates(declared)), kind, own
        )
        first = head[row - 1]
        headings = read_headings(first.split(separator), kind, own)
        text = text.split("\n", row - 1)[-1]
        above = [line.split(separator) for line in head[: row - 1]]
    body = text[len(first) + 1 :]
    refuse_too_many(_count_lines(body, separator))
    return TextTable(separator, headings, first, len(above) + 1, body, (), above=rows_above(above))


def _quoted_table(text: str, declared: str, kind: SheetKind, own: OwnHeadings) -> TextTable:
    first = text[: _line_end(text)]
    separator, headings = ("", None) if '"' in first else _as_heading_line(first, declared, kind, own)
    row = 1
    if headings is None or not headings.complete:
        heads = (
            (mark, list(islice(_lenient(text, mark), LINES_LOOKED_AT))) for mark in _candidates(declared)
        )
        separator, row = heading_place(heads, kind, own)
    records = read_records(text, separator)
    if row > 1 or headings is None or not headings.complete:
        _, row = heading_place([(separator, records[:LINES_LOOKED_AT])], kind, own)
        headings = read_headings(records[row - 1], kind, own)
    body, swallowed = _with_swallowed_rows(records[row:], row, separator, headings)
    if len(body) > MOST_ROWS:
        refuse_too_many(sum(1 for record in body if "".join(record).strip(SPACES)))
    above = rows_above(records[: row - 1])
    return TextTable(separator, headings, "", row, None, body, above=above, swallowed=frozenset(swallowed))


def _with_swallowed_rows(
    records: Sequence[Sequence[str]], heading_row: int, separator: str, headings: Headings
) -> tuple[list[Sequence[str]], list[int]]:
    """The records, with those that a lone quotation mark put into one cell taken apart line by line, and the
    spreadsheet rows of these: such a cell holds line breaks and as many separators as a row."""
    apart: list[Sequence[str]] = []
    swallowed: list[int] = []
    enough = max(headings.fewest_cells - 1, 2)
    for record in records:
        if not any("\n" in cell and cell.count(separator) >= enough for cell in record):
            apart.append(record)
            continue
        for line in separator.join(record).replace("\r\n", "\n").split("\n"):
            apart.append(line.split(separator))
            swallowed.append(heading_row + len(apart))
    return apart, swallowed


def rows_above(records: Sequence[Sequence[str]]) -> Sequence[Sequence[str]]:
    """The records above a heading that look like rows; titles and cover lines are emptied."""
    kept = [
        record if sum(1 for cell in record if cell.strip(SPACES)) >= FEWEST_FILLED else []
        for record in records
    ]
    return kept if any(kept) else ()


def _line_end(text: str) -> int:
    """Where the first line of a text ends."""
    return min((at for at in (text.find("\n"), text.find("\r")) if at >= 0), default=len(text))


def _lenient(text: str, separator: str) -> Iterator[list[str]]:
    """The first records of a text, to look for the heading in: nothing is refused yet."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        yield from reader
    except csv.Error:
        return


def _without_separator_line(text: str) -> tuple[str, str]:
    """The text without a `sep=;` line, which is no row, and the separator that it declares ("" for none)."""
    end = _line_end(text)
    line = text[:end].strip(SPACES.replace("\t", "")).strip('"')
    if line[:4].casefold() != "sep=":
        return text, ""
    rest = text[end:]
    rest = rest[2:] if rest.startswith("\r\n") else rest[1:]
    declared = line[4:5]
    return rest, "" if declared in ('"', "\n", "\r") else declared


def _candidates(declared: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((declared, *SEPARATORS))) if declared else SEPARATORS


@lru_cache(maxsize=1024)
def _as_heading_line(
    line: str, declared: str, kind: SheetKind, own: OwnHeadings
) -> tuple[str, Headings | None]:
    """Separator and headings of a text's first line; no headings where it is none."""
    if len(line) > 20_000:
        return "", None
    counts = {mark: count_known(line.split(mark), kind, own) for mark in _candidates(declared)}
    best = max(counts, key=lambda mark: counts[mark])
    if counts[best] < FEWEST_KNOWN:
        return "", None
    return best, read_headings(line.split(best), kind, own)


def heading_place(
    heads: Iterable[tuple[str, Sequence[Sequence[str]]]], kind: SheetKind, own: OwnHeadings = ()
) -> tuple[str, int]:
    """The separator and the row (from 1) of the first line that has every required column; where none has, of the
    line that names most columns, the first such. Raises UnreadableError where no line names columns."""
    best, separator, row = (False, 0), "", 0
    for mark, lines in heads:
        for at, cells in enumerate(lines, 1):
            known = count_known(cells, kind, own)
            if known < FEWEST_KNOWN or (known < best[1] and best[0]):
                continue
            rank = (known >= FEWEST_COMPLETE and read_headings(cells, kind, own).complete, known)
            if rank > best and not (best[0] and mark == separator):
                best, separator, row = rank, mark, at
    if not row:
        raise UnreadableError("no_heading", looked=str(LINES_LOOKED_AT))
    return separator, row


def _count_lines(body: str, separator: str) -> int:
    """Lines of a body that hold more than empty cells, counted only where there may be too many."""
    if body.count("\n") < MOST_ROWS:
        return 0
    blank = SPACES + separator
    return sum(1 for line in body.split("\n") if line.strip(blank))


def refuse_too_many(rows: int) -> None:
    """Raises UnreadableError where a sheet has more rows than one sheet may have."""
    if rows > MOST_ROWS:
        raise UnreadableError("too_many_rows", rows=f"{rows:,}", limit=f"{MOST_ROWS:,}")
