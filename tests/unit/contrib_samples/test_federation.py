"""The invented federation is broad enough for the demo, and its own numbers fit together."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from math import pi

import pytest

from contrib_samples.events import CORRECTION, PASTED_TWICE, RAN_DRY, SLIPS, STOPPED
from contrib_samples.federation import CLUBS, MEMBERS, PARTS, POTS
from contrib_samples.hands import HANDS

ALL_SERIES = [(member, series) for member in MEMBERS for series in member.series]
HEADLINE = [
    (member, series)
    for member, series in ALL_SERIES
    if series.component == "perlite"
    and series.base == "sphagnum_peat"
    and not series.dry
    and not series.mix_age_weeks
    and series.collected_part == 0.5
    and 0.0 in series.shares
]


def test_codes_have_the_form_that_the_sheet_asks_for() -> None:
    codes = [member.code for member in MEMBERS] + list(CLUBS)
    assert all(re.fullmatch(r"[a-z0-9][a-z0-9-]{1,31}", code) for code in codes)
    assert len(set(codes)) == len(codes)


def test_members_belong_to_a_known_club_or_to_none() -> None:
    sizes = Counter(member.club for member in MEMBERS)
    assert set(sizes) == {*CLUBS, ""}
    assert all(sizes[club] >= 3 for club in CLUBS)


def test_climates_are_common_rare_and_not_given() -> None:
    sizes = Counter(member.climate for member in MEMBERS)
    assert sizes.pop("unknown") == 1
    assert len(sizes) >= 7
    assert sum(size >= 3 for size in sizes.values()) >= 4
    assert sum(size < 3 for size in sizes.values()) >= 2


def test_setups_grades_and_pots() -> None:
    assert {series.setup for _, series in HEADLINE} == {"rack", "strainer", "sieve", "jug_rim", "cut_cup"}
    assert {series.grade for _, series in HEADLINE} == {"fine", "medium", "coarse"}
    volumes = {POTS[series.pot].volume_ml for _, series in ALL_SERIES}
    assert min(volumes) == 400
    assert max(volumes) == 12000
    assert len(volumes) >= 8


@pytest.mark.parametrize("pour", [1, 2])
def test_every_grade_has_enough_independent_growers(pour: int) -> None:
    """Verdicts count clubs, a member without one as a club of one: 5 are needed, also with one left out."""
    growers: dict[str, set[str]] = defaultdict(set)
    for member, series in HEADLINE:
        if series.pours >= pour:
            growers[series.grade].add(member.club or member.code)
    assert all(len(growers[grade]) >= 6 for grade in ("fine", "medium", "coarse"))


def test_first_month_members_are_of_five_clubs_or_more() -> None:
    first = {member.club or member.code for member, series in HEADLINE if series.month == 3}
    assert len(first) >= 5


def test_the_odd_kinds_of_series_are_there() -> None:
    kinds = {
        "dry": [series for _, series in ALL_SERIES if series.dry],
        "single fillings": [series for _, series in HEADLINE if series.pots == 1 and series.pours == 1],
        "three pours": [series for _, series in HEADLINE if series.pours == 3],
        "no straight base": [series for _, series in ALL_SERIES if 0.0 not in series.shares],
        "coir": [series for _, series in ALL_SERIES if series.base == "coir"],
        "aged": [series for _, series in ALL_SERIES if series.mix_age_weeks],
    }
    assert {kind for kind, series in kinds.items() if not series} == set()
    assert len(kinds["no straight base"]) == 1
    pumice = {member.code for member, series in ALL_SERIES if series.component == "pumice"}
    assert len(pumice) == 3


def test_a_stopped_clock_never_takes_away_an_answer() -> None:
    """Straight base stopped early in a headline series, or over 5 % of mixes, would forbid a verdict."""
    headline = {(member.code, series.label): series for member, series in HEADLINE}
    stopped = [spot for spot in STOPPED if (spot.member, spot.series) in headline and spot.pour_no in (1, 2)]
    assert stopped
    assert all(spot.share > 0 for spot in stopped)
    for grade in ("fine", "medium", "coarse"):
        mixes = sum(len(series.shares) - 1 for series in headline.values() if series.grade == grade)
        of_grade = [spot for spot in stopped if headline[spot.member, spot.series].grade == grade]
        assert len(of_grade) / mixes <= 0.05


def test_every_event_names_a_run_that_is_planned() -> None:
    planned = {(member.code, series.label): series for member, series in ALL_SERIES}
    spots = [*STOPPED, *RAN_DRY, *PASTED_TWICE, *CORRECTION, *(slip.spot for slip in SLIPS)]
    for spot in spots:
        series = planned[spot.member, spot.series]
        assert spot.share in series.shares
        assert spot.pot_no <= series.pots
        assert spot.pour_no <= series.pours


def test_a_correction_mends_what_passed_and_adds_what_was_held() -> None:
    corrected = [slip for slip in SLIPS if slip.spot in CORRECTION]
    assert {bool(slip.why) for slip in corrected} == {True, False}


@pytest.mark.parametrize("name", list(POTS))
def test_inside_lengths_fit_the_volume(name: str) -> None:
    """Truncated cone V = π H/12 (D² + D d + d²), lengths in cm: within 5 % of the volume stated."""
    pot = POTS[name]
    top, base, depth = pot.lengths_cm
    assert pi * depth / 12 * (top**2 + top * base + base**2) == pytest.approx(pot.volume_ml, rel=0.05)


@pytest.mark.parametrize("name", list(POTS))
def test_about_a_third_is_poured(name: str) -> None:
    assert POTS[name].poured_ml / POTS[name].volume_ml == pytest.approx(1 / 3, abs=0.05)


def test_parts_come_to_their_percent() -> None:
    for share, (base, component) in PARTS.items():
        assert round(100 * component / (base + component), 1) == share


def test_every_hand_is_somebody_s() -> None:
    assert {member.hand for member in MEMBERS} == set(HANDS)


def test_tests_are_made_in_or_before_the_month_they_are_sent_in() -> None:
    assert all(series.day.month == series.month and series.day.day <= 28 for _, series in ALL_SERIES)
