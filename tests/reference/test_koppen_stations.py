"""The climate finder against published stations, each with its source; and two cases worked out by hand.

Criteria: Beck et al. 2018, Scientific Data 5:180214, Table 2. [S] numbers read in the source named (a stored copy);
[M] published normals quoted from memory, rounded: the class does not hang on the last digit.
"""

from __future__ import annotations

import pytest

from schemas.trade.koppen import climate_class

STATIONS: dict[str, tuple[str, list[float], list[float], str]] = {
    "Perth, Western Australia": (
        "Csa",
        [24.3, 24.7, 23.0, 19.6, 16.5, 13.9, 13.05, 13.45, 14.75, 17.1, 20.3, 22.5],
        [9.5, 12.7, 19.5, 44.1, 117.5, 175.7, 169.7, 133.6, 80.6, 52.2, 22.1, 12.8],
        "[S] Bureau of Meteorology, means of daily maximum and minimum 1993-2010, rain 1876-2010",
    ),
    "New York, Central Park": (
        "Cfa",
        [0.3, 1.8, 5.8, 11.7, 16.9, 21.9, 24.7, 24.0, 20.0, 13.8, 8.7, 3.1],
        [93, 78, 111, 114, 106, 112, 117, 113, 109, 112, 102, 102],
        "[S] NOAA normals",
    ),
    "De Bilt": (
        "Cfb",
        [3.6, 3.9, 6.5, 9.9, 13.4, 16.2, 18.3, 17.9, 14.7, 10.9, 7.0, 4.2],
        [71, 63, 58, 42, 59, 71, 85, 84, 78, 81, 80, 84],
        "[M] KNMI normals 1991-2020",
    ),
    "Tórshavn": (
        "Cfc",
        [3.9, 3.5, 3.7, 5.2, 7.1, 9.3, 10.7, 11.0, 9.4, 7.2, 5.2, 4.1],
        [158, 115, 131, 89, 63, 57, 74, 96, 120, 147, 139, 135],
        "[M] Danish Meteorological Institute normals",
    ),
    "Mexico City": (
        "Cwb",
        [14.0, 15.6, 18.0, 19.5, 19.9, 19.5, 18.3, 18.4, 18.1, 16.9, 15.7, 14.4],
        [11, 4, 10, 26, 56, 135, 175, 169, 145, 67, 12, 6],
        "[M] Servicio Meteorológico Nacional normals",
    ),
    "Singapore": (
        "Af",
        [26.8, 27.3, 27.9, 28.2, 28.6, 28.5, 28.2, 28.1, 28.0, 27.9, 27.2, 26.8],
        [222, 105, 151, 164, 164, 135, 147, 147, 125, 168, 252, 332],
        "[M] Meteorological Service Singapore normals 1991-2020",
    ),
    "Phoenix": (
        "BWh",
        [13.8, 15.7, 19.3, 23.3, 28.5, 33.4, 35.4, 34.7, 31.6, 25.0, 18.1, 13.2],
        [22, 22, 21, 6, 3, 0.5, 23, 24, 14, 14, 14, 19],
        "[M] NOAA normals 1991-2020",
    ),
    "Helsinki": (
        "Dfb",
        [-3.1, -3.8, -0.7, 4.4, 10.4, 14.9, 18.1, 16.9, 12.3, 6.6, 2.4, -0.7],
        [53, 38, 34, 34, 38, 60, 57, 81, 56, 73, 69, 58],
        "[M] Finnish Meteorological Institute normals 1991-2020",
    ),
    "Seoul": (
        "Dwa",
        [-2.0, 0.7, 6.1, 12.6, 18.2, 22.7, 25.3, 26.1, 21.6, 15.0, 7.5, 0.2],
        [17, 28, 37, 73, 104, 130, 414, 348, 141, 52, 51, 23],
        "[M] Korea Meteorological Administration normals 1991-2020",
    ),
    "Yakutsk": (
        "Dfd",
        [-38.6, -33.8, -20.1, -4.8, 7.5, 16.4, 19.5, 15.2, 6.1, -7.8, -27.0, -37.6],
        [9, 8, 6, 9, 19, 37, 36, 36, 30, 18, 16, 11],
        "[S] class, January and July means; [M] the other months",
    ),
    "Vostok": (
        "EF",
        [-32, -44, -58, -65, -66, -65, -67, -68, -66, -57, -43, -32],
        [1, 1, 2, 2, 3, 2, 2, 2, 2, 2, 1, 1],
        "[M] Russian Antarctic station means",
    ),
}


@pytest.mark.parametrize("name", STATIONS)
def test_a_station_has_its_published_class(name: str) -> None:
    code, means, rain, _source = STATIONS[name]
    assert climate_class(means, rain).code == code


def test_denver_worked_out_by_hand() -> None:
    """Denver Stapleton, Western Regional Climate Center 1971-2000 [S]. 69.1 % of the rain falls in April to
    September, under 70 %, so the threshold is 10 x (2 x 10.1 + 14) = 341 mm, under 402 mm: not arid. Coldest month
    -1.6 °C: cold; wettest winter month / 3 = 11 mm under the driest summer month: no dry season; 23 °C: hot summer."""
    fahrenheit = [29.2, 33.2, 39.6, 47.6, 57.2, 67.6, 73.4, 71.7, 62.4, 51.0, 37.5, 30.3]
    inches = [0.51, 0.49, 1.28, 1.93, 2.32, 1.56, 2.16, 1.82, 1.14, 0.99, 0.98, 0.63]
    place = climate_class([(t - 32) / 1.8 for t in fahrenheit], [25.4 * p for p in inches])
    assert place.code == "Dfa"


def test_the_warmer_half_year_is_summer_on_both_sides_of_the_equator() -> None:
    """Six months shifted, the same place has the same class."""
    for code, means, rain, _source in STATIONS.values():
        assert climate_class(means[6:] + means[:6], rain[6:] + rain[:6]).code == code


def test_every_class_that_a_place_can_have_is_one_of_the_thirty() -> None:
    from schemas.vocabulary import CLIMATE_CLASSES

    found = {
        climate_class([mean] * 12, [rain] * 12).code
        for mean in range(-60, 45, 3)
        for rain in range(0, 400, 7)
    }
    assert found <= {choice.value for choice in CLIMATE_CLASSES}
    assert {"Af", "BWh", "BWk", "EF", "ET"} <= found


@pytest.mark.parametrize(
    ("means", "rain", "said"),
    [
        ([10.0] * 11, [50.0] * 12, "Twelve temperatures"),
        ([10.0] * 12, [-1.0] + [5.0] * 11, "can't be one"),
        ([200.0] * 12, [5.0] * 12, "200"),
    ],
)
def test_numbers_that_can_t_be_are_refused_in_words(means: list[float], rain: list[float], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        climate_class(means, rain)
