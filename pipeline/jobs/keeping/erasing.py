"""Erasing a member from a pool: from reports, receipts, mails, logs and waiting sheets first, then from archive,
journal and store."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import polars as pl

from pipeline.atomic_write import write_whole
from pipeline.jobs.keeping.flow_records import blank_records
from pipeline.jobs.month.files.folder import REPORTS, RESULTS
from pipeline.jobs.month.files.index_and_mails import MAILS
from pipeline.jobs.month.files.making import POOL_CSV, POOL_PARQUET
from pipeline.jobs.month.flow_home import home
from pipeline.jobs.month.nicknames import every_name
from pipeline.jobs.receiving.checking import check_batch, now, pool_settings, recheck
from pipeline.jobs.receiving.inbox import read_beside
from pipeline.jobs.receiving.receipts import RECEIPTS
from pipeline.jobs.receiving.sheets import INBOX, moment_file, read_sheet, sheets_in
from pipeline.load.changes.erasing import BLANKED, Erased, erase, receipts_of, speaks_of
from pipeline.load.keeping.opening import writing
from pipeline.load.views.waiting import with_labels
from schemas.trade.labels import label_key, mentions, same_label, without_mentions

FAILURES = "failures.log"
LINK = re.compile(r'<a [^>]*?href="([^"#?:]+)(?:[#?][^"]*)?"[^>]*>(.*?)</a>', re.DOTALL)
PICTURE = re.compile(r'<img [^>]*?src="([^"#?:]+)"[^>]*>')
DESK_RUNS = "desk/runs"
PACKED = frozenset({".duckdb", ".parquet", ".xlsx", ".png", ".wal"})
SEARCHED = (
    "journal, archive, store and readers' copy; reports, mails and receipts; the inbox and the desk (accounts, sheets, logs "
    "of runs); failures.log; the flow's database and log; names of files and folders"
)
Say = Callable[[str], None]


def erase_member(
    pool: Path, member: str, reason: str, by_whom: str, say: Say, besides: Callable[[], object] = lambda: None
) -> Erased:
    """Erases everything of a member, however the code is spelled: raw bytes, rows, names in the journal, private
    receipts, pages, mails, logs, sheets that wait in the inbox, and rows in every month's pool files. `results.json`
    files stay (they hold no rows). `besides` is carried out under the same lock: what others keep of the member goes
    there. Answers what was erased, and in `naming` the files that still name the member when every file of the pool has
    been read again.

    Reports are cleared first. Cut short before the journal line, nothing counts as erased yet and the command is
    typed again; cut short after it, the next command that writes finishes."""
    with writing(pool, by=by_whom, clock=now, settings=None, recheck=recheck, say=say, make=False) as writer:
        writer.refuse_odd_clock()
        key = label_key(member)
        receipts = receipts_of(writer, member)
        names = sorted({key, *map(label_key, every_name(writer.lines, key))})
        if receipts or speaks_of(writer, member):
            for name in names:
                clear_reports(pool, name)
                clear_logs(pool, name)
        for number in receipts:
            for path in (pool / RECEIPTS).rglob(f"{number:06d}-*"):
                path.unlink()
        gone = erase(writer, member, reason)
        clear_inbox(pool, key, say)
        besides()
        clear_folders(pool, names)
        return replace(gone, naming=tuple(still_naming(pool, names)))


def clear_reports(pool: Path, key: str) -> None:
    """Takes a member out of every file under `reports/` and of the drafted mails: own pages and pictures that name
    the code go, rows go, and other pages have the code blanked. May be done again at any time."""
    for path in sorted([*(pool / REPORTS).rglob("*"), *(pool / MAILS).rglob("*")]):
        if not path.is_file() or path.name == RESULTS:
            continue
        if mentions(path.stem, key):
            path.unlink()
        elif path.name == POOL_CSV:
            _filtered(pl.read_csv(path, infer_schema=False), key).write_csv(path, line_terminator="\n")
        elif path.name == POOL_PARQUET:
            _filtered(pl.read_parquet(BytesIO(path.read_bytes())), key).write_parquet(
                path, compression="zstd", statistics=False
            )
        else:
            _blanked(path, key)
    for page in sorted((pool / REPORTS).rglob("*.html")):
        _without_dead_links(page)


def clear_folders(pool: Path, keys: Sequence[str]) -> None:
    """Takes away empty folders of receipts, and empty folders that are named like the member."""
    for path in sorted(pool.rglob("*"), reverse=True):
        if not path.is_dir() or any(path.iterdir()):
            continue
        if path.parent == pool / RECEIPTS or any(mentions(path.name, key) for key in keys):
            path.rmdir()


def still_naming(pool: Path, keys: Sequence[str]) -> list[str]:
    """Every file and folder of the pool whose name or text names the member still, read again from the disk; the tables
    of the store, the readers' copy and packed files are left to what wrote them."""
    naming = []
    for path in sorted(pool.rglob("*")):
        texts = [path.name]
        if path.is_file() and path.suffix not in PACKED:
            texts.append(path.read_bytes().decode("utf-8", "replace"))
        if any(mentions(text, key) for text in texts for key in keys):
            naming.append(path.relative_to(pool).as_posix())
    return naming


def clear_logs(pool: Path, key: str) -> None:
    """Blanks a member's code in the log of failures, in the logs of runs started at the desk and in the records of the
    month's flow."""
    for path in (pool / FAILURES, *home(pool).rglob("*.log"), *(pool / DESK_RUNS).rglob("*.log")):
        if path.is_file():
            _blanked(path, key)
    blank_records(home(pool), key, BLANKED)


def clear_inbox(pool: Path, key: str, say: Say) -> None:
    """Takes sheets out of the inbox that the member sent, or that show no other member; one that others share
    stays, and is said."""
    folder = pool / INBOX
    for path in sheets_in(folder) if folder.is_dir() else []:
        sheet = read_sheet(path, path.name)
        if sheet.content is None:
            continue
        sheet = replace(sheet, columns=read_beside(path).columns)
        checked = check_batch([sheet], pool_settings(pool), now().date())
        members = {*checked.accepted["member_key"], *with_labels(checked.held)["member_key"]} - {None}
        if key not in members and not same_label(read_beside(path).by, key):
            continue
        if members - {key}:
            say(
                f"{path} waits in the inbox and has rows of other members too. Take the member's rows out of it."
            )
            continue
        path.unlink(missing_ok=True)
        moment_file(path).unlink(missing_ok=True)


def _filtered(rows: pl.DataFrame, key: str) -> pl.DataFrame:
    codes = [code for code in rows["member"].unique() if label_key(code.removeprefix("'")) == key]
    return rows.filter(~pl.col("member").is_in(codes))


def _without_dead_links(page: Path) -> None:
    """Takes links to pages and pictures that went with the member out of a page; the words of a link stay."""
    text = page.read_text(encoding="utf-8")

    def dead(target: str) -> bool:
        return BLANKED in target or not (page.parent / target).exists()

    alive = LINK.sub(lambda link: link[2] if dead(link[1]) else link[0], text)
    alive = PICTURE.sub(lambda picture: "" if dead(picture[1]) else picture[0], alive)
    if alive != text:
        write_whole(page, alive.encode())


def _blanked(path: Path, key: str) -> None:
    """Blanks the code in a file of text; a picture's file goes whole. Other files hold no words."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return
    if not mentions(text, key):
        return
    if path.suffix == ".svg":
        path.unlink()
        path.with_suffix(".png").unlink(missing_ok=True)
    else:
        write_whole(path, without_mentions(text, key, BLANKED).encode())
