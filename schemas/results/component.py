"""The value of one component in `results.json`, key by key. Meanings and units: `schemas.results.keys`."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from schemas.results.details import DetailsValue


class CountsValue(TypedDict):
    """Growers, series and runs."""

    members: int
    series: int
    runs: int


class ShareCounts(TypedDict):
    """Whose tests stand behind one share: counts only."""

    members: int
    growers: int
    series: int
    pots: int
    stopped: int


class PlainChances(TypedDict):
    """What the plain estimate says of a new series, its spread taken as known."""

    new_series: list[float]
    p_faster: float
    p_clears: float
    p_faster_pot: float
    p_clears_pot: float


class ClubLine(TypedDict):
    """One fixed club at one share; None where it has fewer than 3 growers."""

    club: str
    members: int | None
    ratio: float | None
    ci: list[float] | None
    p_clears: float | None
    why: NotRequired[str]


class StoppedReading(TypedDict):
    """One reading of a pool with stopped clocks; rho: correlation of a series' level with its ratio."""

    rho: float
    ratio: float
    p_clears: float


class StoppedClocks(TypedDict):
    """Both readings; estimated: whether the second's correlation is the data's own."""

    plain: StoppedReading
    related: list[StoppedReading]
    estimated: bool


class ShareFigures(TypedDict):
    """What the model says at one share; None where it says nothing."""

    ratio: float | None
    df: float | None
    ci: list[float] | None
    new_series: list[float] | None
    p_faster: float | None
    p_clears: float | None
    p_faster_pot: float | None
    p_clears_pot: float | None
    p_all: float | None
    reml: PlainChances | None
    clubs: list[ClubLine]
    stopped_clocks: NotRequired[StoppedClocks]


class ShareValue(ShareCounts, ShareFigures):
    """One share measured."""

    share: float
    ran_dry: int
    verdict: str
    why: str | None


class BehindValue(TypedDict):
    """Whose tests a recommendation rests on."""

    members: int
    series: int
    pots: int


class RecommendationValue(TypedDict):
    """The recommendation; share, parts and figures stand there for `enough` only. deciding_state: whose answer it is,
    `fresh` or `settled`; the figures are that state's at the share."""

    share: float | None
    parts: str | None
    verdict: str
    text: str
    deciding_state: str
    ratio: float | None
    ci: list[float] | None
    new_series: list[float] | None
    p_clears: float | None
    p_all: float | None
    behind: BehindValue | None
    why: NotRequired[str]


class HeterogeneityValue(TypedDict):
    """How much growers and series differ."""

    sd_member: float | None
    sd_series: float | None
    i2: float | None
    sd_member_median: float | None
    sd_series_median: float | None
    prior_scale: float | None
    alike: bool
    why: NotRequired[str]


class RepeatabilityValue(TypedDict):
    """How closely pots repeat."""

    cv_pot: float | None
    cv_member: float | None
    sd_pot: float
    measured: bool
    degrees: int
    members: int
    sd_small_shares: float | None
    sd_large_shares: float | None
    cochran: float | None
    why: str


class RefitsValue(TypedDict):
    """The refits that every verdict leans on."""

    count: int
    variances: str | None
    why: NotRequired[str]


class StateValue(TypedDict):
    """Figures of one pour state, freshly filled or settled."""

    shares: list[ShareValue]
    heterogeneity: HeterogeneityValue
    repeatability: RepeatabilityValue
    refits: RefitsValue
    recommendation: RecommendationValue


class SettledValue(StateValue):
    """Settled pots: their pour and figures."""

    pour: int


class AnswerValue(StateValue):
    """All grades together, or one: fresh pots, and settled ones inside."""

    scope: str
    settled: SettledValue


class DifferenceValue(TypedDict):
    """A part of the pool against the rest of it, at the reference share; word: shown, ruled_out or cannot_tell."""

    ratio: float | None
    ci: list[float] | None
    word: str
    why: NotRequired[str]


class PartKeys(TypedDict):
    """What a part of the pool has besides. share, verdict: those of its recommendation; alone: what the part says by
    itself, as description."""

    difference: DifferenceValue
    share: float | None
    verdict: str
    alone: AnswerValue
    why: str | None


class PartAnswerValue(AnswerValue, PartKeys):
    """A part of the pool that borrows from the whole."""


class BaseValue(AnswerValue, DetailsValue):
    """One component in one base."""

    grades: dict[str, PartAnswerValue]
    counts: CountsValue


class PartBaseValue(BaseValue, PartKeys):
    """The same of a part of the pool, in answers of `query`."""


class FewInBase(TypedDict):
    """A component in a base that too few growers tested for a comparison."""

    counts: CountsValue
    shares: list[ShareValue]
    recommendation: RecommendationValue
    why: str


class ComponentValue(BaseValue):
    """One component: the block of the main base, with the other bases inside."""

    bases: dict[str, BaseValue | FewInBase]
    waits: int


class PartComponentValue(ComponentValue, PartKeys):
    """The same of a part of the pool, in answers of `query`."""
