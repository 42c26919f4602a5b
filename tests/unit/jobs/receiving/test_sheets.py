"""Files as named: folders opened, order kept, what can't be had said in words."""

from __future__ import annotations

import os
from pathlib import Path

from pipeline.jobs.receiving.sheets import BATCH_BYTES, BATCH_FILES, Sheet, batches, named_sheets


def test_files_keep_the_order_typed_and_folders_are_sorted(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    for name in (
        "z.csv",
        "folder/b.XLSX",
        "folder/a.tsv",
        "folder/~$a.xlsx",
        "folder/.x.csv",
        "folder/notes.md",
    ):
        (tmp_path / name).write_text(name)
    got = list(named_sheets([str(tmp_path / "z.csv"), str(tmp_path / "folder")]))
    assert [Path(sheet.name).name for sheet in got] == ["z.csv", "a.tsv", "b.XLSX"]
    assert got[0].content == b"z.csv"


def test_a_named_file_is_taken_whatever_its_ending(tmp_path: Path) -> None:
    (tmp_path / "sheet.dat").write_text("x")
    assert [sheet.content for sheet in named_sheets([str(tmp_path / "sheet.dat")])] == [b"x"]


def test_what_cannot_be_had_says_why(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    gone, empty = named_sheets([str(tmp_path / "gone.csv"), str(tmp_path / "empty")])
    assert gone.content is None and gone.missing == "there is no such file"
    assert empty.content is None and "no run sheet" in empty.missing


def test_a_name_that_is_no_text_can_be_shown(tmp_path: Path) -> None:
    path = tmp_path / os.fsdecode(b"b\xfcg.csv")
    path.write_bytes(b"x")
    (sheet,) = named_sheets([str(path)])
    assert sheet.content == b"x" and sheet.name.endswith("b\ufffdg.csv")
    sheet.name.encode()


def test_batches_are_bounded_and_lose_nothing() -> None:
    many = [Sheet(str(number), b"x") for number in range(2 * BATCH_FILES + 1)]
    assert [len(batch) for batch in batches(many)] == [BATCH_FILES, BATCH_FILES, 1]
    large = [Sheet("a", b"x" * BATCH_BYTES), Sheet("b", None, "gone"), Sheet("c", b"x")]
    assert [[sheet.name for sheet in batch] for batch in batches(large)] == [["a"], ["b", "c"]]
    assert list(batches([])) == []
