"""The records that Prefect keeps of a pool's months: what may have to be erased is blanked in them."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path

from schemas.trade.labels import mentions, without_mentions

_ESCAPES = re.compile(r"(?:\\u[0-9a-fA-F]{4})+")


def blank_records(home: Path, key: str, instead: str) -> None:
    """Puts `instead` for every mention of a label in the texts of Prefect's database, and packs it, so that nothing
    of the old texts stays in the file."""
    for path in sorted(home.glob("*.db")):
        with closing(sqlite3.connect(path, timeout=60)) as connection:
            tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
            changed = [_blank_table(connection, str(name), key, instead) for (name,) in tables]
            connection.commit()
            if any(changed):
                connection.execute("VACUUM")
                connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _blank_table(connection: sqlite3.Connection, table: str, key: str, instead: str) -> bool:
    columns = [str(row[1]) for row in connection.execute(f'PRAGMA table_info("{table}")')]
    changed = False
    for column in columns:
        texts = connection.execute(
            f'SELECT DISTINCT "{column}" FROM "{table}" WHERE typeof("{column}") = \'text\''  # noqa: S608 its own names
        ).fetchall()
        for (text,) in texts:
            plain = _unescaped(text)
            if mentions(plain, key):
                blank = without_mentions(plain, key, instead)
                connection.execute(
                    f'UPDATE "{table}" SET "{column}" = ? WHERE "{column}" = ?',  # noqa: S608 its own names
                    [blank, text],
                )
                changed = True
    return changed


def _unescaped(text: str) -> str:
    """JSON with the letters beyond ASCII written out; the rest as it stands."""
    return _ESCAPES.sub(lambda escapes: "".join(map(_written_out, json.loads(f'"{escapes[0]}"'))), text)


def _written_out(letter: str) -> str:
    """The letter; as its escape where it is ASCII or half of a pair."""
    alone = ord(letter) > 0x7F and not 0xD800 <= ord(letter) < 0xE000
    return letter if alone else f"\\u{ord(letter):04x}"
