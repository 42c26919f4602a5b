"""The results of a month read once, so that pages ask for answers and never dig in dictionaries."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

from schemas.results.details import DetailsValue
from schemas.results.whole import ResultsValue
from schemas.trade import verdicts

COVERAGES = (0.95, 0.8, 0.65, 0.5, 0.3)
"""Levels at which pictures draw ranges."""
FRESH, SETTLED = "fresh", "settled"
"""The two pour states, as `deciding_state` of `results.json` names them."""
DOTS = 20
"""Single pots that stand for all that a reader may see."""

Range = tuple[float, float]


@dataclass(frozen=True)
class Redrawn:
    """One share at other levels: ranges by coverage (0-1) of a new grower's series and of the average; twenty equally
    likely ratios of one new pot beside one new pot, rising."""

    new_series: Mapping[float, Range]
    average: Mapping[float, Range]
    pot_ratios: tuple[float, ...]


RedrawnShares = Mapping[tuple[str, str, float], Redrawn]
"""By component, name of the table and share."""


@dataclass(frozen=True)
class Share:
    """One measured share: pooled figures, or counts alone where too few growers measured it."""

    share: float
    members: int
    growers: int
    series: int
    verdict: str
    ratio: float | None
    ci: tuple[float, float] | None
    new_series: tuple[float, float] | None
    p_faster: float | None
    p_clears: float | None
    p_faster_pot: float | None
    p_clears_pot: float | None
    df: float
    why: str
    ran_dry: int
    stopped: int
    pots: int
    repeatability_sd: float
    redrawn: Redrawn | None = None

    @property
    def has_new_series(self) -> bool:
        """True where a range for a new grower is known."""
        return self.ratio is not None and self.new_series is not None

    def new_series_range(self, coverage: float) -> Range:
        """Middle `coverage` (0-1) of new growers' series; `ratio` twice where the month hands no range over."""
        alone = (self.ratio or 1.0, self.ratio or 1.0)
        return self.redrawn.new_series.get(coverage, alone) if self.redrawn is not None else alone

    def average_range(self, coverage: float) -> Range | None:
        """Interval of the average at another level, where the month hands it over."""
        return self.redrawn.average.get(coverage) if self.redrawn is not None else None

    def pot_dots(self) -> list[float]:
        """Twenty equally likely ratios of one new pot beside one new pot, rising; none where they are not known."""
        return list(self.redrawn.pot_ratios) if self.redrawn is not None else []


@dataclass(frozen=True)
class Recommendation:
    """What the month recommends, or why it can't. `state`: fresh or settled, whose answer it is. `p_all`: chance (0-1)
    that every share from this one on reaches the club's line. `pots`: pots behind it; 0 where nothing is recommended."""

    share: float | None
    parts: str | None
    verdict: str
    text: str
    state: str = FRESH
    p_all: float | None = None
    pots: int = 0


@dataclass(frozen=True)
class Refits:
    """How many refits the verdicts lean on, and how they held the variances (`results.json`, refits)."""

    count: int = 0
    variances: str = ""


@dataclass(frozen=True)
class Table:
    """One table of shares with its own recommendation: fresh or settled, of a grade or of all. `sd_member`, `sd_series`:
    spreads between growers and between series, on ln. `cv_pot`: coefficient of variation of single pots. `path`: where
    it stands in `results.json`. `pour`: the pour of its tests. Of a part of the pool: `difference`, whether it is shown to
    differ from the rest, and `borrowing`, what is recommended with the whole pool counted in, while the table holds what
    the part says alone; blank and None where the table is no part, or of a version that did not say."""

    name: str
    scope: str
    shares: tuple[Share, ...]
    recommendation: Recommendation
    sd_member: float | None = None
    sd_series: float | None = None
    cv_pot: float | None = None
    refits: Refits = Refits()
    why: str = ""
    settled: Table | None = None
    path: tuple[str, ...] = ()
    pour: int = 1
    difference: str = ""
    borrowing: Recommendation | None = None

    @property
    def decided_by_settled(self) -> bool:
        """True where the answer is that of settled pots: the stricter of the two states."""
        return self.settled is not None and self.recommendation.state == SETTLED

    @property
    def deciding_table(self) -> Table:
        """The shares of the state whose answer it is."""
        return self.settled if self.settled is not None and self.decided_by_settled else self

    @property
    def deciding(self) -> Share | None:
        """The row that the recommendation rests on, of the state whose answer it is."""
        return self.deciding_table.at(self.recommendation.share)

    @property
    def settled_known(self) -> bool:
        """True where settled pots have an answer of their own, reached or not."""
        return self.settled is not None and self.settled.recommendation.verdict not in (verdicts.TOO_FEW, "")

    @property
    def known(self) -> tuple[Share, ...]:
        """The shares with pooled figures."""
        return tuple(share for share in self.shares if share.ratio is not None)

    @property
    def members(self) -> int:
        """The most growers behind any one share."""
        return max((share.members for share in self.shares), default=0)

    def at(self, share: float | None) -> Share | None:
        """The row of a share, if it was measured."""
        return next((row for row in self.shares if row.share == share), None)

    def largest_tested(self) -> float | None:
        """The largest share with pooled figures: beyond it nothing is known."""
        return max((row.share for row in self.known), default=None)


@dataclass(frozen=True)
class Answer:
    """Everything a month says about one component. `details`: what stands behind the headline."""

    component: str
    overall: Table
    grades: tuple[Table, ...]
    bases: tuple[Table, ...]
    details: DetailsValue

    @property
    def tables(self) -> Iterator[Table]:
        """Every table of shares: overall, grades, other bases, and the settled pots of each."""
        for table in (self.overall, *self.grades, *self.bases):
            yield table
            if table.settled is not None:
                yield table.settled

    @property
    def settled(self) -> Table | None:
        """The settled pots of all grades, where any were measured."""
        return self.overall.settled

    @property
    def recommended(self) -> Share | None:
        """The overall row of the recommended share."""
        return self.overall.at(self.overall.recommendation.share)


