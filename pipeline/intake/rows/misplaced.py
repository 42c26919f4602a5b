"""Lines that are no rows of the table, or can't be trusted to be: above the heading, below a second heading, swallowed
by a quotation mark; and lines of averages and totals, which are left out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

import polars as pl

from pipeline.intake.files.headings import read_heading
from pipeline.intake.files.table import FEWEST_FILLED, TextTable
from pipeline.intake.received import Finding, problem_frame
from pipeline.intake.rows.shape import KEYS
from schemas.kinds.kind import SheetKind

NEVER_BARE = ("tested_on", "pot_no", "pour_no", "poured", "collected", "drain_time")
"""Required columns whose cells hold a digit: a filled cell without one may be a heading."""
NAMED_IN = ("member", "series", "tested_on", "notes")
"""Where the word of an average line may stand."""
BLANK_IN_TOTALS = ("setup_type", "climate_zone", "pot_no", "pour_no")
_TOTAL = (
    r"(?i)^\W*(mean|average|avg\.?|median|total|sum|subtotal|std\.?( ?dev\.?)?|sd|min|max|minimum|maximum|count"
    r"|mittel(wert)?|durchschnitt|summe|gesamt|moyenne|somme|gemiddelde|totaal|som|promedio|media|suma)\W*$"
)
"""What spreadsheets and people write in front of averages and totals: English, German, French, Dutch, Spanish."""
_DIGIT = "[0-9０-９]"


def without_totals(gathered: pl.DataFrame) -> tuple[pl.DataFrame, list[tuple[int, Finding]]]:
    """The rows without lines of averages and totals, and what is said about each such line."""
    names = [name for name in NAMED_IN if name in gathered.columns]
    blank = [name for name in BLANK_IN_TOTALS if name in gathered.columns]
    if not names or len(blank) < 2:
        return gathered, []
    named = pl.any_horizontal(pl.col(name).str.contains(_TOTAL).fill_null(False) for name in names)
    total = named & pl.all_horizontal(pl.col(name).is_null() for name in blank)
    lines = gathered.filter(total)
    if not lines.height:
        return gathered, []
    found = []
    for line in lines.select("file_id", "sheet_row", *names).iter_rows(named=True):
        word = next(str(line[name]) for name in names if line[name] and re.match(_TOTAL, line[name]))
        details = {"row": str(line["sheet_row"]), "word": word}
        found.append((line["file_id"], Finding("total_left_out", details)))
    return gathered.filter(~total), found


def misplaced_rows(gathered: pl.DataFrame, tables: Mapping[int, TextTable], kind: SheetKind) -> pl.DataFrame:
    """The problem frame of rows above the heading, swallowed by a quotation mark, or below a second heading."""
    found: list[tuple[int, Finding]] = []
    for file_id, table in tables.items():
        for row, record in enumerate(table.above, 1):
            if record:
                details = {"heading": str(table.heading_row)}
                found.append((file_id, Finding("row_above_heading", details, sheet_row=row)))
        found.extend(
            (file_id, Finding("quote_swallows", {}, sheet_row=row)) for row in sorted(table.swallowed)
        )
        found.extend((file_id, finding) for finding in _unfinished(gathered, file_id, table))
    for file_id, second in _second_headings(gathered, tables, kind).items():
        below = gathered.filter((pl.col("file_id") == file_id) & (pl.col("sheet_row") >= second))
        found.extend(
            (file_id, Finding("second_heading", {"row": str(second)}, sheet_row=row))
            for row in below["sheet_row"]
        )
    return problem_frame(found)


def _unfinished(gathered: pl.DataFrame, file_id: int, table: TextTable) -> list[Finding]:
    """What is said of each formula that its program left without a result."""
    if not table.unfinished:
        return []
    rows = gathered.filter(file_id=file_id)
    names = {position: name for name, position in table.headings.positions.items()}
    cells = {
        (row, name): text
        for name in names.values()
        for row, text in rows.select("sheet_row", name).iter_rows()
    }
    return [
        Finding("formula_without_result", {}, row, names[at], cells.get((row, names[at])))
        for row, at in sorted(table.unfinished)
        if at in names
    ]


def _second_headings(
    gathered: pl.DataFrame, tables: Mapping[int, TextTable], kind: SheetKind
) -> dict[int, int]:
    """By file, the first row below its heading that is a heading line itself."""
    names = [name for name in NEVER_BARE if name in gathered.columns]
    if not names:
        return {}
    bare = [pl.col(name).is_not_null() & ~pl.col(name).str.contains(_DIGIT) for name in names]
    suspects = gathered.filter(pl.sum_horizontal(bare) >= 2)
    cells = [name for name in suspects.columns if name not in ("unnamed", "cell_count", *KEYS)]
    second: dict[int, int] = {}
    for line in suspects.sort(KEYS).iter_rows(named=True):
        file_id, row = line["file_id"], line["sheet_row"]
        if file_id in second or row < tables[file_id].heading_row:
            continue
        own = tables[file_id].headings.own
        texts = [text for name in cells for text in str(line[name] or "").split(", ")]
        known = {
            heading.column
            for text in texts
            if text and len(text) <= 80 and (heading := read_heading(text, kind, own))
        }
        if len(known) >= FEWEST_FILLED:
            second[file_id] = row
    return second
