"""The sheet that a filled form makes for the person at it: pots go on from what is known of their series, and a mended
series keeps what the form has no field for."""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.desk.mending import series_form
from pipeline.desk.mending.own_runs import own_runs
from pipeline.desk.sheets import bench_form
from pipeline.desk.web.desk import Desk
from pipeline.desk.web.refusals import NotHereError, RefusedError
from pipeline.desk.web.visitor import Visitor
from schemas.trade.labels import same_label


def form_sheet(desk: Desk, visitor: Visitor, fields: Mapping[str, str]) -> tuple[bytes, int]:
    """The sheet, and how many earlier runs of the series leave without a successor in it. Slow: call it off the event
    loop."""
    if not fields.get("mends"):
        return bench_form.as_csv(fields, _known_pots(desk, visitor, fields)), 0
    runs = own_runs(desk, visitor.code or "", fields["mends"])
    shown = series_form.shown_of(runs, bench_form.first_shown(fields))
    if not shown:
        raise NotHereError()
    leaving = series_form.places_given_up(fields, shown)
    if leaving and len(shown) < len(runs):
        raise RefusedError(
            409,
            "This series is too long for that here",
            f"It has {len(runs)} pours, and the page shows {len(shown)} at a time: numbers can be mended, but mix, pot and "
            "pour have to stay, and no line can be emptied. Take the series as a sheet to change these. Nothing was changed.",
        )
    return series_form.as_csv(fields, shown, series_form.highest_pots(runs)), leaving


def _known_pots(desk: Desk, visitor: Visitor, fields: Mapping[str, str]) -> dict[str, int]:
    """The highest pot of each mix that was sent before under this label; nothing for who may not see that."""
    member, series = fields.get("member", ""), fields.get("series", "")
    if not (visitor.is_coordinator or same_label(visitor.code, member)) or not series:
        return {}
    return series_form.highest_pots(own_runs(desk, member, series))
