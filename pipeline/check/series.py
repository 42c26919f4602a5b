"""What the rows of one member's series say together: first spellings, blanks that take the series' own
value, and words that must not change.

A series is looked at within one sheet: every file is checked alone, so that a sheet gets the same receipt
whatever else came with it. What a later sheet changes in a series already pooled is the load stage's matter.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.check.findings import Hit, RowRule, from_hits, no_findings, together
from schemas.column import Column
from schemas.kinds.kind import SheetKind
from schemas.rows_named import named_rows

SERIES = ["file_id", "member_key", "series_key"]
VALUES_NAMED = 4


def first_spelled(rows: pl.DataFrame) -> pl.DataFrame:
    """The rows with `member` and `series` as each sheet first spells them."""
    return rows.with_columns(
        pl.col("member").drop_nulls().first().over("file_id", "member_key"),
        pl.col("series").drop_nulls().first().over(SERIES),
    )


def numbered(rows: pl.DataFrame) -> pl.DataFrame:
    """The rows with `series_no` (one number per member's series in a sheet) and `position` (0, 1, 2 …)."""
    kinds = rows.select(SERIES).unique(maintain_order=True).with_row_index("series_no")
    joined = rows.join(kinds, on=SERIES, how="left", nulls_equal=True, maintain_order="left")
    return joined.with_row_index("position")


def taking_series_own(rows: pl.DataFrame, kind: SheetKind) -> pl.DataFrame:
    """The rows (with `series_no`) where cells that may take the series' own value (`unknown` climate and, at
    0 %, blank component and grade) have the one that more than half of the series' rows that have one agree on."""
    for record in kind.columns:
        if not record.takes_series_own:
            continue
        column = record.becomes
        lacks = _lacks(record)
        if not rows.select(lacks.any()).item():
            continue
        has = rows.lazy().filter(~lacks).group_by("series_no", column).agg(rows=pl.len())
        own = (
            has.with_columns(all_rows=pl.col("rows").sum().over("series_no"))
            .filter(2 * pl.col("rows") > pl.col("all_rows"))
            .select("series_no", pl.col(column).alias("own"))
            .collect()
        )
        rows = (
            rows.join(own, on="series_no", how="left", maintain_order="left")
            .with_columns(
                pl.when(lacks).then(pl.coalesce("own", column)).otherwise(pl.col(column)).alias(column)
            )
            .drop("own")
        )
    return rows


def _lacks(column: Column) -> pl.Expr:
    """True where a row has no value of its own: blank, or the word that says that it is not known."""
    value = pl.col(column.becomes)
    return value.is_null() if column.not_given is None else value.is_null() | (value == column.not_given)


@dataclass(frozen=True)
class ZoneTaken:
    """Where rows of a series say `unknown` beside a class, they take the class, and are told so."""

    kind: SheetKind
    id: str = "zone_from_series"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Advice on each row whose unknown climate zone takes the series' class."""
        found = [no_findings()]
        after = taking_series_own(rows, self.kind)
        for column in self.kind.columns:
            if column.not_given is None or not column.takes_series_own:
                continue
            own, taken = rows[column.becomes], after[column.becomes]
            takes = rows.with_columns(taken=taken).filter(
                (own == column.not_given) & (taken != column.not_given)
            )
            told = {"taken": pl.col("taken"), "series": pl.col("series")}
            found.append(RowRule(self.id, column.name, pl.lit(True), told).find(takes))
        return together(found)


@dataclass(frozen=True)
class SteadyWords:
    """Words that must not change within a series: more than half agree and the others are held, or all are."""

    kind: SheetKind
    id: str = "changes_in_series"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Held findings on the columns that must stay the same: climate zone, setup, base, component and grade."""
        hits: list[Hit] = []
        for column in self.kind.columns:
            if column.same_in_series == "held":
                for group in _changing(rows, column):
                    hits.extend(_held_words(self.id, column, group))
        return from_hits(rows, hits)


@dataclass(frozen=True)
class SteadyWordsByAdvice:
    """Words whose change within a series is worth a line: those that differ from what most rows say."""

    kind: SheetKind
    id: str = "varies_in_series"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Advice on hole cover, peat type, lots, wetting, sieving, and start moisture pour by pour: a pot
        poured before is wetter than a fresh one, and that is no change of the test."""
        hits: list[Hit] = []
        for column in self.kind.columns:
            if column.same_in_series == "advice":
                for group in _changing(rows, column):
                    hits.extend(_advised_words(self.id, column.name, group))
        return from_hits(rows, hits)


@dataclass(frozen=True)
class Said:
    """What the rows of one series say under one column, in sheet order; None where a row says nothing."""

    series: str
    positions: Sequence[int]
    sheet_rows: Sequence[int]
    values: Sequence[str | None]


def _changing(rows: pl.DataFrame, column: Column) -> list[Said]:
    """The groups of rows of one series that say two or more different things under that column."""
    within = ["series_no", *column.same_within]
    value = pl.col(column.becomes)
    if column.not_given is not None:
        value = value.replace(column.not_given, None)
    if column.kind == "code":
        value = value.str.to_lowercase()
    narrow = rows.select("position", "sheet_row", "series", *within, value.cast(pl.String).alias("said"))
    more = narrow.group_by(within).agg(pl.col("said").drop_nulls().n_unique().alias("kinds"))
    more = more.filter(pl.col("kinds") > 1).select(within)
    if not more.height:
        return []
    groups = narrow.join(more, on=within, how="semi").group_by(within, maintain_order=True)
    told = groups.agg("position", "sheet_row", "said", pl.col("series").first())
    return [
        Said(one["series"], one["position"], one["sheet_row"], one["said"])
        for one in told.iter_rows(named=True)
    ]


def majority(values: Sequence[str | None]) -> str | None:
    """The value on which more than half of the given ones agree (None counts neither way); None where no
    value has that many."""
    given = [value for value in values if value is not None]
    if not given:
        return None
    value, count = Counter(given).most_common(1)[0]
    return value if 2 * count > len(given) else None


def _held_words(rule_id: str, column: Column, group: Said) -> list[Hit]:
    own = majority(group.values)
    follows = (
        "no word has more than half of the rows, so all are held"
        if own is None
        else "most rows agree, and those that differ are held"
    )
    blank = column.not_given or "blank"
    elsewhere = _Elsewhere(group)
    hits = []
    for position, value in zip(group.positions, group.values, strict=True):
        if own is not None and value in (own, None):
            continue
        details = {
            "own": value or blank,
            "elsewhere": elsewhere.than(value, own),
            "series": group.series,
            "follows": follows,
            "label": f"{group.series} {value or '2'}",
        }
        hits.append(Hit(position, column.name, rule_id, details))
    return hits


def _advised_words(rule_id: str, column: str, group: Said) -> list[Hit]:
    own = Counter(value for value in group.values if value is not None).most_common(1)[0][0]
    elsewhere = _Elsewhere(group)
    return [
        Hit(
            position,
            column,
            rule_id,
            {"own": value, "elsewhere": elsewhere.than(value, own), "series": group.series},
        )
        for position, value in zip(group.positions, group.values, strict=True)
        if value is not None and value != own
    ]


class _Elsewhere:
    """What other rows of a series say, in words: `rows 2-4 say rack and row 6 says sieve`."""

    def __init__(self, group: Said) -> None:
        rows_of: dict[str, list[int]] = {}
        for row, value in zip(group.sheet_rows, group.values, strict=True):
            if value is not None:
                rows_of.setdefault(value, []).append(row)
        most = sorted(rows_of.items(), key=lambda item: -len(item[1]))[: VALUES_NAMED + 1]
        self._told = {value: _rows_say(rows, value) for value, rows in most}

    def than(self, value: str | None, own: str | None) -> str:
        """In words, the rows with the series' own value, or where it has none, with other values than this."""
        if own is not None:
            return self._told[own]
        return " and ".join([told for other, told in self._told.items() if other != value][:VALUES_NAMED])


def _rows_say(rows: Sequence[int], value: str) -> str:
    return f"{named_rows(rows)} {'says' if len(rows) == 1 else 'say'} {value}"
