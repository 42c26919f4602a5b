"""Erasing a member from a pool: from the reports and receipts first, then from archive, journal and store."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import polars as pl

from pipeline.jobs.month.folder import REPORTS, RESULTS
from pipeline.jobs.month.index_and_mails import MAILS
from pipeline.jobs.month.nicknames import every_name
from pipeline.jobs.receiving.checking import now, recheck
from pipeline.jobs.receiving.steps import RECEIPTS
from pipeline.load.erasing import Erased, erase, mentions, receipts_of, without_code
from pipeline.load.standing import key_of
from pipeline.load.steps import writing

TEXT_ENDINGS = {".html", ".svg", ".xml", ".csv", ".txt"}
POOL_CSV, POOL_PARQUET = "pool.csv", "pool.parquet"


def erase_member(pool: Path, member: str, reason: str, by_whom: str, say: Callable[[str], None]) -> Erased:
    """Erases everything of a member: raw bytes, rows, names in the journal, private receipts, pages, and rows in
    every month's pool files. `results.json` files stay (they hold no rows).

    Reports are cleared first. Cut short before the journal line, nothing counts as erased yet and the command is
    typed again; cut short after it, the next command that writes finishes."""
    with writing(pool, by=by_whom, clock=now, settings=None, recheck=recheck, say=say, make=False) as writer:
        receipts = receipts_of(writer, member)
        if receipts:
            for name in (member, *every_name(writer.lines, key_of(member))):
                clear_reports(pool, key_of(name))
        for number in receipts:
            for path in (pool / RECEIPTS).rglob(f"{number:06d}-*"):
                path.unlink()
        return erase(writer, member, reason)


def clear_reports(pool: Path, key: str) -> None:
    """Takes a member out of every file under `reports/` and of the drafted mails: own pages and pictures that name the code go, rows go, and
    other pages have the code blanked. May be done again at any time."""
    found = mentions(key)
    for path in sorted([*(pool / REPORTS).rglob("*"), *(pool / MAILS).rglob("*")]):
        if not path.is_file() or path.name == RESULTS:
            continue
        if found.search(path.stem):
            path.unlink()
        elif path.name == POOL_CSV:
            _filtered(pl.read_csv(path, infer_schema=False), key).write_csv(path, line_terminator="\n")
        elif path.name == POOL_PARQUET:
            _filtered(pl.read_parquet(BytesIO(path.read_bytes())), key).write_parquet(
                path, compression="zstd", statistics=False
            )
        elif path.suffix in TEXT_ENDINGS:
            _blanked(path, key)


def _filtered(rows: pl.DataFrame, key: str) -> pl.DataFrame:
    codes = [code for code in rows["member"].unique() if key_of(code.removeprefix("'")) == key]
    return rows.filter(~pl.col("member").is_in(codes))


def _blanked(path: Path, key: str) -> None:
    text = path.read_text(encoding="utf-8")
    if not mentions(key).search(text):
        return
    if path.suffix == ".svg":
        path.unlink()
        path.with_suffix(".png").unlink(missing_ok=True)
    else:
        path.write_text(without_code(text, key), encoding="utf-8")
