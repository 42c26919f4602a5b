"""Rows of many files into one frame: both ways of splitting give the same cells."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl
from hypothesis import given
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from pipeline.intake.files.table import TextTable, find_table
from pipeline.intake.received import ReceivedFile
from pipeline.intake.rows.gather import _tidy, gather, split_one_by_one, split_together
from pipeline.intake.steps import read_sheets
from schemas.kinds.run import RUN
from tests.unit.intake.writing import PLAIN, sheet

CELL = st.text(alphabet="ab1 .:%ä\u00a0\u200b'", max_size=4)
LINE = st.lists(CELL, max_size=6).map(",".join)
BODY = st.tuples(st.lists(LINE, max_size=6), st.sampled_from(["\n", "\r\n", "\r"]), st.booleans())
HEADINGS = ["member,series,drain_time", "Series,drain time (s),member,weather,", " member ,,poured_ml"]


def tables(heading: str, bodies: Sequence[tuple[list[str], str, bool]]) -> list[tuple[int, TextTable]]:
    found = []
    for file_id, (lines, end, closed) in enumerate(bodies):
        text = end.join([heading, *lines]) + (end if closed else "")
        found.append((file_id, find_table(text, RUN)))
    return found


@given(st.sampled_from(HEADINGS), st.lists(BODY, min_size=1, max_size=4))
def test_splitting_together_is_splitting_one_by_one(
    heading: str, bodies: list[tuple[list[str], str, bool]]
) -> None:
    group = tables(heading, bodies)
    together, one_by_one = _tidy(split_together(group)), _tidy(split_one_by_one(group))
    if one_by_one.is_empty():
        assert together.is_empty()
    else:
        assert_frame_equal(together, one_by_one, check_column_order=False)


@given(st.lists(BODY, min_size=1, max_size=3))
def test_quoting_every_cell_changes_nothing(bodies: list[tuple[list[str], str, bool]]) -> None:
    """The quoted way (a csv reader) against the plain way (splitting at separators)."""
    heading = HEADINGS[0]
    plain = tables(heading, bodies)
    quoted = [
        (
            file_id,
            find_table(
                end.join([heading, *(",".join(f'"{cell}"' for cell in line.split(",")) for line in lines)])
                + f'{end}"",""',
                RUN,
            ),
        )
        for file_id, (lines, end, _) in enumerate(bodies)
    ]
    assert all(table.body is None for _, table in quoted)
    assert_frame_equal(gather(plain), gather(quoted), check_column_order=False)


def test_many_sheets_at_once_are_each_sheet_alone() -> None:
    texts = [
        sheet(
            {"member": f"fen-{at:02d}", "pot_no": str(at + 1), "drain_time": f"{at}:{at:02d}"},
            {"member": f"fen-{at:02d}", "poured": "0,3 l" if at % 2 else "0.3 l"},
            {"poured": "1.234 ml"},
        )
        for at in range(20)
    ]
    files = [ReceivedFile(f"{at}.csv", text.encode()) for at, text in enumerate(texts)]
    batch = read_sheets(files, RUN)
    for at, file in enumerate(files):
        alone = read_sheets([file], RUN)
        for together, single in (
            (batch.typed, alone.typed),
            (batch.cells, alone.cells),
            (batch.problems, alone.problems),
        ):
            mine = together.filter(pl.col("file_id") == at).drop("file_id")
            assert_frame_equal(mine, single.drop("file_id"))


def test_surplus_and_short_lines_keep_their_count() -> None:
    group = tables("member,series,drain_time", [(["a,b", "a,b,c,,x", "a,b,c,,", ",,", "a,b,c"], "\n", True)])
    for split in (split_together, split_one_by_one):
        rows = split(group).select("sheet_row", "cell_count", "surplus").rows()
        assert rows == [(2, 2, None), (3, 5, "x"), (4, 5, None), (6, 3, None)]


def test_nothing_gathered() -> None:
    assert gather([]).is_empty()


def test_rows_keep_spreadsheet_numbers() -> None:
    text = "A title\n\n" + sheet({}, {"notes": "one\ntwo"}, {}).replace("\r\n", "\n")
    cells = gather([(0, find_table(text, RUN))])
    assert cells["sheet_row"].to_list() == [4, 5, 6]
    assert set(PLAIN) <= set(cells.columns)
