"""The sample files that no text editor writes: pictures, damaged workbooks, other letters, other separators.

`python -m contrib_samples.odd_files` writes them again, byte for byte. The plain `.csv` samples beside them
are written by hand; open one to see what a rule speaks of.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path

from contrib_samples.spellings import Cell
from contrib_samples.workbook import workbook_bytes

HERE = Path(__file__).parent
NOTE = "invented for the tests, not growing advice"
MIX: dict[str, Cell] = {
    "member": "larkfen-71",
    "series": "spring bench",
    "tested_on": "2026-03-14",
    "climate_zone": "Cfb",
    "setup_type": "rack",
    "pot_volume": "1 l",
    "component": "perlite",
    "component_grade": "medium",
    "component_share": "40 %",
    "pot_no": "1",
    "pour_no": "1",
    "poured": "300 ml",
    "collected": "150 ml",
    "drain_time": "3:25",
    "start_moisture": "moist",
    "notes": NOTE,
}
PLAIN: tuple[dict[str, Cell], ...] = (
    {**MIX, "component_share": "0 %", "drain_time": "5:10"},
    MIX,
    {**MIX, "pot_no": "2", "drain_time": "3:40"},
)


def lines_of(
    rows: Sequence[Mapping[str, Cell]], headings: Mapping[str, str] | None = None
) -> list[list[Cell]]:
    """A heading line, some of its headings spelled otherwise, and one line per row."""
    names = list(rows[0])
    heading: list[Cell] = [(headings or {}).get(name, name) for name in names]
    return [heading, *([row[name] for name in names] for row in rows)]


def text_of(lines: Sequence[Sequence[Cell]], separator: str = ",") -> str:
    """The lines as text with separators, as a spreadsheet saves it."""
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\r\n").writerows(lines)
    return out.getvalue()


def not_text() -> bytes:
    """A picture of one white point (PNG)."""
    return bytes.fromhex(
        "89504e470d0a1a0a0000000d4948445200000001000000010800000000"
        "3a7e9b550000000a49444154789c63f80f00010101001bb6ee560000000049454e44ae426082"
    )


def nul_found() -> bytes:
    """A right sheet with one zero byte in it."""
    return text_of(lines_of(PLAIN)).replace("moist", "mo\x00st", 1).encode()


def old_workbook() -> bytes:
    """The beginning of a workbook of the older kind (.xls): its signature, then nothing."""
    return bytes.fromhex("d0cf11e0a1b11ae1") + bytes(504)


def other_archive() -> bytes:
    """A packed document that is no workbook."""
    return _packed({"content.xml": f"<document>{NOTE}</document>", "mimetype": "text document"})


def workbook_damaged() -> bytes:
    """A right workbook that lost its second half on the way."""
    whole = workbook_bytes(lines_of(PLAIN))
    return whole[: len(whole) // 2]


def workbook_too_large() -> bytes:
    """A workbook whose directory says that its sheet is 3 GB long."""
    whole = bytearray(workbook_bytes(lines_of(PLAIN)))
    entry = whole.rfind(b"PK\x01\x02")
    whole[entry + 24 : entry + 28] = (3_000_000_000).to_bytes(4, "little")
    return bytes(whole)


def workbook_sparse() -> bytes:
    """A right workbook with a lone cell in its last row and far to the right."""
    whole = zipfile.ZipFile(io.BytesIO(workbook_bytes(lines_of(PLAIN))))
    parts = {name: whole.read(name).decode() for name in whole.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    far = '<row r="1048576"><c r="AZ1048576"><v>1</v></c></row></sheetData>'
    return _packed({**parts, sheet: parts[sheet].replace("</sheetData>", far)})


def formula_without_result() -> bytes:
    """A workbook whose program left a formula under `poured` without its result."""
    whole = zipfile.ZipFile(io.BytesIO(workbook_bytes(lines_of(PLAIN))))
    parts = {name: whole.read(name).decode() for name in whole.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    cell = '<c r="L3" t="inlineStr"><is><t xml:space="preserve">300 ml</t></is></c>'
    formula = '<c r="L3"><f>L2&amp;""</f></c>'
    return _packed({**parts, sheet: parts[sheet].replace(cell, formula)})


def rows_hidden() -> bytes:
    """A workbook that hides its third row."""
    whole = zipfile.ZipFile(io.BytesIO(workbook_bytes(lines_of(PLAIN))))
    parts = {name: whole.read(name).decode() for name in whole.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    return _packed({**parts, sheet: parts[sheet].replace('<row r="3">', '<row r="3" hidden="1">')})


def cells_merged() -> bytes:
    """A workbook with the dates of three rows merged into one cell."""
    whole = zipfile.ZipFile(io.BytesIO(workbook_bytes(lines_of(PLAIN))))
    parts = {name: whole.read(name).decode() for name in whole.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    text = re.sub(r'<c r="C[34]"[^>]*>.*?</c>', "", parts[sheet])
    merged = '</sheetData><mergeCells count="1"><mergeCell ref="C2:C4"/></mergeCells>'
    return _packed({**parts, sheet: text.replace("</sheetData>", merged)})


def code_letters_guessed() -> bytes:
    """A sheet saved as Windows text of Middle Europe, with its letters in the member's code."""
    rows = [{**row, "member": "břeh-71"} for row in PLAIN]
    return text_of(lines_of(rows)).encode("cp1250")


