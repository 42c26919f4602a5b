"""The Köppen-Geiger class of a place from twelve monthly means of temperature and rain.

Criteria: Beck et al. 2018, Scientific Data 5:180214, Table 2 (after Peel et al. 2007, with 0 °C between the
temperate and the cold classes). The arid classes are asked first, so that the others never meet them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from schemas.vocabulary import CLIMATE_CLASSES

MONTHS = 12
WARM_HALF_NORTH = range(3, 9)
"""April to September, counted from 0: one of the two half years that Beck et al. compare."""

COLDEST_PLAUSIBLE_C, WARMEST_PLAUSIBLE_C = -75.0, 50.0
WETTEST_PLAUSIBLE_MM = 4000.0


@dataclass(frozen=True)
class Place:
    """The class found, its name, and the sentence that says which numbers led to it."""

    code: str
    name: str
    because: str


@dataclass(frozen=True)
class _Halves:
    """Rain of the warmer and the colder half year, mm a month."""

    summer: tuple[float, ...]
    winter: tuple[float, ...]

    @property
    def summer_part(self) -> float:
        """Part of the year's rain that falls in the warmer half, 0-1."""
        whole = sum(self.summer) + sum(self.winter)
        return sum(self.summer) / whole if whole else 0.5


def climate_class(mean_c: Sequence[float], rain_mm: Sequence[float]) -> Place:
    """The class of a place from monthly means, January first: temperature in °C, rain in mm a month.

    ValueError, worded for the person who typed, where there are not twelve of each or a number can't be one.
    """
    _refuse_impossible(mean_c, rain_mm)
    temperatures, rain = [float(one) for one in mean_c], [float(one) for one in rain_mm]
    halves = _halves(temperatures, rain)
    code, because = _arid(temperatures, rain, halves) or _by_warmth(temperatures, rain, halves)
    name = next(choice.meaning for choice in CLIMATE_CLASSES if choice.value == code)
    return Place(code, name, because)


def _refuse_impossible(mean_c: Sequence[float], rain_mm: Sequence[float]) -> None:
    for values, what, low, high in (
        (mean_c, "temperatures", COLDEST_PLAUSIBLE_C, WARMEST_PLAUSIBLE_C),
        (rain_mm, "amounts of rain", 0.0, WETTEST_PLAUSIBLE_MM),
    ):
        if len(values) != MONTHS:
            raise ValueError(f"Twelve {what} are needed, January to December; there are {len(values)}.")
        odd = [value for value in values if not low <= value <= high]
        if odd:
            raise ValueError(f"{odd[0]:g} can't be one of the {what}: they lie between {low:g} and {high:g}.")


def _halves(temperatures: list[float], rain: list[float]) -> _Halves:
    april = [month in WARM_HALF_NORTH for month in range(MONTHS)]
    in_april_half = sum(t for t, inside in zip(temperatures, april, strict=True) if inside)
    april_is_warmer = in_april_half >= sum(temperatures) - in_april_half
    summer = tuple(r for r, inside in zip(rain, april, strict=True) if inside == april_is_warmer)
    winter = tuple(r for r, inside in zip(rain, april, strict=True) if inside != april_is_warmer)
    return _Halves(summer, winter)


def _arid(temperatures: list[float], rain: list[float], halves: _Halves) -> tuple[str, str] | None:
    """BW and BS: the year's rain against a threshold that rises with warmth and with rain in summer."""
    mean = sum(temperatures) / MONTHS
    if halves.summer_part > 0.7:
        threshold = 2 * mean + 28
    elif halves.summer_part < 0.3:
        threshold = 2 * mean
    else:
        threshold = 2 * mean + 14
    year = sum(rain)
    if year >= 10 * threshold:
        return None
    code = ("BW" if year < 5 * threshold else "BS") + ("h" if mean >= 18 else "k")
    return (
        code,
        f"{year:.0f} mm of rain a year is less than the {10 * threshold:.0f} mm that a year at {mean:.1f} °C uses up.",
    )


def _by_warmth(temperatures: list[float], rain: list[float], halves: _Halves) -> tuple[str, str]:
    coldest, warmest = min(temperatures), max(temperatures)
    if coldest >= 18:
        return _tropical(rain), f"No month is cooler than 18 °C; the driest has {min(rain):.0f} mm."
    if warmest <= 10:
        return "ET" if warmest > 0 else "EF", f"The warmest month has {warmest:.1f} °C."
    group = "C" if coldest > 0 else "D"
    code = group + _dry_season(halves) + _summer(temperatures)
    months = sum(t >= 10 for t in temperatures)
    return code, (
        f"The coldest month has {coldest:.1f} °C, the warmest {warmest:.1f} °C, {months} months have 10 °C or more; "
        f"the driest month of the warmer half year has {min(halves.summer):.0f} mm, of the colder {min(halves.winter):.0f} mm."
    )


def _tropical(rain: list[float]) -> str:
    if min(rain) >= 60:
        return "Af"
    return "Am" if min(rain) >= 100 - sum(rain) / 25 else "Aw"


def _dry_season(halves: _Halves) -> str:
    dry_summer = min(halves.summer) < 40 and min(halves.summer) < max(halves.winter) / 3
    dry_winter = min(halves.winter) < max(halves.summer) / 10
    if dry_summer and dry_winter:  # both can hold; the half year with less rain is the dry one
        return "s" if sum(halves.summer) < sum(halves.winter) else "w"
    return "s" if dry_summer else "w" if dry_winter else "f"


def _summer(temperatures: list[float]) -> str:
    if max(temperatures) >= 22:
        return "a"
    if sum(t >= 10 for t in temperatures) >= 4:
        return "b"
    return "d" if min(temperatures) < -38 else "c"
