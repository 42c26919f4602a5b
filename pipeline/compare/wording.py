"""The sentences of a recommendation: ratios, frequencies and counts in plain words, faster or slower, never better."""

from __future__ import annotations

import math

from schemas.trade.verdicts import THESE_CLUBS

BASE_WORDS = {
    "sphagnum_peat": "straight sphagnum peat",
    "coir": "straight coir",
    "long_fibre_sphagnum": "straight long-fibre sphagnum",
    "other": "the straight base",
}
DOTS = 20
MORE_ALIKE_THAN_POTS = "The tests agree more closely than pots repeat; the range is not to be trusted."


def two_figures(value: float) -> str:
    """A positive number in two significant figures, without exponent: 1.6, 0.85, 12."""
    if value <= 0 or not math.isfinite(value):
        return "0"
    digits = max(0, 1 - math.floor(math.log10(value)))
    return f"{value:.{digits}f}"


def ratio_words(ratio: float) -> str:
    """`1.6 times as fast`."""
    return f"{two_figures(ratio)} times as fast"


def percent_words(share: float) -> str:
    """`40 %`, `33.3 %`."""
    return f"{share:g} %"


def in_twenty(probability: float) -> str:
    """`about 17 of 20`, never certain."""
    count = min(max(round(probability * DOTS), 0), DOTS)
    if count == DOTS:
        return f"nearly all of {DOTS}"
    return f"hardly any of {DOTS}" if count == 0 else f"about {count} of {DOTS}"


def assurance_words(assurance: float) -> str:
    """`4 of 5`, `9 of 10`, otherwise out of twenty or a hundred."""
    for whole in (5, 10, 20, 100):
        count = assurance * whole
        if abs(count - round(count)) < 1e-9:
            return f"{round(count)} of {whole}"
    return f"{100 * assurance:g} of 100"


def newcomer(scope: str, plural: bool = True) -> str:
    """Whom a prediction is for."""
    if scope == THESE_CLUBS:
        return "other growers in these clubs" if plural else "another grower in these clubs"
    return "new growers" if plural else "a new grower"


def owner(scope: str) -> str:
    """`new growers'` tests, or those of other growers in these clubs."""
    return "tests by other growers in these clubs" if scope == THESE_CLUBS else "new growers' tests"


def component_words(component: str, grade: str | None) -> str:
    """`medium perlite`, `fine bark`."""
    name = component.replace("_", " ")
    return f"{grade} {name}" if grade else name


def counts_words(members: int, series: int, pots: int) -> str:
    """`9 growers, 14 series, 84 pots`."""
    return f"{counted(members, 'grower')}, {series} series, {counted(pots, 'pot')}"


def counted(number: int, word: str) -> str:
    """`1 grower`, `4 growers`."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