def answers(results: ResultsValue, redrawn: RedrawnShares | None = None) -> list[Answer]:
    """Every component of the results, the one with the most growers first. `redrawn`: other ranges of their shares."""
    unsorted = [
        _with_redrawn(_answer(name, value, str(results.get("scope", "any grower"))), redrawn or {})
        for name, value in results.get("components", {}).items()
    ]
    return sorted(unsorted, key=lambda answer: (-answer.overall.members, answer.component))


def _with_redrawn(answer: Answer, redrawn: RedrawnShares) -> Answer:
    def redraw(table: Table) -> Table:
        shares = (
            replace(row, redrawn=redrawn.get((answer.component, table.name, row.share)))
            for row in table.shares
        )
        settled = redraw(table.settled) if table.settled is not None else None
        return replace(table, shares=tuple(shares), settled=settled)

    return replace(
        answer,
        overall=redraw(answer.overall),
        grades=tuple(redraw(grade) for grade in answer.grades),
        bases=tuple(redraw(base) for base in answer.bases),
    )


def _answer(name: str, value: Mapping[str, Any], scope: str) -> Answer:
    here = ("components", name)
    order = {"fine": 0, "medium": 1, "coarse": 2}
    grades = {grade: table for grade, table in (value.get("grades") or {}).items() if _has_shares(table)}
    bases = {base: table for base, table in (value.get("bases") or {}).items() if table}
    return Answer(
        component=name,
        overall=_table("all grades", value, scope, here),
        grades=tuple(
            _part(grade, table, scope, (*here, "grades", grade))
            for grade, table in sorted(grades.items(), key=lambda pair: order.get(pair[0], 9))
        ),
        bases=tuple(
            _table(base, table, scope, (*here, "bases", base)) for base, table in sorted(bases.items())
        ),
        details=cast(DetailsValue, value),
    )


def _has_shares(value: Any) -> bool:
    return bool(value and value.get("shares"))


def _table(name: str, value: Mapping[str, Any], scope: str, path: tuple[str, ...]) -> Table:
    repeatability, spread = value.get("repeatability") or {}, value.get("heterogeneity") or {}
    refits = value.get("refits") or {}
    cv_pot = repeatability.get("cv_pot") or 0.0
    pot_sd = math.sqrt(math.log1p(cv_pot**2))
    recommendation = value.get("recommendation") or {}
    settled = value.get("settled")
    return Table(
        name=name,
        scope=str(value.get("scope") or scope),
        shares=tuple(_share(row, pot_sd) for row in value.get("shares") or ()),
        recommendation=_recommendation(recommendation, settled or {}),
        sd_member=spread.get("sd_member"),
        sd_series=spread.get("sd_series"),
        cv_pot=repeatability.get("cv_pot"),
        refits=Refits(int(refits.get("count") or 0), refits.get("variances") or ""),
        why=str(value.get("why") or ""),
        settled=_table(
            f"{name}, settled", {"repeatability": repeatability, **settled}, scope, (*path, "settled")
        )
        if _has_shares(settled) and settled is not None
        else None,
        path=path,
        pour=int(value.get("pour") or 1),
    )


def _part(name: str, value: Mapping[str, Any], scope: str, path: tuple[str, ...]) -> Table:
    """A part of the pool: the table of what it says alone, with what borrowing from the whole says."""
    if "alone" not in value:
        return _table(name, value, scope, path)
    borrowing = _recommendation(value.get("recommendation") or {}, value.get("settled") or {})
    word = str(value["difference"]["word"])
    return replace(
        _table(name, value["alone"], scope, (*path, "alone")), difference=word, borrowing=borrowing
    )


def _recommendation(value: Mapping[str, Any], settled: Mapping[str, Any]) -> Recommendation:
    """Results of 0.1.0 name no state: there the settled pots decide where they recommend the same share."""
    share = value.get("share")
    beside = settled.get("recommendation") or {}
    agrees = beside.get("verdict") == verdicts.ENOUGH and beside.get("share") == share
    return Recommendation(
        share,
        value.get("parts"),
        value.get("verdict") or verdicts.TOO_FEW,
        value.get("text") or "",
        value.get("deciding_state") or (SETTLED if agrees else FRESH),
        value.get("p_all"),
        int((value.get("behind") or {}).get("pots") or 0),
    )


def _share(row: Mapping[str, Any], pot_sd: float) -> Share:
    members = int(row.get("members") or 0)
    return Share(
        share=float(row["share"]),
        members=members,
        growers=int(row.get("growers") or members),
        series=int(row.get("series") or 0),
        verdict=row.get("verdict") or verdicts.TOO_FEW,
        ratio=row.get("ratio"),
        ci=_pair(row.get("ci")),
        new_series=_pair(row.get("new_series")),
        p_faster=row.get("p_faster"),
        p_clears=row.get("p_clears"),
        p_faster_pot=row.get("p_faster_pot"),
        p_clears_pot=row.get("p_clears_pot"),
        why=str(row.get("why") or ""),
        ran_dry=int(row.get("ran_dry") or 0),
        stopped=int(row.get("stopped") or 0),
        pots=int(row.get("pots") or 0),
        df=float(row.get("df") or max(1, members - 1)),
        repeatability_sd=pot_sd,
    )


def _pair(value: Any) -> tuple[float, float] | None:
    if not value or len(value) != 2 or value[0] is None or value[1] is None:
        return None
    return float(value[0]), float(value[1])
