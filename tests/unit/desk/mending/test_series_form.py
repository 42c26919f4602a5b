"""A series goes into the form and out again: what was not touched stays, columns without a field too."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from pipeline.desk.mending.series_form import (
    as_csv,
    as_fields,
    cells_of,
    clock,
    highest_pots,
    in_order,
    place_text,
    places_given_up,
    shown_of,
    varying,
)
from pipeline.desk.sheets.bench_form import MOST_POURS
from pipeline.jobs.receiving.checking import check_batch
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.settings import Settings
from tests.story.sheets import BASELINE, PLAIN, sheet_text

TODAY = date(2026, 6, 1)
MORE = {
    "base": "coir", "pot_top_diameter": "13 cm", "pot_base_diameter": "10 cm", "fill_depth": "9.6 cm", "hardiness_zone": "8b",
    "growing_place": "indoors", "sieved": "yes", "component_min_size": "2 mm", "component_max_size": "4 mm", "drain_holes": "4",
    "hole_size": "8 mm", "pour_time": "8 s", "rest_before": "1 days", "taps": "5", "peat_type": "fine", "top_layer": "none",
    "planted": "no", "round": "may-day", "peat_lot": "p12", "component_lot": "c7", "mix_age": "2 months", "run_order": "3",
    "water_temp": "64.4 °F", "pre_wetted": "yes", "hole_cover": "mesh", "measured_by": "loose", "club": "club-3", "notes": "by the “window”, twice",
}  # fmt: skip


def accepted(content: bytes | str) -> list[dict[str, Any]]:
    raw = content.encode() if isinstance(content, str) else content
    checked = check_batch([Sheet("a.csv", raw)], Settings(), TODAY)
    assert checked.files["held"].to_list() == [0], checked.problems.to_dicts()
    runs = checked.accepted.drop("file_id", "submission", "sheet_row").to_dicts()
    return [dict(run) for run in in_order(runs)]


def series(*changes: dict[str, str]) -> list[dict[str, Any]]:
    return accepted(
        sheet_text([{**MORE, **BASELINE}, *({**MORE, **PLAIN, **change} for change in changes or ({},))])
    )


def same(before: list[dict[str, Any]], after: list[dict[str, Any]], but: tuple[str, ...] = ()) -> bool:
    """The same runs, numbers to the last digits that binary fractions keep."""
    assert len(before) == len(after)
    for one, other in zip(before, after, strict=True):
        for name, value in one.items():
            if name in but:
                continue
            if isinstance(value, float):
                assert math.isclose(value, other[name], rel_tol=1e-12), (name, value, other[name])
            else:
                assert value == other[name], (name, value, other[name])
    return True


def test_a_series_that_nobody_touched_comes_out_as_it_went_in() -> None:
    runs = series(
        {"pot_no": "2"},
        {"tested_on": "2026-03-20", "pot_no": "3", "ended": "stopped", "drain_time": "75:00.5"},
    )
    assert same(runs, accepted(as_csv(as_fields(runs), runs, {})))


@given(
    seconds=st.floats(61, 3000).map(lambda value: round(value, 4)),
    poured=st.floats(300, 330).map(lambda value: round(value, 6)),
    taps=st.integers(0, 40),
)
def test_any_number_survives_the_form(seconds: float, poured: float, taps: int) -> None:
    runs = series()
    runs = [{**run, "drain_time_s": seconds, "poured_ml": poured, "taps": taps} for run in runs]
    assert same(runs, accepted(as_csv(as_fields(runs), runs, {})))


def test_one_number_is_mended_and_everything_else_stays() -> None:
    runs = series({"pot_no": "2"}, {"pot_no": "3", "peat_lot": "p13"})
    fields = as_fields(runs)
    at = next(at for at in (1, 2, 3) if fields[f"pot_{at}"] == "3")
    mended = accepted(as_csv({**fields, f"time_{at}": "3:33"}, runs, {}))
    assert mended[at - 1]["drain_time_s"] == 213.0 and mended[at - 1]["peat_lot"] == "p13"
    assert same(runs[: at - 1] + runs[at:], mended[: at - 1] + mended[at:])


def test_what_is_asked_once_and_differs_stays_with_each_until_something_is_typed() -> None:
    runs = series({"pot_no": "2", "start_moisture": "soaked", "pour_no": "2"})
    assert {"start_moisture"} <= varying(runs) and "start_moisture" not in as_fields(runs)
    assert same(runs, accepted(as_csv(as_fields(runs), runs, {})))
    wet = accepted(as_csv({**as_fields(runs), "start_moisture": "soaked"}, runs, {}))
    assert {run["start_moisture"] for run in wet} == {"soaked"}


def test_member_and_label_stay_whatever_the_form_says() -> None:
    runs = series()
    mended = accepted(as_csv({**as_fields(runs), "member": "other-1", "series": "other"}, runs, {}))
    assert same(runs, mended)


def test_an_added_line_takes_what_all_runs_agree_on_and_the_next_pot() -> None:
    runs = series({"pot_no": "2"})
    fields = {**as_fields(runs), "pours": "4", "mix_4": "40", "time_4": "3:11"}
    added = next(run for run in accepted(as_csv(fields, runs, {"40.0": 7})) if run["pot_no"] == 8)
    assert (added["drain_time_s"], added["base"], added["taps"], added["run_order"]) == (
        191.0,
        "coir",
        5,
        None,
    )


def test_places_given_up_are_counted() -> None:
    runs = series({"pot_no": "2"})
    fields = as_fields(runs)
    assert places_given_up(fields, runs) == 0
    assert places_given_up({**fields, "time_1": "9:59"}, runs) == 0
    assert places_given_up({**fields, "mix_2": "50"}, runs) == 1
    emptied = {**fields, **{f"{name}_2": "" for name in ("mix", "pot", "pour", "time")}}
    assert places_given_up(emptied, runs) == 1
    assert len(accepted(as_csv(emptied, runs, {}))) == 1


def test_long_series_are_shown_page_by_page() -> None:
    runs = [{**series()[0], "pot_no": pot} for pot in range(1, 2 * MOST_POURS)]
    pages = shown_of(runs, 1), shown_of(runs, 1 + MOST_POURS), shown_of(runs, 1 + 2 * MOST_POURS)
    assert [len(shown) for shown in pages] == [MOST_POURS, MOST_POURS - 1, 0]
    assert len({place_text(run) for shown in pages for run in shown}) == len(runs)
    assert highest_pots(runs) == {"0.0": 2 * MOST_POURS - 1}


def test_numbers_stand_with_their_unit() -> None:
    cells = cells_of(series()[0])
    assert (cells["pot_volume"], cells["mix_age"], cells["rest_before"], cells["component_share"]) == (
        "1000 ml",
        "60 days",
        "24 h",
        "0",
    )


def test_times_are_told_as_a_stopwatch_tells_them() -> None:
    assert [clock(value) for value in (205.0, 205.5, 4.0, 4500.0, 12.345)] == [
        "3:25",
        "3:25.5",
        "0:04",
        "75:00",
        "12.3450 s",
    ]
