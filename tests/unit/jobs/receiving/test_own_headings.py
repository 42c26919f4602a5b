"""Own headings: which lists are taken, what of a sheet is offered to be explained, and what is kept for the next one."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError
from pipeline.jobs.receiving.own_headings import (
    CELLS_SHOWN,
    LONGEST_CELL,
    OwnColumns,
    checked_headings,
    column_named,
    kept_headings,
    own_columns,
    own_headings,
)
from pipeline.jobs.receiving.sheets import Sheet
from schemas.kinds.kind import SheetKind
from schemas.kinds.registry import KINDS
from tests.story.pool_fixture import small_sheet

OWN = small_sheet().replace("drain_time", "Gestoppt").replace("collected", "Menge")


def listed(folder: Path, text: str | bytes) -> Path:
    path = folder / "columns.toml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def test_a_list_gives_its_pairs_in_order(tmp_path: Path) -> None:
    path = listed(tmp_path, '"Zeit (min)" = "drain_time"\nMenge = "collected (ml)"\n')
    assert own_headings(path) == (("Zeit (min)", "drain_time"), ("Menge", "collected (ml)"))
    assert own_headings(None) == ()


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = listed(tmp_path, '\ufeffMenge = "collected"\n')
    assert own_headings(path) == (("Menge", "collected"),)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('Menge = "weight"', "“Menge” = “weight”: that is no column of a run sheet"),
        ("Menge = 3", "“Menge” = “3”: that is no column"),
        ('[Menge]\ncolumn = "collected"', "that is no column"),
        ('"(-)" = "collected"', "holds no letter or digit"),
        ('Menge = "collected"\nmenge = "poured"', "The heading “menge” stands twice"),
        ('"M E" = "collected"\nm_e = "poured"', "stands twice"),
        (
            'Menge = "collected"\nVolumen = "Collected (ml)"',
            "“Menge” and “Volumen” are both said to be collected",
        ),
        ('Menge = "collected"\nMenge = "poured"', "not read as TOML, or has a heading twice"),
        ("Menge: collected", "not read as TOML"),
        (b"Menge = \xff", "not read as TOML"),
    ],
)
def test_a_list_that_cannot_be_used_is_refused_whole(
    text: str | bytes, sentence: str, tmp_path: Path
) -> None:
    path = listed(tmp_path, text)
    with pytest.raises(DrainpoolError) as refused:
        own_headings(path)
    words = str(refused.value)
    assert sentence in words and str(path) in words
    assert words.endswith("Nothing was checked or loaded.")
    assert refused.value.exit_code == 3


def test_a_missing_list_and_a_folder_are_said(tmp_path: Path) -> None:
    with pytest.raises(DrainpoolError, match="There is no such file"):
        own_headings(tmp_path / "gone.toml")
    with pytest.raises(DrainpoolError, match="could not open it"):
        own_headings(tmp_path)


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_every_column_is_named_by_itself_and_by_its_spellings(kind: SheetKind) -> None:
    for column in kind.columns:
        assert column_named(column.name) == column.name
        for words in column.spellings.values():
            assert {column_named(word) for word in words} <= {column.name}


def test_what_is_no_text_or_no_column_names_none() -> None:
    assert [column_named(value) for value in (None, 3, "", "weather", ["poured"])] == [None] * 5


def test_pairs_are_kept_as_they_were_typed() -> None:
    assert checked_headings({"Zeit (min)": "Drain Time"}, "a form") == (("Zeit (min)", "Drain Time"),)


def test_a_sheet_says_what_it_lacks_and_what_it_has_instead() -> None:
    own = own_columns(Sheet("own.csv", OWN.encode()))
    assert set(own.missing) == {"drain_time", "collected"}
    assert own.cells == {"Menge": ["150 ml", "150 ml"], "Gestoppt": ["5:10", "4:10"]}


def test_own_cells_are_few_and_short() -> None:
    rows = small_sheet(shares=("20", "30", "40", "50")).replace("drain_time", "Gestoppt")
    long = rows.replace("5:10", "9" * 200)
    cells = own_columns(Sheet("own.csv", long.encode())).cells["Gestoppt"]
    assert len(cells) == CELLS_SHOWN
    assert cells[0] == "9" * LONGEST_CELL


@pytest.mark.parametrize(
    "content",
    [small_sheet().encode(), b"<!DOCTYPE html><html></html>", b"\0\1", b""],
    ids=["whole", "page", "bytes", "empty"],
)
def test_a_sheet_that_lacks_nothing_or_cannot_be_read_offers_nothing(content: bytes) -> None:
    assert own_columns(Sheet("a.csv", content)) == OwnColumns()


def test_only_headings_that_stand_in_the_sheet_unread_are_kept() -> None:
    sheet = Sheet("own.csv", OWN.encode())
    kept = (("MENGE", "collected (ml)"), ("Wetter", "notes"), ("poured", "collected"))
    assert kept_headings(kept, sheet) == (("MENGE", "collected (ml)"),)
    assert kept_headings((), sheet) == ()
