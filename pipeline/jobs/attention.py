"""What needs a human, sorted by how far it moves the answer; each with a question ready to send.

Two kinds: series that pull the average of a share, and rows that wait to be mended. The pull is the change of
the plain average over growers (each grower's series averaged first, on the log scale) when the series is left out:
a quick look for sorting, not the pooled model. Arithmetic: this project's own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from statistics import fmean, median
from textwrap import fill

import polars as pl

from pipeline.jobs.own_result.contrasts import fresh_contrasts
from pipeline.jobs.pool_view import view
from pipeline.jobs.receiving.checking import pool_settings
from reports.words import day, percent, plain, two_figures
from schemas.trade.labels import label_key
from schemas.trade.slips import CUP, SLIPS, nearest_slip

FEWEST_GROWERS = 4
ODD_SPREADS, NOTABLE_SPREADS = 3.5, 1.5
SMALLEST_SPREAD = 0.2
WORTH_A_LOOK = 0.05
MOST_LISTED = 40
DAYS_TO_ANSWER = 14
LETTER_WIDTH = 72
SAME_FACTOR = 0.12


@dataclass(frozen=True)
class Matter:
    """One thing for the coordinator. `effect`: part by which the answer would move, 0-1; `question`: ready to send."""

    kind: str
    member: str
    series: str
    title: str
    detail: str
    question: str
    effect: float


@dataclass(frozen=True)
class _Dot:
    member: str
    series: str
    effect: float


def matters(contrasts: pl.DataFrame, held: pl.DataFrame, runs_in_force: int) -> list[Matter]:
    """Everything that needs a look, the largest effect first. `contrasts` as `fresh_contrasts` gives them, `held` as
    `View.held`."""
    needing_a_look = [*odd_series(contrasts), *waiting_rows(held, runs_in_force)]
    return sorted(needing_a_look, key=lambda matter: (-matter.effect, matter.member, matter.series))[
        :MOST_LISTED
    ]


def matters_of(pool: Path) -> list[Matter]:
    """What needs a human in a pool, as the coordinator's room lists it."""
    seen = view(pool)
    return matters(fresh_contrasts(seen.runs, pool_settings(pool)), seen.held, seen.counts["runs"])


def letter(matter: Matter, answer_by: date) -> str:
    """The question of a matter as a whole letter, with the day to answer by and what silence means."""
    silence = (
        "Without an answer the runs stay in for now, and the coordinator may leave them out of the report."
        if matter.kind == "odd"
        else "Without an answer these rows stay out; everything else that you sent counts."
    )
    paragraphs = [
        f"Hello {matter.member or 'there'},",
        matter.question,
        f"Please answer by {day(answer_by.isoformat())}: write back, or answer under “My tests” at the desk. {silence}",
        "Thank you for your tests.",
    ]
    return "\n\n".join(fill(paragraph, LETTER_WIDTH) for paragraph in paragraphs) + "\n"


def odd_series(contrasts: pl.DataFrame) -> list[Matter]:
    """Series whose ratio stands far from the others' at a share, or pulls the average there."""
    matters_by_series: dict[tuple[str, str], Matter] = {}
    if contrasts.is_empty():
        return []
    fresh = contrasts.sort("component", "component_share", "member", "series")
    for key, rows in fresh.group_by("component", "component_share", maintain_order=True):
        dots = [_Dot(row["member"], row["series"], row["effect"]) for row in rows.iter_rows(named=True)]
        for matter in _odd_at(str(key[0]), float(str(key[1])), dots):
            name = (matter.member, matter.series)
            if name not in matters_by_series or matters_by_series[name].effect < matter.effect:
                matters_by_series[name] = matter
    return list(matters_by_series.values())


