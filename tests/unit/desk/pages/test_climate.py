"""The climate finder's page: classes as the stations have them, units converted, what was typed kept in the form."""

from __future__ import annotations

import pytest

from tests.story.desk_fixture import post
from tests.unit.desk.tested_desk import TestedDesk

MILD_C = [4, 4, 6, 8, 11, 14, 16, 16, 14, 11, 7, 5]
RAIN_MM = [60] * 12


def fields(mean: list[str], rain: list[str], mean_unit: str = "C", rain_unit: str = "mm") -> dict[str, str]:
    """The form's fields, January first."""
    named = {f"mean_{month}": typed for month, typed in enumerate(mean, 1)}
    named |= {f"rain_{month}": typed for month, typed in enumerate(rain, 1)}
    return {**named, "mean_unit": mean_unit, "rain_unit": rain_unit}


PLAIN = fields([str(value) for value in MILD_C], [str(value) for value in RAIN_MM])


@pytest.mark.parametrize(
    "typed",
    [
        PLAIN,
        fields(
            [f"{value * 1.8 + 32:.4g}" for value in MILD_C], [str(value) for value in RAIN_MM], mean_unit="F"
        ),
        fields(
            [str(value) for value in MILD_C], [f"{value / 25.4:.4f}" for value in RAIN_MM], rain_unit="in"
        ),
        fields([f"{value},0" for value in MILD_C], [f"+{value}" for value in RAIN_MM]),
    ],
    ids=["metric", "fahrenheit", "inches", "commas"],
)
def test_a_mild_wet_place_is_cfb_in_any_units(desk: TestedDesk, typed: dict[str, str]) -> None:
    answer = post(desk.visitor(), "/climate", "/climate", **typed)
    assert answer.status_code == 200 and "Cfb" in answer.text
    assert "/fill?climate_zone=Cfb" in answer.text


def test_a_minus_of_any_kind_is_a_minus(desk: TestedDesk) -> None:
    cold = ["\N{MINUS SIGN}20", "-20", *["-20"] * 9, "−20"]
    answer = post(desk.visitor(), "/climate", "/climate", **fields(cold, ["10"] * 12))
    assert answer.status_code == 200 and "EF" in answer.text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"mean_3": ""}, "March, mean temperature: it is blank"),
        ({"rain_12": "lots"}, "December, rain: “lots” is no number"),
        ({"mean_1": "1e3"}, "January, mean temperature: “1e3” is no number"),
        ({"mean_1": "99"}, "99 can&#39;t be one of the temperatures"),
        ({"rain_2": "-5"}, "-5 can&#39;t be one of the amounts of rain"),
        ({"rain_2": "<b>"}, "“&lt;b&gt;” is no number"),
    ],
)
def test_what_cannot_be_read_is_said_and_the_rest_stays_typed(
    desk: TestedDesk, change: dict[str, str], words: str
) -> None:
    answer = post(desk.visitor(), "/climate", "/climate", **{**PLAIN, **change})
    assert answer.status_code == 400
    assert words in answer.text
    assert 'value="16"' in answer.text, "the other months are still in the form"


def test_nothing_typed_is_kept(desk: TestedDesk) -> None:
    def files() -> set[str]:
        return {str(path) for path in desk.pool.rglob("*") if path.is_file()}

    before = files()
    post(desk.visitor(), "/climate", "/climate", **PLAIN)
    assert files() == before
