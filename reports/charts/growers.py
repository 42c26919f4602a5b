"""Every grower's own result beside the pool's, ordered by ratio; codes only."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

import polars as pl

from reports.answer import Share
from reports.charts.spec import TIMES_LABEL, data, finished, times_ticks
from reports.page import ChartBlock, TableBlock, cell
from reports.theme import token
from reports.words import Compared, between, newcomer, percent, plain, rough, two_figures, who

if TYPE_CHECKING:
    import altair as alt

ROW_PX = 17
CODES_SHOWN = 60


@dataclass(frozen=True)
class Grower:
    """One grower's line: own ratio at the share, own 95 % range (None where one pot gives none), and how heavily the
    line is drawn, 0.35 to 1 by the square root of the number of pots."""

    member: str
    ratio: float
    low: float | None
    high: float | None
    series: int
    pots: int
    weight: float

    @property
    def own_range(self) -> str:
        """The range in words; a dash where there is none."""
        return "–" if self.low is None or self.high is None else between(self.low, self.high)


def growers_chart(name: str, members: pl.DataFrame, share: Share, compared: Compared) -> ChartBlock | None:
    """One line per grower at one share: own ratio, own 95 % range, number of pots; the two pooled bands
    behind. `members`: member, ratio, ratio_low, ratio_high, series, pots. Nothing where nobody measured it."""
    import altair as alt

    growers = _growers(members)
    if not growers:
        return None
    top = _top(growers, share)
    row_px = ROW_PX if len(growers) <= CODES_SHOWN else max(3, 1020 // len(growers))
    height = max(120, row_px * len(growers) + 20)
    layers = [
        *_bands(share, top),
        *_lines(growers, top),
        *_band_names(share, top, height, newcomer(compared.scope)),
    ]
    description = (
        f"{len(growers)} growers at {percent(share.share)} {plain(compared.component)}, slowest first: from "
        f"{two_figures(growers[0].ratio)} to {two_figures(growers[-1].ratio)} times as fast as their own {compared.reference}."
    )
    bands = (
        f" Upright bands: the average, and the range for {newcomer(compared.scope)}."
        if share.has_new_series
        else ""
    )
    return ChartBlock(
        name,
        description,
        finished(alt.layer(*layers), description, height),
        _table(growers, compared.reference),
        caption=f"Dot: a grower's own result. Line: its own range, 19 in 20.{bands} Faint: few pots.",
        min_height_px=height,
    )


def _growers(members: pl.DataFrame) -> list[Grower]:
    kept = members.drop_nulls(["ratio"]).sort("ratio", "member")
    pots = [int(value or 1) for value in kept["pots"]]
    most = max(pots, default=1)
    return [
        Grower(
            row["member"],
            row["ratio"],
            row["ratio_low"],
            row["ratio_high"],
            int(row["series"] or 0),
            count,
            0.35 + 0.65 * math.sqrt(count / most),
        )
        for row, count in zip(kept.iter_rows(named=True), pots, strict=True)
    ]


def _top(growers: list[Grower], share: Share) -> float:
    ends = [grower.high for grower in growers if grower.high is not None and grower.high < 4 * grower.ratio]
    band = [share.new_series[1]] if share.new_series and share.new_series[1] < 8 else []
    quarters: int = math.ceil(1.05 * 4 * max([1.6, *(grower.ratio for grower in growers), *ends, *band]))
    return quarters / 4


def _x(top: float, field: str, title: str | None = None) -> alt.X:
    import altair as alt

    return alt.X(
        f"{field}:Q",
        title=title,
        scale=alt.Scale(domain=[0, top], nice=False),
        axis=alt.Axis(values=times_ticks(top), labelExpr=TIMES_LABEL, orient="top", titlePadding=6),
    )


def _bands(share: Share, top: float) -> list[alt.Chart]:
    import altair as alt

    drawn = [
        alt.Chart(data([{"x": 1.0}])).mark_rule(color=token("ink"), strokeWidth=1.2).encode(x=_x(top, "x"))
    ]
    if share.has_new_series:
        for coverage in (0.95, 0.8, 0.5):
            low, high = share.new_series_range(coverage)
            band = alt.Chart(data([{"x": low, "h": min(high, top)}]))
            drawn.append(
                band.mark_rect(color=token("newgrower"), opacity=0.12, clip=True).encode(
                    x=_x(top, "x"), x2="h:Q"
                )
            )
    if share.ci:
        band = alt.Chart(data([{"x": share.ci[0], "h": min(share.ci[1], top)}]))
        drawn.append(
            band.mark_rect(color=token("average"), opacity=0.28, clip=True).encode(x=_x(top, "x"), x2="h:Q")
        )
    return drawn


def _band_names(share: Share, top: float, height: int, newcomer_words: str) -> list[alt.Chart]:
    """The bands' names, below the plot and under the band each names."""
    import altair as alt

    if not share.has_new_series or share.ratio is None:
        return []
    drawn = []
    for words, colour, down, x in (
        (rough("the average", share.members), "average", 14, share.ratio),
        (rough(newcomer_words, share.members), "newgrower", 32, share.ratio),
    ):
        base = alt.Chart(data([{"x": x, "t": words}])).encode(
            x=_x(top, "x"), y=alt.value(height + down), text="t:N"
        )
        drawn.append(base.mark_text(color=token(colour), fontWeight="bold", fontSize=14, clip=False))
    return drawn


def _lines(growers: list[Grower], top: float) -> list[alt.Chart]:
    import altair as alt

    order = [grower.member for grower in growers]
    rank = alt.Y(
        "member:N",
        sort=order,
        title=None,
        axis=alt.Axis(grid=False, labelLimit=110, labelFontSize=12, labelColor=token("ink"))
        if len(growers) <= CODES_SHOWN
        else None,
    )
    drawn_rows = [
        {
            **asdict(grower),
            "low": grower.ratio if grower.low is None else max(0.0, grower.low),
            "high": grower.ratio if grower.high is None else min(grower.high, top),
        }
        for grower in growers
    ]
    base = alt.Chart(data(drawn_rows)).encode(
        y=rank, opacity=alt.Opacity("weight:Q", scale=None, legend=None)
    )
    lines = base.mark_rule(color=token("ink"), strokeWidth=1.4, clip=True).encode(
        x=_x(top, "low"), x2="high:Q"
    )
    dots = base.mark_point(
        color=token("ink"), filled=True, size=52 if len(growers) <= CODES_SHOWN else 12, clip=True
    ).encode(x=_x(top, "ratio"))
    return [lines, dots]


def _table(growers: list[Grower], reference: str) -> TableBlock:
    return TableBlock(
        "Growers, slowest first",
        ("grower", f"times as fast as own {reference}", "own range, 19 in 20", "series", "pots"),
        tuple(
            (
                cell(grower.member),
                cell(two_figures(grower.ratio)),
                cell(grower.own_range),
                cell(str(grower.series)),
                cell(str(grower.pots)),
            )
            for grower in growers
        ),
        frozenset({1, 3, 4}),
        note=f"In all: {who(len(growers), sum(grower.series for grower in growers))}.",
    )