def letters_guessed() -> bytes:
    """A sheet saved as Windows text, with letters beyond ASCII."""
    rows = [{**row, "notes": f"am Nordfenster geprüft; {NOTE}"} for row in PLAIN]
    return text_of(lines_of(rows)).encode("cp1252")


def german_sheet() -> bytes:
    """A sheet of a German spreadsheet: semicolons, decimal commas, 14.3.2026, Windows letters."""
    said: dict[str, Cell] = {
        "member": "zwielmoor-71",
        "series": "Fensterbank Mai",
        "tested_on": "14.3.2026",
        "climate_zone": "Dfb",
        "pot_volume": "1,05 l",
        "poured": "0,3 l",
        "collected": "0,15 l",
        "notes": f"Wasser 18 °C, ungedüngt geprüft; {NOTE}",
    }
    rows = [{**row, **said, "water_temp": "18,5 °C"} for row in PLAIN]
    return text_of(lines_of(rows, {"tested_on": "Tested on", "water_temp": "Water temp"}), ";").encode(
        "cp1252"
    )


def american_sheet() -> bytes:
    """A sheet saved as "Unicode text" (UTF-16, tabs) in cups, fluid ounces and °F, dates with slashes."""
    said: dict[str, Cell] = {
        "member": "pinefolly-71",
        "series": "porch",
        "tested_on": "3/14/2026",
        "climate_zone": "Cfa",
        "pot_volume": "4 1/2 cups",
        "poured": "1 1/4 cups",
        "collected": "5 fl oz",
        "water_temp": "66 °F",
    }
    rows = [{**row, **said} for row in PLAIN]
    return b"\xff\xfe" + text_of(lines_of(rows), "\t").encode("utf-16-le")


def workbook_sheet() -> bytes:
    """A workbook with date cells, time cells and numbers, units in the headings, parts with a plus sign."""
    rows: list[dict[str, Cell]] = []
    for share, pot_no, seconds in (("1+0", 1, 310), ("3+2", 1, 205), ("3+2", 2, 221)):
        row = {**MIX, "tested_on": date(2026, 4, 11), "series": "glasshouse rack", "pot_no": str(pot_no)}
        row |= {"component_share": share, "drain_time": timedelta(seconds=seconds)}
        rows.append(row | {"pot_volume": "1.2", "poured": "360", "collected": "180"})
    headings = {
        "component_share": "Parts",
        "pot_volume": "Pot volume (l)",
        "poured": "Poured [ml]",
        "collected": "Collected [ml]",
    }
    return workbook_bytes(lines_of(rows, headings))


def sheets_passed_over() -> bytes:
    """A workbook with the same run sheet on two pages, `Sheet1` and `Sheet2`."""
    whole = zipfile.ZipFile(io.BytesIO(workbook_bytes(lines_of(PLAIN))))
    parts = {name: whole.read(name).decode() for name in whole.namelist()}
    for name, mark in _FIRST_PAGE.items():
        start = parts[name].index(mark)
        first = parts[name][start : parts[name].index("/>", start) + 2]
        second = first.replace("heet1", "heet2").replace('sheetId="1"', 'sheetId="2"').replace("rId1", "rId3")
        parts[name] = parts[name].replace(first, first + second)
    return _packed({**parts, "xl/worksheets/sheet2.xml": parts["xl/worksheets/sheet1.xml"]})


_FIRST_PAGE = {
    "[Content_Types].xml": '<Override PartName="/xl/worksheets/sheet1.xml"',
    "xl/workbook.xml": "<sheet name=",
    "xl/_rels/workbook.xml.rels": '<Relationship Id="rId1"',
}
"""Where each part of a workbook names its first page."""


FILES: dict[str, Callable[[], bytes]] = {
    "refused/not_text.png": not_text,
    "refused/nul_found.csv": nul_found,
    "refused/old_workbook.xls": old_workbook,
    "refused/other_archive.zip": other_archive,
    "refused/workbook_damaged.xlsx": workbook_damaged,
    "refused/workbook_too_large.xlsx": workbook_too_large,
    "refused/workbook_sparse.xlsx": workbook_sparse,
    "refused/sheets_passed_over.xlsx": sheets_passed_over,
    "refused/letters_guessed.csv": letters_guessed,
    "refused/rows_hidden.xlsx": rows_hidden,
    "refused/cells_merged.xlsx": cells_merged,
    "refused/code_letters_guessed.csv": code_letters_guessed,
    "refused/formula_without_result.xlsx": formula_without_result,
    "accepted/german.csv": german_sheet,
    "accepted/american.txt": american_sheet,
    "accepted/workbook.xlsx": workbook_sheet,
}
"""Sample file -> what makes its bytes."""

TOO_LARGE_TO_KEEP: dict[str, Callable[[], bytes]] = {
    "refused/file_too_large.csv": lambda: text_of(lines_of(PLAIN)).encode().ljust(20_000_001, b"\n"),
    "refused/too_many_rows.csv": lambda: b"member,series,notes\n" + b"larkfen-71\n" * 200_001,
}
"""Samples of which only the receipt is kept; the tests make them when they need them."""


def _packed(parts: Mapping[str, str]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
        for name, text in parts.items():
            archive.writestr(zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0)), text.encode())
    return file.getvalue()


def main() -> None:
    """Writes every odd sample file again."""
    for name, make in FILES.items():
        (HERE / name).write_bytes(make())


if __name__ == "__main__":
    main()
