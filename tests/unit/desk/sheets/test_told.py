"""Problems told once each, and those of the form in the form's own words."""

from __future__ import annotations

from pipeline.desk.sheets.told import as_told, in_form_words
from schemas.receipt import ReceiptProblem

FORM = {
    "pours": "6",
    "mix_1": "0",
    "time_1": "5:10",
    "mix_3": "40",
    "time_3": "325",
    "mix_4": "40",
    "time_4": "325",
}


def problem(
    row: int | None, column: str | None, value: str | None, message: str, fix: str = ""
) -> ReceiptProblem:
    return {
        "row": row,
        "column": column,
        "value": value,
        "rule": "x",
        "level": "held",
        "message": message,
        "fix": fix,
    }


def test_the_same_sentence_is_said_once_with_all_its_rows() -> None:
    blank = [
        problem(row, "setup_type", "", "setup_type is blank; every row needs it.") for row in (2, 3, 4, 9)
    ]
    (told,) = as_told(blank)
    assert (told.where, told.values) == ("Rows 2-4, 9, column setup_type", ())
    apart = as_told(
        [
            problem(2, "pot_no", "x", "one"),
            problem(3, "pot_no", "y", "another"),
            problem(None, None, None, "whole"),
        ]
    )
    assert [one.where for one in apart] == ["Row 2, column pot_no", "Row 3, column pot_no", "The whole sheet"]


def test_the_form_is_told_of_its_pours_and_fields() -> None:
    """Lines left empty make no row: the second row of the sheet is the third pour of the form."""
    told = as_told(
        [
            problem(2, "setup_type", "", "setup_type is blank; every row needs it.", "Write rack."),
            problem(3, "setup_type", "", "setup_type is blank; every row needs it.", "Write rack."),
            problem(3, "drain_time", "325", "drain_time “325” has no unit, and the heading names none."),
            problem(4, "drain_time", "325", "drain_time “325” has no unit, and the heading names none."),
        ],
        FORM,
    )
    assert [(one.where, one.message) for one in told] == [
        ("How the pot was held", "“How the pot was held” is blank."),
        ("Pours 3, 4, time", "“Time” “325” has no unit."),
    ]
    assert [one.values for one in told] == [(), ("325",)]


def test_words_that_are_no_column_stay() -> None:
    assert in_form_words("The component drains slowly; a member may pour again.") == (
        "The component drains slowly; a member may pour again."
    )
    assert in_form_words("write 50, or 1+1 in the column parts") == "write 50, or 1+1 in “Mix”"
