"""From an Altair chart to the specification a page carries: our manners, its description, its width."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from reports.page import Specification
from reports.theme import chart_config

if TYPE_CHECKING:
    import altair as alt

TIMES_LABEL = (
    "datum.value == 0.25 ? '¼×' : datum.value == 0.5 ? '½×' : "
    "floor(datum.value) == datum.value ? datum.value + '×' : datum.value - floor(datum.value) == 0.5 ? "
    "floor(datum.value) + '½×' : datum.value + '×'"
)


def data(rows: Sequence[Mapping[str, object]]) -> alt.InlineData:
    """Rows set inside the specification, numbers cut to five significant digits."""
    import altair as alt

    return alt.InlineData(values=[{name: _short(value) for name, value in row.items()} for row in rows])


def finished(chart: alt.TopLevelMixin, description: str, height: int) -> Specification:
    """The specification as a plain value: as wide as its column, described for those who can't see it."""
    spec: Specification = chart.to_dict()
    spec |= {"width": "container", "height": height, "description": description}
    spec["autosize"] = {"type": "fit-x", "contains": "padding", "resize": False}
    spec["config"] = chart_config()
    return spec


def times_ticks(top: float) -> list[float]:
    """Tick marks of a linear axis in times as fast, up to `top`."""
    step = next((step for step in (0.5, 1.0, 2.0, 5.0, 10.0) if top / step <= 7), 20.0)
    ticks = [step * number for number in range(1, int(top / step) + 1)]
    return sorted({0.5, 1.0, *ticks} if step <= 1 else {1.0, *ticks})


def _short(value: object) -> object:
    return float(f"{value:.5g}") if isinstance(value, float) else value
