"""Finding the table in a text, and splitting text with quotation marks."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.files.careful import _one_by_one, read_records
from pipeline.intake.files.table import find_table
from pipeline.intake.received import UnreadableError
from schemas.kinds.run import RUN
from tests.unit.intake.writing import sheet

HEADING = "member,series,drain_time"


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_separators_and_line_ends(separator: str, end: str) -> None:
    table = find_table(sheet({}, separator=separator, end=end), RUN)
    assert (table.separator, table.heading_row) == (separator, 1)
    assert table.headings.complete and table.body is not None and table.body.count("\n") == 1


def test_a_comma_inside_semicolon_cells_is_no_separator() -> None:
    table = find_table("member;series, and more;drain_time;poured\nfen-07;a,b,c,d,e;3:25;0,3 l\n", RUN)
    assert table.separator == ";"


@pytest.mark.parametrize("line", ["sep=,", "SEP=,", '"sep=,"', "sep=;", "sep="])
def test_a_separator_line_is_taken_off(line: str) -> None:
    table = find_table(f"{line}\r\n{HEADING}\r\nfen-07,a,3:25\r\n", RUN)
    assert (table.separator, table.heading_row) == (",", 1)


def test_a_separator_line_may_name_any_mark() -> None:
    table = find_table("sep=|\nmember|series|drain_time\nfen-07|a|3:25\n", RUN)
    assert table.separator == "|" and table.body == "fen-07|a|3:25\n"


def test_the_heading_need_not_be_the_first_line() -> None:
    for title in ("Spring tests\n\n", 'The "fen club", spring\n\n', "member of the club,,\n,,\n"):
        table = find_table(f"{title}{HEADING}\nfen-07,a,3:25\n", RUN)
        assert table.heading_row == 3


def test_a_line_that_names_more_columns_wins() -> None:
    table = find_table(f"member,series\n{HEADING},poured\nfen-07,a,3:25,1 l\n", RUN)
    assert table.heading_row == 2


@pytest.mark.parametrize("text", ["hello there", "a,b,c\n1,2,3\n", "member\nfen-07\n", "member fen\n" * 100])
def test_no_heading(text: str) -> None:
    with pytest.raises(UnreadableError) as refused:
        find_table(text, RUN)
    assert refused.value.finding.rule == "no_heading"


def test_too_many_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pipeline.intake.files.table.MOST_ROWS", 3)
    blank = "\n, ,\n,,\n"
    find_table(f"{HEADING}\n" + "a,b,c\n" * 3 + blank, RUN)
    for text in (f"{HEADING}\n" + "a,b,c\n" * 4, f"{HEADING}\n" + '"a",b,c\n' * 4):
        with pytest.raises(UnreadableError) as refused:
            find_table(text, RUN)
        assert refused.value.finding.rule == "too_many_rows"


def test_quoted_cells_hold_separators_line_breaks_and_quotes() -> None:
    text = f'{HEADING}\r\n"fen, 07","two\r\nlines","3\'25"""\r\n\r\nb,c,d\r\n'
    table = find_table(text, RUN)
    assert table.body is None
    assert [list(record) for record in table.records] == [
        ["fen, 07", "two\r\nlines", "3'25\""],
        [],
        ["b", "c", "d"],
    ]


@pytest.mark.parametrize(
    ("text", "records"),
    [
        ('a,"4" pot,b\n', [["a", '"4" pot', "b"]]),
        ('a,5",b\n', [["a", '5"', "b"]]),
        ('a,"x ""y"" z",b\nc,"4" pot,d', [["a", 'x "y" z', "b"], ["c", '"4" pot', "d"]]),
        ('"4" pot,\n', [['"4" pot', ""]]),
    ],
)
def test_a_quotation_mark_may_be_only_text(text: str, records: list[list[str]]) -> None:
    assert read_records(text, ",") == records


@pytest.mark.parametrize(
    ("text", "row"),
    [
        ('a,b\nc,"never closed\n', 2),
        ('a,b\n"never closed,x\ny,"autumn",z\n', 2),
        ('"open', 1),
        ('a,"b""\n', 1),
        ('"x\ny",1\n"z', 2),
        ('a,"\n', 1),
    ],
)
def test_a_quote_that_is_never_closed(text: str, row: int) -> None:
    with pytest.raises(UnreadableError) as refused:
        read_records(text, ",")
    finding = refused.value.finding
    assert (finding.rule, finding.details) == ("quote_open", {"row": str(row)})


CELLS = st.text(alphabet='ab",; \n\r\u00e4', max_size=6)


@given(
    st.lists(st.lists(CELLS, min_size=1, max_size=4), min_size=1, max_size=5),
    st.sampled_from([",", ";", "\t"]),
)
def test_the_slow_reading_agrees_with_the_quick_one(records: list[list[str]], separator: str) -> None:
    out = io.StringIO()
    csv.writer(out, delimiter=separator, quoting=csv.QUOTE_ALL).writerows(records)
    assert _one_by_one(out.getvalue(), separator) == records == read_records(out.getvalue(), separator)
