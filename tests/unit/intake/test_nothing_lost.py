"""Whatever is typed or sent: nothing stops intake, and no cell is lost without a word."""

from __future__ import annotations

import polars as pl
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.cells.readers import readers_of
from pipeline.intake.steps import ReceivedFile, Sheets, read_sheets
from schemas.kinds.run import RUN
from schemas.rules import rule
from tests.unit.intake.writing import PLAIN, read, sheet

ALWAYS = [
    *(
        "member",
        "member_key",
        "series",
        "series_key",
        "tested_on",
        "climate_zone",
        "setup_type",
        "pot_volume_ml",
    ),
    *("base", "component_share", "pot_no", "pour_no", "poured_ml", "collected_ml", "drain_time_s", "ended"),
]
TYPED = [
    *(
        "3:25",
        "3:25:00",
        "0:03:25",
        "205 s",
        "205",
        "1.30",
        "1,5 l",
        "0.5 l",
        "1.234 ml",
        "1 cup",
        "10 oz",
        "300 ml",
    ),
    *(
        "3:1",
        "3+1",
        "3:01",
        "3-Jan",
        "40 %",
        "0.4",
        "40",
        "1/2",
        "½ cup",
        "13 cm",
        "#1",
        "18 °C",
        "68 F",
        "2 months",
    ),
    *(
        "2026-03-14",
        "14.3.2026",
        "3/4/2026",
        "14/3/2026",
        "Cfb",
        "As",
        "unknown",
        "rack",
        "perlite",
        "yes",
        "stopped",
    ),
    *(
        "",
        " ",
        "\u00a0",
        "fen-07",
        "nan",
        "inf",
        "1e400",
        "-1",
        "0",
        "1.0",
        "٣",
        "１",
        "x" * 70,
        '"',
        "'",
        "a\nb",
        "=A1",
    ),
]
CELLS = st.one_of(st.sampled_from(TYPED), st.text(max_size=6))
ROWS = st.lists(
    st.dictionaries(st.sampled_from([one.name for one in RUN.columns]), CELLS, max_size=8), max_size=4
)


def held_rows(sheets: Sheets) -> tuple[set[tuple[int, int]], set[int]]:
    """Rows, and whole files, that a held rule speaks of."""
    held = sheets.problems.filter(
        pl.col("rule").map_elements(lambda one: rule(one).level == "held", pl.Boolean)
    )
    whole = held.filter(pl.col("sheet_row").is_null())["file_id"].to_list()
    return set(held.select("file_id", "sheet_row").drop_nulls().iter_rows()), set(whole)


def nothing_lost(sheets: Sheets) -> None:
    """Every row that nothing holds is whole, and each of its filled cells was read."""
    assert sheets.cells.select("file_id", "sheet_row").equals(sheets.typed.select("file_id", "sheet_row"))
    assert sheets.files["rows"].sum() == sheets.cells.height
    assert sheets.problems.select("file_id", "sheet_row", "column", "rule").is_duplicated().any() is False
    rows, files = held_rows(sheets)
    for cells, typed in zip(
        sheets.cells.iter_rows(named=True), sheets.typed.iter_rows(named=True), strict=True
    ):
        if cells["file_id"] in files or (cells["file_id"], cells["sheet_row"]) in rows:
            continue
        assert all(typed[name] is not None for name in ALWAYS), cells
        for reader in readers_of(RUN):
            if cells.get(reader.column) is not None and reader.into in typed:
                assert typed[reader.into] is not None, (reader.column, cells)


@given(st.lists(ROWS, min_size=1, max_size=3))
def test_no_cell_is_lost_without_a_word(sheets: list[list[dict[str, str]]]) -> None:
    nothing_lost(read(*(sheet(*rows) for rows in sheets)))


@given(st.binary(max_size=60), st.integers(0, 400), st.integers(0, 30))
def test_damaged_bytes_never_stop_a_batch(junk: bytes, at: int, cut: int) -> None:
    good = sheet({}, {"notes": "a\nb"}).encode()
    damaged = good[:at] + junk + good[at + cut :]
    sheets = read_sheets(
        [ReceivedFile("one", damaged), ReceivedFile("two", good), ReceivedFile("three", junk)], RUN
    )
    nothing_lost(sheets)
    assert sheets.typed.filter(pl.col("file_id") == 1).height == 2
    unreadable = sheets.files.filter(~pl.col("readable"))
    assert unreadable["rows"].sum() == 0
    for file_id in unreadable["file_id"]:
        assert sheets.problems.filter(pl.col("file_id") == file_id).height == 1


def test_a_plain_row_is_whole() -> None:
    typed = read(sheet({})).typed
    assert all(typed[name].item() is not None for name in ALWAYS) and set(PLAIN)
