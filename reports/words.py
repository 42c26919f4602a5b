"""Numbers into growers' words: one ladder, one direction (faster), counts as growers, series and runs.

Every page takes its wording from here, so the same number always reads the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from schemas.results.whole import ResultsValue
from schemas.trade import verdicts
from schemas.trade.parts import parts_of


@dataclass(frozen=True)
class Compared:
    """What is compared with what, and for whom: the component's code, the reference in words, the scope."""

    component: str
    reference: str
    scope: str


MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
SMALL_NUMBERS = [
    "none",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
]
TIED = "\u00a0"
"""Between a figure and its unit, so that no line ends there."""
NEAR_ONE = (0.995, 1.095)
"""Between these a third figure is told, since here the side of 1 matters most."""
MEMBERS_FOR_WORDS = 5
MEMBERS_FOR_STRONG_WORDS = 8


def two_figures(value: float) -> str:
    """A ratio: two significant figures without an exponent, three from 1 to 1.1: 1.6, 0.83, 1.04, 12, 140."""
    return f"{value:.2f}" if NEAR_ONE[0] <= value < NEAR_ONE[1] else quantity(value)


def quantity(value: float) -> str:
    """A volume or a rate: two significant figures without an exponent."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "–"
    digits = max(0, 1 - math.floor(math.log10(abs(value))))
    rounded = round(value, 1 - math.floor(math.log10(abs(value))))
    # 9.97 rounds up to 10.0: one digit fewer is wanted then
    digits = max(0, 1 - math.floor(math.log10(abs(rounded))))
    return f"{rounded:.{digits}f}"


def setting_number(value: float) -> str:
    """A number the club chose, as it was written: 1.25, 40."""
    return f"{value:g}"


def percent(share: float) -> str:
    """A share in percent by volume: 40 %, 33.3 %."""
    return f"{share:g} %"


def mix(share: float) -> str:
    """A share with its parts, base first, where whole parts give it: 40 % (3:2), 37 %."""
    parts = parts_of(share)
    return f"{percent(share)} ({parts})" if parts else percent(share)


def times_as_fast(ratio: float) -> str:
    """1.6 times as fast; 'as fast' where the figures read 1.00."""
    return "as fast" if two_figures(ratio) == "1.00" else f"{two_figures(ratio)} times as fast"


def as_straight(base: str) -> str:
    """The thing compared with: 'straight peat' for peat, else 'straight coir' and so on."""
    return {"sphagnum_peat": "straight peat", "other": "the straight base"}.get(
        base, f"straight {plain(base)}"
    )


def plain(code: str) -> str:
    """A code of the vocabulary as words: silica_sand as silica sand."""
    return code.replace("_", " ")


def between(low: float, high: float) -> str:
    """Two ends of a range: 1.1 to 1.9."""
    return f"{two_figures(low)} to {two_figures(high)}"


def count(number: int, noun: str, plural: str | None = None) -> str:
    """9 growers, 1 grower; words up to no letter twelve are left to `number_word`."""
    return f"{number:,} {noun if number == 1 else plural or noun + 's'}".replace(",", "\u202f")


def number_word(number: int) -> str:
    """Small whole numbers as words, for sentences that begin with one."""
    return SMALL_NUMBERS[number] if 0 <= number < len(SMALL_NUMBERS) else str(number)


def who(members: int, series: int, runs: int | None = None) -> str:
    """9 growers, 14 series, 84 runs."""
    parts = [count(members, "grower"), count(series, "series", "series")]
    if runs is not None:
        parts.append(count(runs, "run"))
    return ", ".join(parts)


def out_of_twenty(probability: float) -> str:
    """A probability as a frequency that doesn't claim more than twenty dots can show."""
    if probability >= 0.975:
        return "at least 19 of 20"
    if probability <= 0.025:
        return "fewer than 1 of 20"
    return f"about {max(1, min(19, round(20 * probability)))} of 20"


def twentieths(chance: float | None) -> str:
    """The figure of `out_of_twenty` alone, for columns headed of 20; a dash where it is not known."""
    return "–" if chance is None else out_of_twenty(chance).removeprefix("about ").removesuffix(" of 20")


def ladder(p_faster: float | None, members: int) -> str:
    """The fixed ladder for a new grower's test. Under 5 growers: no word of it ('too few growers to
    say'); with 5 to 7 growers never stronger than 'may'."""
    if p_faster is None or members < MEMBERS_FOR_WORDS:
        return "too few growers to say"
    slower = p_faster < 0.5
    sure = 1.0 - p_faster if slower else p_faster
    direction = "slower" if slower else "faster"
    if sure < 0.65:
        return "we cannot tell yet"
    if sure < 0.80 or members < MEMBERS_FOR_STRONG_WORDS:
        return f"may drain {direction}"
    return f"probably drains {direction}" if sure < 0.95 else f"drains {direction}"


