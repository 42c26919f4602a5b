"""The climate finder: every place has one class, the hemisphere does not matter, impossible numbers are refused.
Stations with known classes are in `tests/reference/test_koppen_stations.py`."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.trade.koppen import climate_class
from schemas.vocabulary import CLIMATE_CLASSES

TEMPERATURES = st.lists(st.floats(-40, 40), min_size=12, max_size=12)
RAIN = st.lists(st.floats(0, 600), min_size=12, max_size=12)
MILD, WET = [9.0] * 12, [70.0] * 12


@given(TEMPERATURES, RAIN)
def test_every_place_has_one_class_with_its_name_and_reason(
    mean_c: list[float], rain_mm: list[float]
) -> None:
    place = climate_class(mean_c, rain_mm)
    names = {choice.value: choice.meaning for choice in CLIMATE_CLASSES}
    assert place.name == names[place.code]
    assert place.because.endswith(".") and any(letter.isdigit() for letter in place.because)


@given(TEMPERATURES, RAIN)
def test_half_a_year_later_is_the_other_hemisphere(mean_c: list[float], rain_mm: list[float]) -> None:
    """A tie between the half years has no warmer one, and is left out."""
    north, south = sum(mean_c[3:9]), sum(mean_c[:3]) + sum(mean_c[9:])
    if abs(north - south) > 1e-6:
        shifted = climate_class(mean_c[6:] + mean_c[:6], rain_mm[6:] + rain_mm[:6])
        assert shifted.code == climate_class(mean_c, rain_mm).code


@given(TEMPERATURES, RAIN)
def test_rain_enough_leaves_the_dry_classes(mean_c: list[float], rain_mm: list[float]) -> None:
    soaked = [month + 2000 for month in rain_mm]
    assert climate_class(mean_c, soaked).code[0] != "B"


@pytest.mark.parametrize(
    ("coldest", "warmest", "code"),
    [
        (18.0, 27.0, "A"),
        (17.9, 27.0, "C"),
        (0.1, 18.0, "C"),
        (0.0, 18.0, "D"),
        (-20.0, 10.1, "D"),
        (-20.0, 10.0, "ET"),
        (-20.0, 0.1, "ET"),
        (-20.0, 0.0, "EF"),
    ],
)
def test_limits_of_the_main_groups(coldest: float, warmest: float, code: str) -> None:
    """Beck et al. 2018, Table 2; 200 mm every month keep all of them out of the dry classes."""
    mean_c = [coldest] * 6 + [warmest] * 6
    assert climate_class(mean_c, [200.0] * 12).code.startswith(code)


@pytest.mark.parametrize(
    ("mean_c", "rain_mm", "words"),
    [
        (MILD[:11], WET, "Twelve temperatures are needed, January to December; there are 11"),
        (MILD, [*WET, 1.0], "Twelve amounts of rain are needed, January to December; there are 13"),
        ([], WET, "there are 0"),
        ([90.0, *MILD[1:]], WET, "90 can't be one of the temperatures"),
        ([-80.0, *MILD[1:]], WET, "-80 can't be one of the temperatures"),
        (MILD, [-1.0, *WET[1:]], "-1 can't be one of the amounts of rain"),
        (MILD, [4001.0, *WET[1:]], "they lie between 0 and 4000"),
        ([float("nan"), *MILD[1:]], WET, "nan can't be one of the temperatures"),
    ],
)
def test_what_cannot_be_is_refused_in_words(mean_c: list[float], rain_mm: list[float], words: str) -> None:
    with pytest.raises(ValueError, match=r"needed|can't be") as refused:
        climate_class(mean_c, rain_mm)
    assert words in str(refused.value)


def test_a_place_without_rain_is_a_desert() -> None:
    assert climate_class([25.0] * 12, [0.0] * 12).code == "BWh"
    assert climate_class([10.0] * 12, [0.0] * 12).code == "BWk"
