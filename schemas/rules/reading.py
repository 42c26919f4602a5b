"""Rules about reading a file: can it be read, are its columns there, is each row whole, how was it read."""

from __future__ import annotations

from schemas.rules.rule import Rule

_ASIDE = "nothing in it was read"
_SAVE_AS = "Save the sheet from your spreadsheet as .xlsx or as “CSV UTF-8”, and send that file."

UNREADABLE: tuple[Rule, ...] = (
    Rule(
        "not_opened",
        "Could not be opened",
        "A file named on the command line is there and can be opened.",
        "held",
        "file",
        f"The file could not be opened: {{why}}; {_ASIDE}.",
        "Check the name and the folder, and run the command again.",
    ),
    Rule(
        "file_empty",
        "Empty file",
        "A run sheet holds a heading line and at least one row.",
        "held",
        "file",
        "The file is empty; there was nothing to read.",
        "Look whether the right file was sent. " + _SAVE_AS,
    ),
    Rule(
        "file_too_large",
        "File too large",
        "One run sheet may be up to 20 MB; even years of tests stay far below.",
        "held",
        "file",
        f"The file is {{size}} large, and a {{sheet}} may be {{limit}} at most; {_ASIDE}.",
        "Look whether the right file was sent, or split the sheet into several.",
    ),
    Rule(
        "too_many_rows",
        "Too many rows",
        "One run sheet may hold up to 200 000 rows.",
        "held",
        "file",
        f"The file holds {{rows}} rows, and a {{sheet}} may hold {{limit}} at most; {_ASIDE}.",
        "Split the sheet into several, each with the heading line on top.",
    ),
    Rule(
        "not_text",
        "Neither text nor a spreadsheet",
        "A run sheet is a text file with separators (CSV) or a workbook (.xlsx).",
        "held",
        "file",
        f"The file is {{what}}, not a {{sheet}}; {_ASIDE}.",
        _SAVE_AS,
    ),
    Rule(
        "nul_found",
        "Not a text file",
        "Text holds no zero bytes; pictures, programs and damaged files do.",
        "held",
        "file",
        f"The file holds zero bytes, which no text has: it is damaged or of another kind; {_ASIDE}.",
        _SAVE_AS,
    ),
    Rule(
        "web_page",
        "A web page",
        "A page saved from the web browser is no run sheet, even where it shows one.",
        "held",
        "file",
        f"The file is a web page, not a {{sheet}}; {_ASIDE}.",
        "Download the sheet itself instead of saving the page that shows it. " + _SAVE_AS,
    ),
    Rule(
        "old_workbook",
        "An old or locked workbook",
        "Workbooks are read as .xlsx without a password; the older .xls is not read.",
        "held",
        "file",
        f"The file is a workbook of the older kind (.xls), or locked with a password; {_ASIDE}.",
        "Open it in your spreadsheet, take the password off if there is one, and save it as .xlsx or as “CSV UTF-8”.",
    ),
    Rule(
        "other_archive",
        "Another kind of document",
        "Of spreadsheet files only .xlsx and CSV are read.",
        "held",
        "file",
        f"The file is a packed document, but no .xlsx workbook; {_ASIDE}.",
        _SAVE_AS,
    ),
    Rule(
        "workbook_damaged",
        "Damaged workbook",
        "The workbook can't be unpacked or its sheets can't be read.",
        "held",
        "file",
        f"The workbook is damaged or incomplete; {_ASIDE}.",
        "Open it in your spreadsheet, save it under a new name as .xlsx or as “CSV UTF-8”, and send that file.",
    ),
    Rule(
        "workbook_too_large",
        "Workbook too large",
        "Unpacked, a workbook may be up to 200 MB.",
        "held",
        "file",
        f"Unpacked, the workbook is {{size}} large, and {{limit}} is the most that is read; {_ASIDE}.",
        "Copy the {sheet} alone into a new workbook, without pictures and other sheets, and send that.",
    ),
    Rule(
        "workbook_sparse",
        "A cell far away from the sheet",
        "A lone cell far below or far to the right makes a sheet too large to read.",
        "held",
        "file",
        f"The workbook has a filled cell far away from the {{sheet}} (the last one is in row {{row}}); {_ASIDE}.",
        "Delete everything below and to the right of the {sheet}, or copy the {sheet} into a new workbook.",
    ),
    Rule(
        "quote_open",
        "A quotation mark that is never closed",
        "A cell that begins with a quotation mark ends with one; else it can't be told where it ends.",
        "held",
        "file",
        f"In row {{row}} a quotation mark opens a cell and none closes it, so it can't be told where the cell ends; {_ASIDE}.",
        "Take the quotation mark out or close it, or save the sheet anew from your spreadsheet.",
    ),
    Rule(
        "no_heading",
        "No heading line",
        "One of the first lines must name the columns: member, series, tested_on and so on.",
        "held",
        "file",
        f"In the first {{looked}} rows there is no line that names the columns of a {{sheet}}; {_ASIDE}.",
        "Put the heading line of the blank {sheet} on top of your rows; drainpool sheet writes one.",
    ),
    Rule(
        "no_rows",
        "No rows",
        "Below the heading line stands one row per pour.",
        "held",
        "file",
        "The file has a heading line and no rows below it; there was nothing to read.",
        "Look whether the right file was sent, and whether the rows were saved with it.",
    ),
    Rule(
        "file_not_read",
        "The tool failed on this file",
        "Reading stopped for a reason that drainpool did not foresee. That is a fault of the tool.",
        "held",
        "file",
        f"drainpool could not read this file, and that is a fault of the tool; {_ASIDE}.",
        "Please show the file to your coordinator. Until this is mended, saving it anew as “CSV UTF-8” may help.",
    ),
)
"""Rules of files that can't be read as a run sheet."""

