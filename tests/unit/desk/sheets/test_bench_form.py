"""The page's form makes the CSV that a file would hold."""

from __future__ import annotations

import csv
import io
import math
import re
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.desk.sheets.bench_form import (
    MOST_POURS,
    OF_POUR,
    as_csv,
    as_fields,
    clock,
    field_names,
    how_many,
    mix_key,
)
from schemas.kinds.run import RUN

TEMPLATES = Path(__file__).resolve().parents[4] / "pipeline" / "desk" / "templates"
FIELDS = {
    "pours": "6",
    "member": "fen-07",
    "series": "bench, “A”",
    "tested_on": "2026-03-14",
    "climate_zone": "Cfb",
    "setup_type": "rack",
    "pot_volume": "1",
    "pot_volume_unit": "l",
    "component": "perlite",
    "component_grade": "medium",
    "poured": "3",
    "poured_unit": "cups",
    "collected": "350 ml",
    "collected_unit": "",
    "start_moisture": "moist",
    "mix_1": "0",
    "time_1": "5:10.5",
    "mix_2": "3+2",
    "time_2": "3:25",
    "mix_3": "3+2",
    "time_3": "3:40",
    "mix_5": "3+2",
    "pot_5": "1",
    "pour_5": "2",
    "time_5": "4:01",
    "ended_5": "stopped",
}


def rows(fields: dict[str, str]) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(as_csv(fields).decode())))


def test_lines_with_nothing_in_them_are_no_rows_and_fillings_count_by_themselves() -> None:
    found = rows(FIELDS)
    assert [(one["component_share"], one["parts"], one["pot_no"], one["pour_no"]) for one in found] == [
        ("0", "", "1", "1"),
        ("", "3+2", "1", "1"),
        ("", "3+2", "2", "1"),
        ("", "3+2", "1", "2"),
    ]
    assert found[3]["ended"] == "stopped"


def test_a_share_and_its_parts_are_one_mix() -> None:
    assert mix_key("3+2") == mix_key("40 %") == mix_key("40,0") == mix_key("3 to 2") == "40.0"
    assert mix_key("2:1") == "33.3"
    assert mix_key("half") == "half"


def test_units_are_those_chosen_and_never_guessed() -> None:
    found = rows(FIELDS)[0]
    assert (found["pot_volume"], found["poured"], found["collected"]) == ("1 l", "3 cups", "350 ml")
    bare = rows({**FIELDS, "poured_unit": ""})[0]
    assert bare["poured"] == "3"
    assert rows({**FIELDS, "poured_unit": "buckets"})[0]["poured"] == "3"


def test_the_sheet_passes_the_same_check_as_a_file() -> None:
    from pipeline.jobs.receiving.readings import check_and_read_back
    from pipeline.jobs.receiving.sheets import Sheet
    from pipeline.settings import Settings

    checked, readings = check_and_read_back([Sheet("form.csv", as_csv(FIELDS))], Settings(), date(2026, 6, 1))
    assert checked.files.row(0, named=True)["accepted"] == 4, checked.problems.to_dicts()
    told = {(one.column, one.typed): one.read for one in readings[0]}
    assert told[("poured", "3 cups")] == "709.7647095 ml"
    assert told[("drain_time", "3:25")] == "3 min 25 s"
    assert told[("parts", "3+2")] == "40 %"


def test_the_number_of_lines_stays_within_bounds() -> None:
    assert [how_many({"pours": typed}) for typed in ("", "x", "0", "7", "999", "99999", "²")] == [
        6,
        6,
        1,
        7,
        MOST_POURS,
        6,
        6,
    ]
    assert len(set(field_names(3))) == len(field_names(3))


def accepted(fields: dict[str, str]) -> list[dict[str, Any]]:
    from pipeline.jobs.receiving.readings import check_and_read_back
    from pipeline.jobs.receiving.sheets import Sheet
    from pipeline.settings import Settings

    checked, _ = check_and_read_back([Sheet("form.csv", as_csv(fields))], Settings(), date(2026, 6, 1))
    return checked.accepted.drop("file_id", "submission").to_dicts()


def test_a_series_of_the_pool_goes_into_the_form_and_out_again_unchanged() -> None:
    first = accepted({**FIELDS, "water_temp": "64.4", "water_temp_unit": "°F", "notes": "by the “window”"})
    fields = as_fields(first)
    assert fields is not None
    assert (fields["time_1"], fields["poured_unit"], fields["ended_4"]) == ("5:10.5", "ml", "stopped")
    again = accepted(fields)
    for before, after in zip(first, again, strict=True):
        assert close(before, after)


def close(before: dict[str, Any], after: dict[str, Any]) -> bool:
    """The same run, numbers to nine figures."""
    for name, value in before.items():
        if isinstance(value, float):
            assert math.isclose(value, after[name], rel_tol=1e-9), name
        else:
            assert value == after[name], name
    return True


def test_a_series_that_the_form_would_cut_short_is_mended_as_a_sheet() -> None:
    runs = accepted(FIELDS)
    assert as_fields([{**run, "taps": 5} for run in runs]) is None
    assert as_fields([{**run, "base": "coir"} for run in runs]) is None
    assert as_fields([{**runs[0], "poured_ml": 1.0}, *runs[1:]]) is None
    assert as_fields([]) is None
    assert as_fields(runs * 20) is None


def test_times_are_told_as_a_stopwatch_tells_them() -> None:
    assert [clock(value) for value in (205.0, 205.5, 4.0, 4500.0, 12.345)] == [
        "3:25",
        "3:25.5",
        "0:04",
        "75:00",
        "12.345 s",
    ]


def test_the_form_has_the_columns_of_the_record_and_no_others() -> None:
    """The template's fields, each with the way to fill it in that the record gives its column."""
    template = (TEMPLATES / "fill.html").read_text(encoding="utf-8")
    placed = re.findall(r'{{ (text|measure|choose)\("(\w+)"', template)
    record = [
        ("choose" if column.choices else "measure" if column.form_units else "text", column.name)
        for column in RUN.columns
        if column.form == "once"
    ]
    assert sorted(placed) == sorted(record)
    lines = set(re.findall(r'name="(\w+)_{{ at }}"', template))
    assert lines == set(OF_POUR)
    pour = {f"{name}_1": "stopped" if name == "ended" else "1" for name in OF_POUR}
    filled = {
        name for name, cell in zip(*csv.reader(io.StringIO(as_csv(pour).decode())), strict=True) if cell
    }
    each_pour = {column.name for column in RUN.columns if column.form == "each pour"}
    assert each_pour - {"parts"} <= filled, "each column of a pour has its field"
