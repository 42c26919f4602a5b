"""The desk's form against what was sent before: pots count on, replacing is asked first, any series is mended in the
page, also while its sheet waits in the inbox."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from pipeline.jobs.receiving.inbox import take_in, waiting
from pipeline.load.views.reading import runs_in_force
from tests.story.desk_fixture import ServedDesk, csrf_token_in, post, send, served, small_pool
from tests.story.pool_fixture import small_sheet

FORM = {
    "pours": "6", "member": "heron-12", "series": "sill", "tested_on": "2026-03-14", "climate_zone": "Cfb", "setup_type": "rack",
    "pot_volume": "1", "pot_volume_unit": "l", "component": "perlite", "component_grade": "medium", "poured": "1 1/2", "poured_unit": "cups",
    "collected": "3/4", "collected_unit": "cups", "start_moisture": "moist",
}  # fmt: skip
POURS = {"mix_1": "0", "time_1": "5:10", "mix_2": "3+2", "time_2": "3:25", "mix_3": "3+2", "time_3": "3:40"}
FIELD = re.compile(r'<input[^>]*? name="(\w+)"[^>]*? value="([^"]*)"')
CHOICE = re.compile(r'<select[^>]*? name="(\w+)".*?</select>', re.DOTALL)
CHOSEN = re.compile(r'<option(?: value="([^"]*)")? selected>([^<]*)')


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[ServedDesk]:
    with served(small_pool(tmp_path / "pool", ("fen-07",))) as open_desk:
        yield open_desk


def fields_of(text: str) -> dict[str, str]:
    """The fields of the form on a page, as a browser would send them."""
    form = text[text.index('id="fill"') :]
    fields = {name: html.unescape(value) for name, value in FIELD.findall(form)}
    for select in CHOICE.finditer(form):
        chosen = CHOSEN.search(select[0])
        fields[select[1]] = (chosen[1] or chosen[2]) if chosen else ""
    return fields


def fill(client: httpx.Client, **changes: str) -> httpx.Response:
    return post(client, "/fill", "/fill", **{**FORM, **POURS, **changes})


def send_checked(client: httpx.Client, checked: httpx.Response, **agreed: str) -> httpx.Response:
    path = str(checked.url.path)
    return client.post(f"{path}/send", data={"csrf_token": csrf_token_in(checked.text), **agreed})


def month_takes_in(desk: ServedDesk) -> None:
    take_in(desk.pool, waiting(desk.pool, print), f"{desk.desk.clock():%Y-%m}", "ada", print)


def places(desk: ServedDesk, series: str = "sill") -> list[tuple[float, int, int, float]]:
    runs = runs_in_force(desk.pool).filter(series_key=series)
    return (
        runs.select("component_share", "pot_no", "pour_no", "drain_time_s")
        .sort("component_share", "pot_no")
        .rows()
    )


def test_pots_left_blank_go_on_from_sheets_that_wait_and_from_the_pool(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    first, second = fill(heron), fill(heron, time_2="3:31", time_3="3:44", time_1="5:20")
    assert "/receipts/" in str(send_checked(heron, first).url)
    counted_on = send_checked(heron, second)
    assert "/checked/" in str(counted_on.url), (
        "checked before the first was sent, so its pots are counted anew"
    )
    assert "Other pots of this series were sent meanwhile" in counted_on.text
    assert "/receipts/" in str(send_checked(heron, counted_on).url)
    month_takes_in(desk)
    third = fill(heron, time_1="5:01", time_2="3:02", time_3="3:03")
    send_checked(heron, third)
    month_takes_in(desk)
    assert [place[:3] for place in places(desk)] == [
        *((0.0, pot, 1) for pot in (1, 2, 3)),
        *((40.0, pot, 1) for pot in (1, 2, 3, 4, 5, 6)),
    ]


def test_the_same_form_sent_twice_is_asked_about(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    send_checked(heron, fill(heron))
    again = fill(heron)
    assert "as you sent them before" in again.text
    asked = send_checked(heron, again)
    assert "Nothing was sent yet" in asked.text
    assert len(waiting(desk.pool, print)) == 1
    assert "/receipts/" in str(send_checked(heron, asked, agreed="again").url)


def test_replacing_is_counted_and_asked_first(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    send_checked(heron, fill(heron))
    month_takes_in(desk)
    named = fill(heron, pot_1="1", pot_2="1", pot_3="2", time_2="3:52")
    assert "This replaces 1 earlier pour." in named.text
    assert "40 %, pot 1, pour 1: 3 min 25 s becomes 3 min 52 s" in named.text
    refused = send_checked(heron, named)
    assert "Nothing was sent yet" in refused.text and waiting(desk.pool, print) == []
    assert "Nothing was sent yet" in send_checked(heron, refused, agreed="replace-2").text
    send_checked(heron, refused, agreed="replace-1")
    month_takes_in(desk)
    assert [place[3] for place in places(desk)] == [310.0, 232.0, 220.0]


def test_a_sheet_that_waits_is_mended_in_the_page_and_keeps_what_the_form_lacks(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    text = small_sheet("heron-12", series="porch", taps="5", base="coir", peat_lot="p12")
    link = str(send(heron, "porch.csv", text).url.path)
    post(heron, link, f"{link}/send")
    assert "Mend “porch”" in heron.get("/mine").text
    form = heron.get("/mine/mend?series=porch")
    assert "<h1>Mend “porch”</h1>" in form.text
    fields = fields_of(form.text)
    mended = heron.post("/fill", data={**fields, "time_1": "5:55"})
    assert "All 2 pours can be taken" in mended.text and "This replaces 1 earlier pour." in mended.text
    send_checked(heron, mended, agreed="replace-1")
    assert fields_of(heron.get("/mine/mend?series=porch").text)["time_1"] == "5:55", (
        "mended once more from there"
    )
    month_takes_in(desk)
    runs = runs_in_force(desk.pool).filter(series_key="porch")
    assert runs["drain_time_s"].to_list() == [355.0, 250.0]
    assert set(runs["taps"]) == {5} and set(runs["base"]) == {"coir"} and set(runs["peat_lot"]) == {"p12"}


def test_a_wrong_mix_is_mended_and_the_old_place_is_given_up(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    send_checked(heron, fill(heron))
    month_takes_in(desk)
    fields = fields_of(heron.get("/mine/mend?series=sill").text)
    assert (fields["mix_3"], fields["pot_3"]) == ("40", "2")
    mended = heron.post("/fill", data={**fields, "mix_3": "50", "pot_3": "1"})
    assert "1 pour of the series leaves" in mended.text
    send_checked(heron, mended, agreed="replace-1")
    month_takes_in(desk)
    assert [place[:3] for place in places(desk)] == [(0.0, 1, 1), (40.0, 1, 1), (50.0, 1, 1)]


def test_nobody_mends_or_learns_pots_of_another(desk: ServedDesk) -> None:
    heron, otter = desk.member("heron-12"), desk.member("otter-3")
    send_checked(heron, fill(heron))
    assert otter.get("/mine/mend?series=sill").status_code == 404
    stolen = {**FORM, **POURS, "mends": "sill", "from": "1", "member": "heron-12"}
    assert post(otter, "/fill", "/fill", **stolen).status_code == 404
    assert post(desk.visitor(), "/fill", "/fill", **stolen).url.path == "/sign-in"
    other = post(otter, "/fill", "/fill", **FORM, **POURS)
    sheet = otter.get(f"{other.url.path}/sheet.csv").text
    assert [line.split(",")[10] for line in sheet.splitlines()[1:]] == ["1", "1", "2"]


def test_a_number_with_two_readings_is_asked_about_in_the_form(desk: ServedDesk) -> None:
    answer = post(desk.visitor(), "/fill", "/fill", **{**FORM, **POURS, "pot_volume": "1,250"})
    assert answer.status_code == 400
    assert "“1,250” can be 1.2500 or 1250" in answer.text and 'value="1,250"' in answer.text
