"""The run sheet: one row per pour of a potting mix."""

from __future__ import annotations

from schemas.column import Derived, Kept
from schemas.kinds.every_sheet import ORIGIN, SERIES_KEYS
from schemas.kinds.kind import SheetKind
from schemas.kinds.run_columns import RUN_COLUMNS
from schemas.kinds.run_details import RUN_DETAILS

_POT_VOLUME_COMPUTED = Derived(
    Kept(
        "pot_volume_computed",
        "flag",
        False,
        "",
        "True where the volume was computed from the inside lengths.",
    ),
    made_in="intake",
    after="pot_volume_ml",
)
_MARKS = (
    Derived(
        Kept(
            "part_marked",
            "flag",
            False,
            "",
            "True where collected is outside 40-60 % of poured: in no headline.",
        ),
        made_in="check",
    ),
    Derived(
        Kept(
            "unlike_pour",
            "flag",
            False,
            "",
            "True where poured or collected is unlike the series' own: no contrast.",
        ),
        made_in="check",
    ),
)

RUN = SheetKind(
    name="run",
    title="run sheet",
    row="pour",
    columns=(*RUN_COLUMNS, *RUN_DETAILS),
    derived=(*SERIES_KEYS, _POT_VOLUME_COMPUTED, *ORIGIN, *_MARKS),
    place=("component_share", "pot_no", "pour_no"),
    one_of=(("component_share",), ("parts",), ("base_parts", "component_parts")),
    conversions=("share", "pot_volume"),
    series_rules=(
        "changes_in_series",
        "pot_volume_changes",
        "unlike_pour",
        "varies_in_series",
        "time_unlike_series",
        "series_waits",
        "no_baseline",
    ),
    sentences={
        "place": "share, pot and pour",
        "number_one": "If it was another filling, give it the next pot_no; if it was a later pour of the same "
        "filling, the next pour_no.",
        "number_all": "If they are separate fillings, number them by pot_no 1, 2, 3 …; if one pot was poured "
        "again, by pour_no.",
    },
)