SHAPE: tuple[Rule, ...] = (
    Rule(
        "column_missing",
        "A required column is missing",
        "Every run sheet has the required columns, and a share in percent or in parts.",
        "held",
        "file",
        "The heading line has no column for: {columns}. {unknown}All rows of the sheet are held.",
        "Add the missing columns, or spell their headings as in the blank {sheet}, and send the sheet again.",
    ),
    Rule(
        "column_twice",
        "The same column twice",
        "Each column stands once; drain_time_s and drain time (min) are the same column.",
        "held",
        "file",
        "The heading line has the same column twice: {pairs}. It can't be told which one holds; all rows of the sheet are held.",
        "Keep one of the two, and delete or rename the other.",
    ),
    Rule(
        "row_too_short",
        "Row shorter than the heading",
        "A row has a cell for every required column.",
        "held",
        "row",
        "The row has {cells} cells, the heading line {width}, and required columns are among those missing; the row is held.",
        "Look where a cell or a separator was lost, and give the row as many cells as the heading has.",
    ),
    Rule(
        "row_too_long",
        "Row longer than the heading",
        "A row has no filled cells beyond the heading line's last column.",
        "held",
        "row",
        "The row has {cells} cells, the heading line {width}; “{value}” stands beyond the last column. The row is held.",
        "Look for a separator too many, such as a comma inside a number or a note; put quotation marks round such "
        "a cell, or save the sheet as .xlsx.",
    ),
    Rule(
        "column_unknown",
        "Unknown column",
        "Columns that the run sheet does not have are ignored.",
        "advice",
        "file",
        "The heading “{value}” names no column of the {sheet}; the column was ignored.",
        "If it was meant to be a column of the {sheet}, spell its heading as in the blank {sheet}.",
    ),
    Rule(
        "column_unnamed",
        "Column without a heading",
        "Cells without a heading above them are ignored.",
        "advice",
        "file",
        "A column without a heading holds something, for the first time in row {row}; the column was ignored.",
        "Give the column its heading, or empty it.",
    ),
)
"""Rules of the sheet's columns and of rows that do not fit them."""

HOW_READ: tuple[Rule, ...] = (
    Rule(
        "letters_guessed",
        "Letters read as Windows text",
        "A file that is not UTF-8 is read as Windows-1252, the usual one of older Western spreadsheets.",
        "advice",
        "file",
        "The file is not saved as UTF-8, so it was read as Windows-1252 text; letters such as ö or ° may be wrong.",
        "If names or notes look wrong, save the sheet as “CSV UTF-8” or .xlsx and send it again.",
    ),
    Rule(
        "decimal_marks_mixed",
        "Point and comma as decimal marks",
        "Numbers whose decimal mark is plain are read either way; 1.234 is not, where a sheet uses both.",
        "advice",
        "file",
        "Some numbers of this sheet have a decimal point, others a decimal comma. Each was read by its own form; "
        "numbers such as 1.234, which could be either, are held.",
        "Use one decimal mark in the whole sheet.",
    ),
    Rule(
        "kitchen_units_us",
        "Kitchen units read as US customary",
        "A cup, fl oz, pint, quart, gal, tbsp or tsp without a country is the US customary one.",
        "advice",
        "file",
        "Read as US customary: {units}.",
        "If yours are others, write so: metric cup, imp fl oz, imp pint, imp gal; or write ml.",
    ),
    Rule(
        "sheets_passed_over",
        "More than one run sheet in a workbook",
        "Of a workbook only the first sheet with the columns of a run sheet is read.",
        "advice",
        "file",
        "Only the first {sheet} of the workbook was read; {names} holds rows too, and none of them was taken.",
        "Send each {sheet} as a file of its own, or move all rows into one sheet.",
    ),
    Rule(
        "slashed_dates_read",
        "How dates with slashes were read",
        "Dates with slashes are read where the sheet itself shows which number is the month.",
        "advice",
        "file",
        "Dates with slashes were read as {order}, because of “{settled_by}”.",
        "If that is wrong, write all dates as year-month-day, such as 2026-03-14.",
    ),
    Rule(
        "beside_the_pool",
        "What of it is in the pool already",
        "Of a series that is in the pool, a later sheet replaces the runs it repeats, adds new ones, and leaves the others.",
        "advice",
        "file",
        "Beside what the pool has: {said}.",
        "If that is what you meant, nothing needs to be done; if not, ask your coordinator.",
    ),
)
"""What is said once about how a sheet was read."""

RULES: tuple[Rule, ...] = (*UNREADABLE, *SHAPE, *HOW_READ)

NO_SHEET_AT_ALL: frozenset[str] = frozenset({"not_opened", "beside_the_pool"})
"""Rules about a file that is not there, or about the pool: no sample sheet can show them."""
