"""The form for a small test: what is typed comes out as a checked sheet, more lines keep what was typed."""

from __future__ import annotations

import re

import pytest

from tests.story.desk_fixture import post
from tests.unit.desk.tested_desk import TestedDesk

FILLED = {
    "member": "teal-21",
    "series": "sill",
    "tested_on": "2026-03-14",
    "climate_zone": "Cfb",
    "setup_type": "rack",
    "pot_volume": "1",
    "pot_volume_unit": "l",
    "component": "perlite",
    "component_grade": "medium",
    "poured": "300",
    "poured_unit": "ml",
    "collected": "150",
    "collected_unit": "ml",
    "start_moisture": "moist",
    "pours": "6",
    "mix_1": "0",
    "time_1": "5:10",
    "mix_2": "40",
    "time_2": "3:25",
}


def test_the_form_knows_who_is_signed_in_and_which_climate_was_found(desk: TestedDesk) -> None:
    text = desk.member("teal-21").get("/fill?climate_zone=Dfb").text
    assert re.search(r'name="member"[^>]*value="teal-21"', text)
    assert re.search(r'value="Dfb"', text)


@pytest.mark.parametrize("climate", ['"><script>alert(1)</script>', "Zzz"])
def test_an_address_puts_no_markup_into_the_form(desk: TestedDesk, climate: str) -> None:
    assert "<script>alert" not in desk.visitor().get("/fill", params={"climate_zone": climate}).text


def test_a_filled_form_is_checked_as_its_sheet_would_be(desk: TestedDesk) -> None:
    browser = desk.visitor()
    answer = post(browser, "/fill", "/fill", **FILLED)
    assert answer.status_code == 200, answer.text
    assert "/checked/" in str(answer.url)
    assert "2 rows" in answer.text or "2 accepted" in answer.text
    again = browser.get(f"{answer.url.path}/change")
    assert again.status_code == 200
    for name in ("time_1", "time_2", "series"):
        assert re.search(rf'name="{name}"[^>]*value="{re.escape(FILLED[name])}"', again.text), name


def test_more_lines_keep_what_was_typed(desk: TestedDesk) -> None:
    answer = post(desk.visitor(), "/fill", "/fill", **FILLED, more="yes")
    assert answer.status_code == 200
    lines = [int(number) for number in re.findall(r'name="time_(\d+)"', answer.text)]
    assert max(lines) > 6
    assert re.search(r'name="time_2"[^>]*value="3:25"', answer.text)


def test_a_form_without_a_pour_is_asked_for_one(desk: TestedDesk) -> None:
    blank = {name: value for name, value in FILLED.items() if not name.startswith(("mix_", "time_"))}
    answer = post(desk.visitor(), "/fill", "/fill", **blank)
    assert answer.status_code == 400 and "No pour is filled in yet" in answer.text


@pytest.mark.parametrize("token", ["0" * 32, "x", "../accounts"])
def test_a_form_that_is_not_there_cannot_be_changed(desk: TestedDesk, token: str) -> None:
    assert desk.visitor().get(f"/checked/{token}/change").status_code == 404


def test_an_own_series_is_mended_in_the_form_and_others_are_not_there(desk: TestedDesk) -> None:
    member = desk.member("teal-21")
    page = member.get("/mine/mend", params={"series": "BENCH  a"})
    assert page.status_code == 200 and re.search(r'name="member"[^>]*value="teal-21"', page.text)
    assert member.get("/mine/mend", params={"series": "another"}).status_code == 404
    assert desk.member("newcomer-1").get("/mine/mend", params={"series": "bench A"}).status_code == 404