def average_sentence(ratio: float, low: float, high: float) -> str:
    """What the average over growers is known to be, judged by its interval against 1."""
    span = f"({between(low, high)})"
    if low > 1:
        return f"On average it drains {times_as_fast(ratio)} {span}: faster."
    if high < 1:
        return f"On average it drains {times_as_fast(ratio)} {span}: slower."
    return f"On average {times_as_fast(ratio)} {span}: the average could lie on either side."


def newcomer(scope: str) -> str:
    """Whom a prediction is for, possessive: a new grower, or another grower in these clubs."""
    return "another grower in these clubs" if scope == "these clubs" else "a new grower"


def rough(words: str, members: int) -> str:
    """A band's name, marked where too few growers stand behind it."""
    return words if members >= MEMBERS_FOR_WORDS else f"{words} (very rough)"


def newcomers(scope: str) -> str:
    """The plural of `newcomer`, possessive."""
    return "other growers’ tests in these clubs" if scope == "these clubs" else "new growers’ tests"


def ruled_out(low: float, high: float, scope: str) -> str:
    """What a new grower's range leaves as unlikely; said wherever the verdict is 'cannot tell'."""
    return (
        f"unlikely in a test by {newcomer(scope)}: under {two_figures(low)} times, "
        f"or over {two_figures(high)} times as fast"
    )


def verdict(word: str, target: float) -> str:
    """A verdict of `results.json` in the words of the verdict table."""
    return {
        verdicts.CLEARS: f"at least {setting_number(target)} times as fast",
        verdicts.FALLS_SHORT: f"falls short of {setting_number(target)} times",
        verdicts.UNDECIDED: "not decided",
        verdicts.TOO_FEW: "too few growers",
    }[word]


def short_verdict(word: str, target: float) -> str:
    """The same in two or three words, for a narrow column."""
    return {
        verdicts.CLEARS: f"reaches {setting_number(target)}×",
        verdicts.FALLS_SHORT: "falls short",
        verdicts.UNDECIDED: "not decided",
        verdicts.TOO_FEW: "too few growers",
    }[word]


def time_words(minutes: float) -> str:
    """A drain time as a person says it: seconds below five minutes (2 min 25 s), half minutes below ten (7½ min), whole
    ones after, hours from 100 minutes on (2 h 20 min)."""
    seconds = max(5, 5 * math.floor(minutes * 12 + 0.5))
    if seconds < 300:
        whole, rest = divmod(seconds, 60)
        return " ".join(
            filter(None, (f"{whole}{TIED}min" if whole else "", f"{rest}{TIED}s" if rest else ""))
        )
    if minutes < 9.75:
        whole, half = divmod(math.floor(minutes * 2 + 0.5), 2)
        return f"{whole}{'½' if half else ''}{TIED}min"
    if minutes < 99.5:
        return f"{math.floor(minutes + 0.5)}{TIED}min"
    hours, rest = divmod(10 * math.floor(minutes / 10 + 0.5), 60)
    return f"{hours}{TIED}h {rest}{TIED}min" if rest else f"{hours}{TIED}h"


def month_name(month: str) -> str:
    """2026-05 as May 2026."""
    year, number = month.split("-")[:2]
    return f"{MONTHS[int(number) - 1]} {year}"


def received_up_to(results: ResultsValue) -> str:
    """What a month covers: '31 May 2026'; of a corrected edition also when it was corrected."""
    if int(results["edition"]) == 1:
        return day(str(results["as_of"]))
    return f"the end of {month_name(str(results['month']))}, corrected {day(str(results['as_of']))}"


def day(moment: str) -> str:
    """2026-05-31T23:59:59Z as 31 May 2026."""
    year, number, date = moment[:10].split("-")
    return f"{int(date)} {MONTHS[int(number) - 1]} {year}"


def listed(words: Iterable[str], last: str = "and") -> str:
    """a, b and c."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def parts_phrase(parts: str, base: str, component: str) -> str:
    """3:2 as '3 parts peat to 2 parts perlite'."""
    base_parts, component_parts = parts.split(":")
    base_name = "peat" if base == "sphagnum_peat" else plain(base)
    return (
        f"{count(int(base_parts), 'part')} {base_name} to "
        f"{count(int(component_parts), 'part')} {plain(component)}"
    )


def capital(sentence: str) -> str:
    """First letter large, the rest untouched."""
    return sentence[:1].upper() + sentence[1:]
