"""The page's form makes the CSV that a file would hold."""

from __future__ import annotations

import csv
import io
import re
from datetime import date
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from pipeline.desk.sheets.bench_form import (
    MOST_POURS,
    OF_POUR,
    as_csv,
    decimal_point,
    field_names,
    filled_lines,
    how_many,
    in_two_readings,
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


@given(
    number=st.sampled_from(["1 1/2", "½", "1½", "3/4", "2", "1,5", "0.75", "1 ½"]),
    unit=st.sampled_from(["cups", "ml", "l", "fl oz"]),
)
def test_a_unit_that_was_chosen_stays_with_every_number(number: str, unit: str) -> None:
    cell = rows({**FIELDS, "poured": number, "poured_unit": unit})[0]["poured"]
    assert cell == f"{number.replace(',', '.')} {unit}"


def test_a_decimal_comma_is_read_in_every_field_that_holds_a_number() -> None:
    typed = {
        **FIELDS,
        "pot_volume": "1,5",
        "mix_2": "33,3",
        "mix_3": "1,5+1",
        "time_2": "3:25,5",
        "water_temp": "18,5",
    }
    found = rows({**typed, "water_temp_unit": "°C"})
    assert (found[0]["pot_volume"], found[0]["water_temp"]) == ("1.5 l", "18.5 °C")
    assert [row["component_share"] or row["parts"] for row in found][1:3] == ["33.3", "1.5+1"]
    assert found[1]["drain_time"] == "3:25.5"
    assert decimal_point("1.234,5") == "1.234,5"


def test_a_number_with_two_readings_is_asked_about_and_no_other() -> None:
    """The stopwatch writes tenths with a point; that settles nothing about what somebody typed."""
    asked = in_two_readings({**FIELDS, "pot_volume": "1,250", "poured": "1.500 ml", "time_2": "1,234 s"})
    assert len(asked) == 3 and "“1,250” can be 1.2500 or 1250" in asked[0]
    assert in_two_readings({**FIELDS, "pot_volume": "0,250", "poured": "236.5880", "collected": "1250"}) == []


def test_pots_left_blank_go_on_from_what_was_sent_before() -> None:
    known = {"40.0": 4, "0.0": 1}
    found = list(csv.DictReader(io.StringIO(as_csv({**FIELDS, "pot_5": ""}, known).decode())))
    assert [(one["pot_no"], one["pour_no"]) for one in found] == [
        ("2", "1"),
        ("5", "1"),
        ("6", "1"),
        ("6", "2"),
    ]
    assert known == {"40.0": 4, "0.0": 1}, "what is known stays as it is"


@given(
    known=st.dictionaries(st.sampled_from(["0.0", "40.0", "50.0"]), st.integers(1, 40)),
    mixes=st.lists(st.sampled_from(["0", "3+2", "40 %", "50"]), max_size=9),
)
def test_a_blank_pot_never_takes_an_earlier_ones_place(known: dict[str, int], mixes: list[str]) -> None:
    lines = {f"mix_{at}": mix for at, mix in enumerate(mixes, start=1)}
    sheet = csv.DictReader(io.StringIO(as_csv({"pours": "9", **lines}, known).decode()))
    places = [(mix_key(row["component_share"] or row["parts"]), int(row["pot_no"])) for row in sheet]
    assert len(set(places)) == len(places) == len(mixes)
    assert all(pot > known.get(mix, 0) for mix, pot in places)


def test_each_row_of_the_sheet_is_known_by_its_line() -> None:
    assert filled_lines(FIELDS) == [1, 2, 3, 5]


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
    assert lines == {*OF_POUR, "was"}
    assert all(column.asked for column in RUN.columns if column.form)
    pour = {f"{name}_1": "stopped" if name == "ended" else "1" for name in OF_POUR}
    filled = {
        name for name, cell in zip(*csv.reader(io.StringIO(as_csv(pour).decode())), strict=True) if cell
    }
    each_pour = {column.name for column in RUN.columns if column.form == "each pour"}
    assert each_pour - {"parts"} <= filled, "each column of a pour has its field"
