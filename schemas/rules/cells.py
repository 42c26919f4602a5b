"""Rules about single cells: can each be read as what its column holds."""

from __future__ import annotations

from schemas.rules.quantities import NUMBERS, POTS, SHARES, TIMES
from schemas.rules.rule import Rule

WORDS: tuple[Rule, ...] = (
    Rule(
        "blank_cell",
        "Required cell left blank",
        "Cells of required columns are filled in every row.",
        "held",
        "row",
        "{column} is blank; every row needs it. The row is held.",
        "Fill the cell in.",
    ),
    Rule(
        "code_form",
        "Code in another form",
        "Codes have 2-32 letters, digits or hyphens, and begin with a letter or digit.",
        "held",
        "row",
        "{column} “{value}” is not in the form of a code: 2 to 32 letters, digits or hyphens, beginning with a letter "
        "or digit. The row is held.",
        "Write it without spaces or other marks, such as fen-07.",
    ),
    Rule(
        "series_length",
        "Series label too long",
        "A series label has at most 64 characters.",
        "held",
        "row",
        "The series label has {length} characters, and 64 is the most; the row is held.",
        "Shorten it, the same way in all rows of the series; what does not fit may stand in notes.",
    ),
    Rule(
        "notes_length",
        "Notes too long",
        "Notes have at most 500 characters.",
        "held",
        "row",
        "The notes have {length} characters, and 500 is the most; the row is held.",
        "Shorten the notes.",
    ),
    Rule(
        "word_unknown",
        "A word that the column does not know",
        "Columns with set words allow those words only, in any letter case.",
        "held",
        "row",
        "{column} “{value}” is none of the words for this column; the row is held.",
        "{hint}Write one of: {words}.",
    ),
    Rule(
        "climate_unknown_class",
        "No Köppen-Geiger class",
        "The climate zone is one of the 30 Köppen-Geiger classes, such as Cfb, or unknown.",
        "held",
        "row",
        "{column} “{value}” is none of the 30 Köppen-Geiger classes; the row is held.",
        "Write the class of your place, such as Cfb, Csb or Dfb, or unknown.",
    ),
    Rule(
        "climate_other_scheme",
        "A class of another climate scheme",
        "Some schemes have more classes than the 30 used here.",
        "held",
        "row",
        "{column} “{value}”: the class {class} is not among the 30 used here, which count such places as {instead}; "
        "the row is held.",
        "Write {instead}, or look your place up on a current Köppen-Geiger map.",
    ),
    Rule(
        "climate_not_given",
        "Climate zone not known",
        "A run without a climate zone is kept, and counted as zone not given.",
        "advice",
        "row",
        "The climate zone is unknown; the run is counted as zone not given.",
        "A Köppen-Geiger map tells the class from the town; write it in all rows of the series.",
    ),
    Rule(
        "heading_not_used",
        "A heading that says more than can be used",
        "What a heading says in brackets is used (a unit, the order of parts or of dates), or the column is held.",
        "held",
        "row",
        "{column} “{value}” stands under a heading that says “{bracket}”, which is not understood; the row is held.",
        "Take the brackets out of the heading if the column means the same without; else give what the column asks for.",
    ),
    Rule(
        "cell_too_long",
        "Cell too long",
        "Cells other than labels and notes have at most 200 characters.",
        "held",
        "row",
        "{column} has {length} characters, and {most} is the most; the row is held.",
        "Write the answer alone; the rest can stand in notes.",
    ),
    Rule(
        "cell_not_read",
        "The tool failed on this cell",
        "Reading the cell stopped for a reason that drainpool did not foresee. That is a fault of the tool.",
        "held",
        "row",
        "drainpool could not read {column} “{value}”, and that is a fault of the tool; the row is held.",
        "Please show the sheet to your coordinator. Writing the cell in a plainer form may help.",
    ),
)

DATES: tuple[Rule, ...] = (
    Rule(
        "date_form",
        "Not a date",
        "The day of the test is written year-month-day, 2026-03-14, or day.month.year, 14.3.2026.",
        "held",
        "row",
        "{column} “{value}” can't be read as a day of the calendar; the row is held.",
        "Write it as year-month-day, such as 2026-03-14.",
    ),
    Rule(
        "date_order_open",
        "Date that can be read in two ways",
        "Dates with slashes are read only where the sheet shows which number is the month.",
        "held",
        "row",
        "{column} “{value}” could be {readings}, and no date of the sheet tells which; the row is held.",
        "Write all dates as year-month-day, such as 2026-03-14.",
    ),
    Rule(
        "date_orders_clash",
        "Dates in both orders",
        "Dates with slashes are read only where no date of the sheet gainsays another.",
        "held",
        "row",
        "{column} “{value}” would be {readings}, but the sheet has dates with slashes in both orders, day first and "
        "month first; the row is held.",
        "Write all dates as year-month-day, such as 2026-03-14.",
    ),
    Rule(
        "date_too_early",
        "Before 1980",
        "No test is older than 1980.",
        "held",
        "row",
        "{column} “{value}” was read as {read}, which is before 1980; the row is held.",
        "Write the day on which the test was made, year-month-day, such as 2026-03-14.",
    ),
)

RULES: tuple[Rule, ...] = (*WORDS, *DATES, *NUMBERS, *TIMES, *POTS, *SHARES)
