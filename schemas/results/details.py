"""What stands behind a component's headline in `results.json`. Meanings and units: `schemas.results.keys`.

`why`: a sentence, where a figure is missing.
"""

from __future__ import annotations

from typing import NotRequired, TypedDict


class SensitivityLine(TypedDict):
    """One share of the headline without growers' slopes."""

    share: float
    ratio: float
    p_clears: float


class SensitivityValue(TypedDict):
    """The headline without growers' slopes."""

    shares: list[SensitivityLine]
    why: NotRequired[str]


class ChoiceLine(TypedDict):
    """The verdict for one target and assurance."""

    target_ratio: float
    assurance: float
    verdict: str
    share: float | None
    why: NotRequired[str]


class RobustnessLine(TypedDict):
    """One other way to look."""

    check: str
    words: str
    share: float
    ratio: float | None
    p_clears: float | None
    enough: float | None
    why: NotRequired[str]


class EvidenceValue(TypedDict):
    """Series without a baseline beside the others."""

    series_by_differences: int
    members_by_differences: int
    slope_difference: float | None
    p: float | None
    why: NotRequired[str]


class SpreadLine(TypedDict):
    """One spread with its 95 % profile-likelihood interval."""

    sd: float
    low: float
    high: float | None
    why: NotRequired[str]


class SpreadsValue(TypedDict, total=False):
    """Every spread that the model has; `words` where growers' spread is estimated as zero."""

    sd_member_level: SpreadLine
    sd_member_slope: SpreadLine
    sd_series: SpreadLine
    sd_mix: SpreadLine
    words: str
    why: str


class ContrastLine(TypedDict):
    """One contrast between kinds of test."""

    contrast: str
    words: str
    ratio_of_ratios: float | None
    ci: list[float] | None
    df: float | None
    p: float | None
    members: int
    members_with_both: int
    why: NotRequired[str]


class PourShareLine(TypedDict):
    """Change of the ratio at one share."""

    share: float
    ratio_of_ratios: float
    ci: list[float]
    members: int


class PourLine(TypedDict):
    """Change of the ratio from the first pour to a later one."""

    pour: int
    ratio_of_ratios: float
    ci: list[float | None]
    members: int
    shares: list[PourShareLine]


class SettlingValue(TypedDict):
    """Every later pour."""

    sd_pour: float
    measured: bool
    pours: list[PourLine]
    why: NotRequired[str]


class SmallShareLine(TypedDict):
    """Whether one small share slows a mix."""

    share: float
    ratio: float
    p_faster: float | None
    p_slower: float | None
    slower_than_ruled_out: float | None
    members: int
    why: NotRequired[str]


class SmallSharesValue(TypedDict):
    """All small shares of fresh pots, those of settled ones, and how holders differ in them."""

    shares: list[SmallShareLine]
    settled: list[SmallShareLine]
    by_setup: NotRequired[ContrastLine]
    why: NotRequired[str]


class BendValue(TypedDict):
    """Where the curve bends."""

    knots: list[float] | None
    interval: list[float] | None
    why: NotRequired[str]


class AgreementValue(TypedDict):
    """How well growers agree at one share."""

    share: float | None
    s_r: float | None
    s_between: float | None
    s_reproducibility: float | None
    pots_within: float | None
    growers_within: float | None
    largest_h: float | None
    largest_k: float | None
    robust_ratio: float | None
    members_beyond_2: int | None
    members_beyond_3: int | None
    why: NotRequired[str]


class ApartLine(TypedDict):
    """One share of runs that are in no headline."""

    share: float
    members: int
    ratio: float | None
    ci: list[float] | None
    why: NotRequired[str]


class ApartValue(TypedDict):
    """Runs that are in no headline for one reason."""

    runs: int
    shares: list[ApartLine]


class RestsOnValue(TypedDict):
    """Setups, grades and pots behind the headline; pot volumes as least, middle and largest. largest_part_of_series: of all
    series, those by the one grower with the most (0-1); shared_by_all: what every grower's tests share, of base bag,
    component bag and test day."""

    setups: dict[str, int]
    grades: dict[str, int]
    pot_volume_ml: list[float]
    members_with_two_setups: int
    largest_part_of_series: float | None
    why: NotRequired[str]
    shared_by_all: list[str]


class RegretLine(TypedDict):
    """Expected regret of one share, ln units times the club's weights."""

    share: float
    regret: float


class RegretValue(TypedDict):
    """The share of least expected regret, None where no weights are set or nothing is known."""

    share: float | None
    shares: list[RegretLine]
    why: NotRequired[str]


class DetailsValue(TypedDict, total=False):
    """All keys beyond the contract's own. A quick query leaves them out."""

    sensitivity: SensitivityValue
    choices: list[ChoiceLine]
    robustness: list[RobustnessLine]
    evidence: EvidenceValue
    spread_intervals: SpreadsValue
    contrasts: list[ContrastLine]
    exploratory: list[ContrastLine]
    settling: SettlingValue
    small_shares: SmallSharesValue
    bend: BendValue
    agreement: AgreementValue
    regret: RegretValue
    apart: dict[str, ApartValue]
    rests_on: RestsOnValue
