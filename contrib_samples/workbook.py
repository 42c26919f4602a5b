"""A small spreadsheet file (.xlsx) whose bytes depend on its cells alone: no clock, no writer's version,
nothing compressed. Format: ECMA-376 (SpreadsheetML), the parts that a reader needs."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from xml.sax.saxutils import escape

from contrib_samples.spellings import Cell

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_DECLARATION = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_FIRST_DAY = date(1899, 12, 30)
_FIXED_MOMENT = (2026, 1, 1, 0, 0, 0)
# styles of cells: 0 plain, 1 a date, 2 a time of day or length of time
_STYLES = (
    f'<styleSheet xmlns="{_MAIN}"><fonts count="1"><font/></fonts><fills count="1"><fill/></fills>'
    '<borders count="1"><border/></borders><cellStyleXfs count="1"><xf/></cellStyleXfs>'
    '<cellXfs count="3"><xf/><xf numFmtId="14" applyNumberFormat="1"/>'
    '<xf numFmtId="21" applyNumberFormat="1"/></cellXfs></styleSheet>'
)


def workbook_bytes(lines: Iterable[Sequence[Cell]]) -> bytes:
    """The file with one sheet that holds `lines`, the heading first; texts that are plain numbers become
    number cells, as when typed."""
    parts = {
        "[Content_Types].xml": _content_types(),
        "_rels/.rels": _relations({"rId1": ("officeDocument", "xl/workbook.xml")}),
        "xl/workbook.xml": f'<workbook xmlns="{_MAIN}" xmlns:r="{_OFFICE}"><sheets>'
        '<sheet name="Sheet1" sheetId="1" r:id="rId1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": _relations(
            {"rId1": ("worksheet", "worksheets/sheet1.xml"), "rId2": ("styles", "styles.xml")}
        ),
        "xl/styles.xml": _STYLES,
        "xl/worksheets/sheet1.xml": _sheet(lines),
    }
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
        for name, text in parts.items():
            entry = zipfile.ZipInfo(name, _FIXED_MOMENT)
            entry.create_system = 0
            archive.writestr(entry, (_DECLARATION + text).encode("utf-8"))
    return file.getvalue()


def _content_types() -> str:
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    overrides = {"workbook": "sheet.main", "worksheets/sheet1": "worksheet", "styles": "styles"}
    return (
        f'<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>'
        + "".join(
            f'<Override PartName="/xl/{part}.xml" ContentType="{kind}.{name}+xml"/>'
            for part, name in overrides.items()
        )
        + "</Types>"
    )


def _relations(targets: dict[str, tuple[str, str]]) -> str:
    return (
        f'<Relationships xmlns="{_PACKAGE}/relationships">'
        + "".join(
            f'<Relationship Id="{key}" Type="{_OFFICE}/{kind}" Target="{target}"/>'
            for key, (kind, target) in targets.items()
        )
        + "</Relationships>"
    )


def _sheet(lines: Iterable[Sequence[Cell]]) -> str:
    rows = []
    for row_no, line in enumerate(lines, start=1):
        cells = "".join(_cell(f"{_letters(at)}{row_no}", value) for at, value in enumerate(line))
        rows.append(f'<row r="{row_no}">{cells}</row>')
    return f'<worksheet xmlns="{_MAIN}"><sheetData>{"".join(rows)}</sheetData></worksheet>'


def _cell(place: str, value: Cell) -> str:
    if value == "":
        return ""
    if isinstance(value, date):
        return f'<c r="{place}" s="1"><v>{(value - _FIRST_DAY).days}</v></c>'
    if isinstance(value, timedelta):
        return f'<c r="{place}" s="2"><v>{value.total_seconds() / 86400:.12f}</v></c>'
    try:
        return f'<c r="{place}"><v>{float(value):.10g}</v></c>'
    except ValueError:
        return f'<c r="{place}" t="inlineStr"><is><t xml:space="preserve">{escape(str(value))}</t></is></c>'


def _letters(column: int) -> str:
    """Spreadsheet letters of a column counted from 0: A, B … Z, AA."""
    high, low = divmod(column, 26)
    return (chr(64 + high) if high else "") + chr(65 + low)
