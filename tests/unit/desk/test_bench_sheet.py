"""The page's form makes the CSV that a file would hold."""

from __future__ import annotations

import csv
import io
from datetime import date

from pipeline.desk.bench_sheet import MOST_POURS, as_csv, field_names, how_many, mix_key

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
    from pipeline.jobs.read_back import check_and_read_back
    from pipeline.jobs.sheets import Sheet
    from pipeline.settings import Settings

    checked, readings = check_and_read_back([Sheet("form.csv", as_csv(FIELDS))], Settings(), date(2026, 6, 1))
    assert checked.files.row(0, named=True)["accepted"] == 4, checked.problems.to_dicts()
    told = {(one.column, one.typed): one.read for one in readings[0]}
    assert told[("poured", "3 cups")] == "710 ml"
    assert told[("drain_time", "3:25")] == "205 s"
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
