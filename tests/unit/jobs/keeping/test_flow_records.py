"""Prefect's records of a pool's months: a label is blanked however it was spelled, and nothing of it stays in the file."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import example, given
from hypothesis import strategies as st

from pipeline.jobs.keeping.flow_records import blank_records
from schemas.trade.labels import HYPHENS, label_key, mentions

INSTEAD = "an erased member"
BESIDE = st.text(st.characters(categories=["Lu", "Ll"], max_codepoint=0x17F), max_size=6)


def database(path: Path, *texts: str) -> None:
    """A database with these texts, one a row, and a number beside each."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute('CREATE TABLE "flow run" ("the text" TEXT, "count" INTEGER)')
        connection.executemany(
            'INSERT INTO "flow run" VALUES (?, ?)', [(text, at) for at, text in enumerate(texts)]
        )
        connection.commit()


def kept(path: Path) -> list[str]:
    """The texts in their order."""
    with closing(sqlite3.connect(path)) as connection:
        return [text for (text,) in connection.execute('SELECT "the text" FROM "flow run" ORDER BY "count"')]


@given(st.sampled_from(sorted({"-", *map(chr, HYPHENS)})), st.booleans(), st.booleans(), BESIDE)
@example("‑", True, True, "é")
def test_every_spelling_goes_and_the_rest_stays(dash: str, upper: bool, as_json: bool, beside: str) -> None:
    code = f"zölle{dash}77"
    spelled = code.upper() if upper else code
    text = f"{beside} · {spelled} · {beside}"
    with TemporaryDirectory() as folder:
        path = Path(folder) / "prefect.db"
        database(path, json.dumps(text) if as_json else text, beside, f"{beside} other-12")
        blank_records(Path(folder), label_key("zölle-77"), INSTEAD)
        blanked, *others = kept(path)
        assert others == [beside, f"{beside} other-12"]
        plain = json.loads(blanked) if as_json and blanked.startswith('"') else blanked
        assert INSTEAD in plain and not mentions(plain, label_key("zölle-77"))
        assert spelled.encode() not in path.read_bytes()


def test_no_mention_changes_no_byte(tmp_path: Path) -> None:
    path = tmp_path / "prefect.db"
    database(path, "fen-07 sent a sheet", "")
    before = path.read_bytes()
    blank_records(tmp_path, label_key("fen-08"), INSTEAD)
    assert path.read_bytes() == before


def test_a_home_without_records_is_left_alone(tmp_path: Path) -> None:
    blank_records(tmp_path / "nowhere", label_key("fen-08"), INSTEAD)
    assert list(tmp_path.iterdir()) == []
