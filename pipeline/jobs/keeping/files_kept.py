"""What a pool keeps as files besides its truth: reports, receipts, mails, the flow's records; missing, extra or broken.

All of it can be made again: each finding names the one command that does.
"""

from __future__ import annotations

import re
import sqlite3
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path

import polars as pl

from pipeline.jobs.month.files.folder import REPORTS, month_folder
from pipeline.jobs.month.files.index_and_mails import MAILS, months_made
from pipeline.jobs.month.files.making import POOL_CSV, POOL_PARQUET, is_draft
from pipeline.jobs.month.files.older import edition_in, pages_of
from pipeline.jobs.month.flow_home import home
from pipeline.jobs.month.nicknames import every_nickname
from pipeline.jobs.receiving.receipts import RECEIPTS, receipt_place
from pipeline.load.changes.editions import editions_in
from pipeline.load.keeping.verifying import Finding
from pipeline.load.truth.journal import Line
from pipeline.load.truth.receipts import receipts_in
from pipeline.load.truth.records import Edition
from reports.frame import DRAFT
from schemas.formula_guards import GUARD
from schemas.trade.labels import label_key
from schemas.version import VERSION

MARKED = '<main id="answer">'
"""Pages that carry the marks of their edition; cards to print do not."""
LEADS_TO = re.compile(r'(?:href|src)="([^"#?:]+)[^"]*"')


def file_findings(pool: Path, lines: Sequence[Line], members: frozenset[str]) -> Iterator[Finding]:
    """What is to be said of the files of a pool whose journal and store agree. `members`: the keys of all members that
    the store knows, whether their runs are in force or not."""
    names = members | every_nickname(lines)
    yield from _receipts(pool, lines)
    for month in sorted({line.payload["month"] for line in lines if line.event == "edition"}):
        for edition in editions_in(lines, month):
            place = pages_of(month_folder(pool, month), edition.number)
            if place is not None and edition.version == VERSION:
                yield from _report(pool, place, edition, names)
    yield from _index(pool)
    yield from _mails(pool, names)
    yield from _left_behind(pool)
    yield from _flow_records(pool)


def _receipts(pool: Path, lines: Sequence[Line]) -> Iterator[Finding]:
    expected = {}
    for receipt in receipts_in(lines).values():
        place = receipt_place(pool, receipt)
        expected[place] = receipt
        if not receipt.erased and not place.exists():
            yield Finding(
                place.relative_to(pool).as_posix(),
                f"the private receipt is not there; drainpool rebuild --pool {pool} makes it again",
                damage=False,
            )
    for path in sorted((pool / RECEIPTS).rglob("*.txt")):
        known = expected.get(path)
        if known is None:
            yield Finding(
                path.relative_to(pool).as_posix(),
                "no journal line speaks of this receipt; it may be deleted",
                damage=False,
            )
        elif known.erased:
            yield Finding(path.relative_to(pool).as_posix(), "somebody in this receipt was erased; delete it")


def _report(pool: Path, folder: Path, edition: Edition, names: frozenset[str]) -> Iterator[Finding]:
    """A report whose pages lead to files that are gone, that names somebody the pool does not hold, or whose marks are
    not those of its edition."""
    again = f"drainpool month {edition.month} --pool {pool} makes it again"
    missing: Counter[str] = Counter()
    unlike = 0
    for page in sorted(folder.rglob("*.html")):
        if page.relative_to(folder).parts[0].startswith("edition-"):
            continue
        text = page.read_text(encoding="utf-8", errors="replace")
        missing.update(_missing(pool, page, text))
        unlike += MARKED in text and (DRAFT in text) is not is_draft(edition)
    for name, pages in sorted(missing.items()):
        yield Finding(
            name, f"it is not there, and {pages} page{'s lead' if pages > 1 else ' leads'} to it; {again}"
        )
    if unlike:
        stands = "a draft" if is_draft(edition) else "published"
        where = folder.relative_to(pool).as_posix()
        yield Finding(where, f"its edition is {stands}, and its pages say otherwise; {again}", damage=False)
    yield from _named(pool, folder, names, again)


def _named(pool: Path, folder: Path, names: frozenset[str], again: str) -> Iterator[Finding]:
    """Whom the files of a report name."""
    for name in (POOL_CSV, POOL_PARQUET):
        where = (folder / name).relative_to(pool).as_posix()
        try:
            found = _members(folder / name)
        except (OSError, pl.exceptions.PolarsError):
            yield Finding(where, f"it is not there or can't be read; {again}")
            continue
        if strangers := sorted(found - names):
            yield Finding(where, f"it names {_counted(strangers)} whom the pool does not hold; {again}")
    for page in sorted((folder / "members").glob("*.html")):
        if label_key(page.stem) not in names:
            yield Finding(
                page.relative_to(pool).as_posix(), f"a page of somebody whom the pool does not hold; {again}"
            )


def _missing(pool: Path, page: Path, text: str) -> set[str]:
    """Files below the reports that a page leads to and that are not there; links further up lead to the desk or the web
    server."""
    reports = (pool / REPORTS).resolve()
    targets = {(page.parent / target).resolve() for target in LEADS_TO.findall(text)}
    return {
        f"{REPORTS}/{target.relative_to(reports).as_posix()}"
        for target in targets
        if target.is_relative_to(reports) and not target.exists()
    }


def _members(path: Path) -> frozenset[str]:
    content = path.read_bytes()
    rows = pl.read_csv(content, infer_schema=False) if path.suffix == ".csv" else pl.read_parquet(content)
    return frozenset(label_key(code.removeprefix(GUARD)) for code in rows["member"].cast(pl.String).unique())


def _counted(names: Sequence[str]) -> str:
    return "somebody" if len(names) == 1 else f"{len(names)} members"


def _index(pool: Path) -> Iterator[Finding]:
    months = months_made(pool)
    for name in ("index.html", "feed.xml") if months else ():
        if not (pool / REPORTS / name).exists():
            yield Finding(
                f"{REPORTS}/{name}",
                f"it is not there; drainpool month {months[-1]} --pool {pool} makes it again",
                damage=False,
            )


def _mails(pool: Path, names: frozenset[str]) -> Iterator[Finding]:
    for path in sorted((pool / MAILS).rglob("*.txt")):
        if label_key(path.stem) not in names:
            yield Finding(
                path.relative_to(pool).as_posix(), "a mail to somebody whom the pool does not hold; delete it"
            )


def _left_behind(pool: Path) -> Iterator[Finding]:
    """What a command that was ended in the middle left beside its place; the next one clears it away."""
    for path in sorted((pool / REPORTS).glob(".????-??.*")):
        yield Finding(
            path.relative_to(pool).as_posix(),
            "an interrupted month left it; the next run of that month takes it away",
            damage=False,
        )
    for month in months_made(pool):
        if edition_in(month_folder(pool, month)) is None:
            yield Finding(
                f"{REPORTS}/{month}",
                f"its figures can't be read; drainpool month {month} --pool {pool} makes it again",
            )


def _flow_records(pool: Path) -> Iterator[Finding]:
    for path in sorted(home(pool).glob("*.db")):
        try:
            with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True, timeout=10)) as records:
                sound = records.execute("PRAGMA quick_check(1)").fetchone() == ("ok",)
        except sqlite3.DatabaseError:
            sound = False
        if not sound:
            yield Finding(
                path.relative_to(pool.resolve()).as_posix(),
                "the flow's records can't be read. They hold nothing of the pool: delete this file, the next month makes "
                "another",
            )
