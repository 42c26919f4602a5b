"""Members as the coordinator sees them: who has an account, who sent what, when last."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import polars as pl

from pipeline.desk.accounts.book import Book
from pipeline.jobs.pool_view import View
from schemas.trade.labels import label_key


@dataclass(frozen=True)
class Person:
    """One code: its account, if any, and what the pool has of it."""

    code: str
    role: str
    state: str
    series: int
    runs: int
    last_sent: str


def members_of(seen: View, book: Book, at: datetime) -> list[Person]:
    """Every code with an account, an invitation or runs in force; the one who sent last first."""
    sent = _sent(seen)
    names = {key: account.code for key, account in book.accounts.items()}
    names |= {
        label_key(one.code): one.code for one in book.invitations.values() if label_key(one.code) not in names
    }
    names |= {key: row[0] for key, row in sent.items() if key not in names}
    people = []
    for key, name in names.items():
        account = book.account(key)
        _, series, runs, last = sent.get(key, (name, 0, 0, ""))
        people.append(
            Person(name, account.role if account else "", _state(book, key, at), series, runs, last)
        )
    return sorted(people, key=lambda one: (one.last_sent, one.code), reverse=True)


def _state(book: Book, key: str, at: datetime) -> str:
    account = book.account(key)
    invited = [
        one
        for one in book.invitations.values()
        if label_key(one.code) == key and at < datetime.fromisoformat(one.until)
    ]
    if account is not None and account.open:
        return "can sign in"
    if invited:
        return f"invited until {invited[0].until[:10]}"
    return "closed" if account is not None else "no account"


def _sent(seen: View) -> dict[str, tuple[str, int, int, str]]:
    if seen.standing.is_empty():
        return {}
    days = seen.receipts.select("submission", "received")
    rows = (
        seen.standing.select("member_key", "member", "series_key", "submission")
        .join(days, on="submission", how="left")
        .group_by("member_key")
        .agg(
            pl.col("member").first(),
            pl.col("series_key").n_unique().alias("series"),
            pl.len().alias("runs"),
            pl.col("received").max(),
        )
    )
    return {
        row["member_key"]: (
            row["member"],
            row["series"],
            row["runs"],
            f"{row['received']:%Y-%m-%d}" if row["received"] else "",
        )
        for row in rows.iter_rows(named=True)
    }
