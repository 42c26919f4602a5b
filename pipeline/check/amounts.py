"""Volumes that stay the same through a series: the pot, what is poured on, what is collected."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.check.findings import Hit, from_hits
from pipeline.check.numbers import figures_of
from pipeline.check.rows import SLACK
from schemas.rows_named import named_rows

SAME_POT = 0.10
ALIKE = 0.005
NEAR_POT = 0.25
SAME_POUR = 0.05


@dataclass(frozen=True)
class Amounts:
    """One volume in ml of each row of a series, in sheet order, and which rows are of the baseline mix."""

    series: str
    positions: Sequence[int]
    sheet_rows: Sequence[int]
    values: Sequence[float]
    baseline: Sequence[bool]


@dataclass(frozen=True)
class SteadyPot:
    """Within a series the pot is one: up to 10 % off is the same pot, to 25 % advice, beyond held."""

    id: str = "pot_volume_changes"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Held findings and advice on pot_volume."""
        hits: list[Hit] = []
        for group in _varying(rows, "pot_volume_ml", SAME_POT):
            hits.extend(_pot_hits(group))
        return from_hits(rows, hits)


@dataclass(frozen=True)
class SteadyPours:
    """Within a series pours are alike: poured and collected within 5 % of the series' own."""

    id: str = "unlike_pour"

    def find(self, rows: pl.DataFrame) -> pl.DataFrame:
        """Advice on poured and collected; the rows it speaks of are marked `unlike_pour`."""
        hits: list[Hit] = []
        for column in ("poured", "collected"):
            for group in _varying(rows, f"{column}_ml", SAME_POUR):
                own, words = series_own(group.values, group.baseline, SAME_POUR), _Others(group, SAME_POUR)
                for position, value in zip(group.positions, group.values, strict=True):
                    if not _within(value, own, SAME_POUR):
                        hits.append(Hit(position, column, self.id, words.beside(value, own)))
        return from_hits(rows, hits)


def series_own(values: Sequence[float], baseline: Sequence[bool], *nears: float) -> float:
    """The amount that most rows lie within the first of `nears` of (0.1: up to 1.1 times either way), ties by
    the next. Of several, one of a baseline row, since every contrast is made with the baseline; of those, the
    first in the sheet."""
    ordered = sorted(values)

    def agreeing(value: float, near: float) -> int:
        low, high = value / (1 + near + SLACK), value * (1 + near + SLACK)
        return bisect_right(ordered, high) - bisect_left(ordered, low)

    counted = {value: [agreeing(value, near) for near in nears] for value in set(values)}
    best = max(range(len(values)), key=lambda index: (counted[values[index]], baseline[index], -index))
    return values[best]


def _pot_hits(group: Amounts) -> list[Hit]:
    own = series_own(group.values, group.baseline, SAME_POT, NEAR_POT)
    settled = 2 * sum(_within(value, own, NEAR_POT) for value in group.values) > len(group.values)
    smallest, largest = min(group.values), max(group.values)
    words = _Others(group, SAME_POT)
    hits = []
    for position, value in zip(group.positions, group.values, strict=True):
        is_same = _within(value, own, SAME_POT)
        if settled and is_same:
            continue
        held = not (settled and _within(value, own, NEAR_POT))
        other = own if not is_same else largest if largest / value > value / smallest else smallest
        rule_id = "pot_volume_changes" if held else "pot_volume_varies"
        hits.append(Hit(position, "pot_volume", rule_id, words.beside(value, other)))
    return hits


class _Others:
    """Which rows of a series have another amount, in words; each amount's rows are listed once."""

    def __init__(self, group: Amounts, near: float) -> None:
        self._group, self._near = group, near
        self._told: dict[float, dict[str, str]] = {}

    def beside(self, value: float, other: float) -> dict[str, str]:
        """Details of a message about a row that has `value` where the rows within `near` of `other` have that."""
        if other not in self._told:
            pairs = list(zip(self._group.sheet_rows, self._group.values, strict=True))
            near = [(row, one) for row, one in pairs if _within(one, other, self._near)]
            rows = [row for row, _ in near]
            says = "says" if len(rows) == 1 else "say"
            if any(not _within(one, other, ALIKE) for _, one in near):
                says += " about"
            self._told[other] = {"other": figures_of(other), "others": named_rows(rows), "say": says}
        return {
            "own": figures_of(value),
            **self._told[other],
            "percent": figures_of(100 * abs(value / other - 1), 2),
            "way": "more" if value > other else "less",
            "series": self._group.series,
            "label": f"{self._group.series} {figures_of(value)} ml",
        }


def _within(value: float, own: float, near: float) -> bool:
    return abs(value / own - 1) <= near + SLACK


def _varying(rows: pl.DataFrame, column: str, near: float) -> list[Amounts]:
    """The series whose smallest and largest amount are not the same within `near`."""
    spread = rows.group_by("series_no").agg(low=pl.col(column).min(), high=pl.col(column).max())
    more = spread.filter(pl.col("high") > pl.col("low") * (1 + near)).select("series_no")
    if not more.height:
        return []
    told = (
        rows.select(
            "position", "sheet_row", "series", "series_no", column, baseline=pl.col("component_share") == 0
        )
        .join(more, on="series_no", how="semi")
        .group_by("series_no", maintain_order=True)
        .agg("position", "sheet_row", column, "baseline", pl.col("series").first())
    )
    return [
        Amounts(one["series"], one["position"], one["sheet_row"], one[column], one["baseline"])
        for one in told.iter_rows(named=True)
    ]
