"""Rules about how a whole sheet was read: said once per file, and nothing is held for them."""

from __future__ import annotations

from schemas.rules.rule import Rule

HOW_READ: tuple[Rule, ...] = (
    Rule(
        "headings_understood",
        "Headings in other words",
        "Common headings in English, German, French, Dutch and Spanish count as the column that they name.",
        "advice",
        "file",
        "Headings were read so: {pairs}.",
        "If one of them means something else, give it a name of your own, and the column the heading of the blank {sheet}.",
    ),
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
        "thousands_possible",
        "Decimals that may be thousands",
        "4.000 ml is read as 4 ml where the sheet has a decimal point, and may have been meant as 4000 ml.",
        "advice",
        "file",
        "Read with a decimal {mark}, as other numbers of the sheet have: {example} as {read}. It can also be {large}.",
        "If thousands were meant, write {large}, and the others likewise.",
    ),
    Rule(
        "minutes_like_seconds",
        "Minutes that may be minutes and seconds",
        "Where every fraction of a minute in a sheet is below .60, 3.25 may have been meant as 3 min 25 s.",
        "advice",
        "file",
        "Minutes with decimals were read as such: {example} as {read}. All fractions of this sheet are below .60, as "
        "seconds would be.",
        "Were minutes and seconds meant? Then write {clock} for {example}, and the others likewise.",
    ),
    Rule(
        "sheets_passed_over",
        "More than one run sheet in a workbook",
        "Of a workbook only the first sheet with the columns of a run sheet is read.",
        "advice",
        "file",
        "Only one {sheet} of the workbook was read; {names} holds rows too, and none of them was taken.",
        "Send each {sheet} as a file of its own, or move all rows into one sheet.",
    ),
    Rule(
        "rows_hidden",
        "Hidden rows in a workbook",
        "Rows that a workbook hides, or a filter leaves out, are read like the others, and asked about.",
        "advice",
        "file",
        "{rows} hidden in the workbook, and read like the others.",
        "If that is not meant, take them out and send the sheet again.",
    ),
    Rule(
        "cells_merged",
        "Merged cells in a workbook",
        "Of merged cells only the first has a value; the others are read as blank.",
        "advice",
        "file",
        "Cells are merged ({cells}): only the first of them has its value, the others were read as blank.",
        "Unmerge them and write the value in every row, then send the sheet again.",
    ),
    Rule(
        "label_counts_up",
        "Label that counts up row by row",
        "A spreadsheet counts labels up when a cell is dragged down: each row then is a series of its own.",
        "advice",
        "file",
        "Each row has a series label of its own: “{first}”, “{second}” … “{last}”.",
        "Did your spreadsheet count them up? Then write one label in all rows and send the sheet again.",
    ),
    Rule(
        "slashed_dates_read",
        "How dates with slashes were read",
        "Dates with slashes are read where the sheet itself shows which number is the month.",
        "advice",
        "file",
        "Dates with slashes were read as {order}, because of {settled_by}.",
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
