"""A member's own result in words: the same lines in the text receipt and at the desk."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from reports.words import as_straight, count, listed, percent, plain, quantity, times_as_fast, two_figures
from schemas.receipt import OwnRatio, PotRate, SeriesResult
from schemas.trade.amounts import amount_in_words
from schemas.trade.headline import FRESH_POUR

HEADING = "Your own result, before the month, in ml a minute from each litre of mix:"
MOST_SERIES = 6
MOST_POTS = 6
NO_BASE = "No straight base in this series, so nothing to set it beside."
NO_FRESH_BASE = (
    "No pot of straight base that was freshly filled and ran to its end, so nothing to set the mixes beside."
)
STOPPED_BASE = "The clock was stopped while straight base still dripped: it is slower than that, and a ratio can’t be given."
Row = Mapping[str, Any]


@dataclass(frozen=True)
class SeriesText:
    """One series in words: its title, the day of its last test, and a line for each mix and each note."""

    title: str
    tested_on: str
    lines: tuple[str, ...]


def series_texts(results: Sequence[SeriesResult]) -> list[SeriesText]:
    """The first few series of a sheet in words; the arithmetic stands under the first."""
    several = len({result["member"] for result in results}) > 1
    return [
        SeriesText(
            _title(result, several), result["tested_on"], tuple(_lines(result, with_arithmetic=place == 0))
        )
        for place, result in enumerate(results[:MOST_SERIES])
    ]


def receipt_lines(results: Sequence[SeriesResult]) -> list[tuple[int, str]]:
    """The section of a text receipt: depth (0 the heading, 1 a series, 2 its lines) and text; nothing without a run."""
    if not results:
        return []
    lines = [(0, HEADING)]
    for text in series_texts(results):
        lines += [(1, text.title), *((2, line) for line in text.lines)]
    more = not_shown(results)
    return [*lines, (1, f"{more}: drainpool check --format json has them all.")] if more else lines


def not_shown(results: Sequence[SeriesResult]) -> str:
    """How many series beyond the first few there are; blank where there are none."""
    more = len(results) - MOST_SERIES
    return f"{more} more series, not shown here" if more > 0 else ""


def arithmetic(row: Row) -> str:
    """How a rate is worked out, to be checked by hand: `235 ml in 3 min 25 s from 1.8 l: 38 ml a minute per litre`."""
    collected, pot = (
        amount_in_words(float(f"{row[name]:.4g}"), "ml") for name in ("collected_ml", "pot_volume_ml")
    )
    time = amount_in_words(float(f"{row['drain_time_s']:.6g}"), "s")
    return f"{collected} in {time} from {pot}: {quantity(row['rate_ml_min_l'])} ml a minute per litre"


def notes(rows: Sequence[Row], shares_with_ratio: set[float]) -> list[str]:
    """Sentences on what has no ratio, and why. `rows`: the runs of one series with `in_headline` and `apart`."""
    sentences = [sentence] if (sentence := _about_base(rows)) else []
    fresh = [row for row in rows if row["in_headline"] and row["pour_no"] == FRESH_POUR]
    stopped = _shares(fresh, "stopped", shares_with_ratio)
    if stopped and not sentences:
        sentences.append(f"{stopped}: the clock was stopped while it still dripped, so no ratio is given.")
    dry = _shares(rows, "ran_dry", set())
    if dry:
        sentences.append(f"{dry}: ran dry, the mix kept the water; such a pour has no rate.")
    apart = Counter(row["apart"] for row in rows if row["apart"] is not None)
    sentences += [
        f"{count(pours, 'pour')} counted apart, without a ratio: {label}." for label, pours in apart.items()
    ]
    return sentences


def _about_base(rows: Sequence[Row]) -> str:
    """Why there is nothing to set the mixes beside; blank where there is, and in a series of straight base alone."""
    base = [row for row in rows if row["component_share"] == 0]
    if not base:
        return NO_BASE
    if len(base) == len(rows):
        return ""
    fresh = [row for row in base if row["in_headline"] and row["pour_no"] == FRESH_POUR]
    if any(row["ended"] == "stopped" for row in fresh):
        return STOPPED_BASE
    return "" if any(row["ended"] == "reached" for row in fresh) else NO_FRESH_BASE


def _shares(rows: Sequence[Row], ended: str, but: set[float]) -> str:
    shares = sorted({row["component_share"] for row in rows if row["ended"] == ended} - but)
    return listed(percent(share) for share in shares)


def _title(result: SeriesResult, with_member: bool) -> str:
    label = f"{result['member']}, {result['series']}" if with_member else result["series"]
    return f"{label}: {plain(result['component'])}" if result["component"] else label


def _lines(result: SeriesResult, with_arithmetic: bool) -> Iterator[str]:
    by_share: dict[float, list[PotRate]] = {}
    for pot in result["pots"]:
        by_share.setdefault(pot["share"], []).append(pot)
    ratios = {ratio["share"]: ratio for ratio in result["ratios"]}
    for share, pots in by_share.items():
        pieces = [_rates(pots)]
        if share in ratios:
            pieces.append(_ratio(ratios[share], result["base"]))
        yield f"{percent(share)}: {'; '.join(pieces)}"
    if result["repeat_factor"] is not None:
        yield f"Between two pots of one mix: a factor of {_factor(result['repeat_factor'])} at most."
    if with_arithmetic and result["by_hand"]:
        yield f"By hand: {result['by_hand']}."
    yield from result["notes"]


def _rates(pots: Sequence[PotRate]) -> str:
    """29, 28; poured again 21, under 3.3."""
    fresh = [_rate(pot) for pot in pots if pot["pour"] == FRESH_POUR]
    later = [_rate(pot) for pot in pots if pot["pour"] != FRESH_POUR]
    pieces = [_some(fresh)] if fresh else []
    pieces += [f"poured again {_some(later)}"] if later else []
    return "; ".join(pieces)


def _some(rates: Sequence[str]) -> str:
    more = len(rates) - MOST_POTS
    return ", ".join([*rates[:MOST_POTS], *([f"{more} more"] if more > 0 else [])])


def _rate(pot: PotRate) -> str:
    if pot["rate_ml_min_l"] is not None:
        return quantity(pot["rate_ml_min_l"])
    return (
        "ran dry"
        if pot["slower_than_ml_min_l"] is None
        else f"under {two_figures(pot['slower_than_ml_min_l'])}"
    )


def _ratio(ratio: OwnRatio, base: str) -> str:
    words = f"{times_as_fast(ratio['ratio'])} as your {as_straight(base)}"
    others = ratio["others"]
    if others is None:
        return words
    return f"{words} ({others['less']} of {count(others['members'], 'other grower')} found less)"


def _factor(factor: float) -> str:
    """1.07; two figures from 2 up."""
    return f"{factor:.2f}" if factor < 2 else two_figures(factor)