def _odd_at(component: str, share: float, dots: Sequence[_Dot]) -> list[Matter]:
    if len({dot.member for dot in dots}) < FEWEST_GROWERS:
        return []
    middle = median(dot.effect for dot in dots)
    spread = max(1.4826 * median(abs(dot.effect - middle) for dot in dots), SMALLEST_SPREAD)
    average = _average(dots)
    odd = []
    for dot in dots:
        without = _average([other for other in dots if other is not dot])
        pull = abs(math.expm1(average - without))
        away = abs(dot.effect - middle) / spread
        if away > ODD_SPREADS or (away > NOTABLE_SPREADS and pull > WORTH_A_LOOK):
            odd.append(_odd(component, share, dot, (middle, average, without), pull))
    return odd


def _average(dots: Sequence[_Dot]) -> float:
    members: dict[str, list[float]] = {}
    for dot in dots:
        members.setdefault(dot.member, []).append(dot.effect)
    return fmean(fmean(effects) for effects in members.values()) if members else 0.0


def _odd(component: str, share: float, dot: _Dot, levels: tuple[float, float, float], pull: float) -> Matter:
    middle, average, without = (math.exp(level) for level in levels)
    ratio = math.exp(dot.effect)
    mix = f"{percent(share)} {plain(component)}"
    slip = _slip(dot.effect - levels[0])
    question = (
        f"Your series “{dot.series}”: at {mix} we read {two_figures(ratio)} times as fast as your own straight base; the middle of all growers is "
        f"{two_figures(middle)}. {slip}We may well be the ones who are wrong, and a slow or fast pot may be true: did it really happen like that, or should a number be mended?"
    )
    return Matter(
        "odd",
        dot.member,
        dot.series,
        f"{mix}: {two_figures(ratio)} times as fast",
        f"The plain average of all growers there is {two_figures(average)}; without this series {two_figures(without)}. {slip}".strip(),
        question,
        pull,
    )


def _slip(distance: float) -> str:
    slip = nearest_slip(distance, SAME_FACTOR, (slip for slip in SLIPS if slip.kind != CUP))
    if slip is None:
        return ""
    return f"It would be normal if a time or a volume were {slip.times} {'larger' if distance > 0 else 'smaller'}. "


def waiting_rows(held: pl.DataFrame, runs_in_force: int) -> list[Matter]:
    """Rows that wait to be mended, by member and series; their effect is their part of all rows."""
    if held.is_empty():
        return []
    waiting = held.filter("waits").with_columns(pl.col("member", "series").fill_null(""))
    waiting_matters = []
    for key, rows in waiting.group_by("member", "series", maintain_order=True):
        lines = [str(row) for row in rows["sheet_row"].drop_nulls().to_list()]
        first = _shortened(str(rows["message"][0]))
        where = f"row {', '.join(lines[:8])}{' …' if len(lines) > 8 else ''}" if lines else "the whole sheet"
        member, series = (str(part) for part in key)
        waiting_matters.append(
            Matter(
                "held",
                member,
                series,
                f"{rows.height} held: {where}",
                first,
                f"In your sheet “{rows['file'][0] or 'sheet'}” ({where}) something keeps {'these rows' if rows.height > 1 else 'a row'} out: {first} "
                "Send the mended rows again whenever you like; nothing is counted twice.",
                rows.height / max(1, rows.height + runs_in_force),
            )
        )
    return waiting_matters


def _shortened(text: str, longest: int = 300) -> str:
    """The text, cut behind a whole word where it is too long."""
    return text if len(text) <= longest else text[: longest - 1].rsplit(" ", 1)[0] + " …"


@dataclass(frozen=True)
class ListedMatter:
    """A matter, and what was decided or asked about its series already; "" where nothing was."""

    matter: Matter
    outcome: str


def with_outcomes(listed: Sequence[Matter], outcomes: Mapping[tuple[str, str], str]) -> list[ListedMatter]:
    """The matters, each with its outcome by the keys of member and series; those that have one go last."""
    rows = [
        ListedMatter(matter, outcomes.get((label_key(matter.member), label_key(matter.series)), ""))
        for matter in listed
    ]
    return sorted(rows, key=lambda row: bool(row.outcome))
