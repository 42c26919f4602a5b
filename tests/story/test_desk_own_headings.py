"""Own headings at the desk: which column is which is asked once, kept for the member, and goes with the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.jobs.receiving.inbox import take_in, waiting
from pipeline.load.truth.journal import read
from pipeline.load.views.reading import runs_in_force
from tests.story.desk_fixture import ServedDesk, post, send, served, small_pool
from tests.story.pool_fixture import small_sheet


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[ServedDesk]:
    with served(small_pool(tmp_path / "pool", ("fen-07",))) as open_desk:
        yield open_desk


def own_sheet(series: str) -> str:
    return small_sheet("heron-12").replace("drain_time", "Zeit").replace("bench A", series)


def test_which_column_is_which_is_asked_once_and_goes_with_the_sheet(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    asked = send(heron, "mine.csv", own_sheet("bench B"))
    assert "Which of your columns is this?" in asked.text and "Zeit: " in asked.text
    page = str(asked.url.path)
    refused = post(heron, page, f"{page}/columns", column_drain_time="")
    assert refused.status_code == 400
    foreign = post(heron, page, f"{page}/columns", column_drain_time="member")
    assert foreign.status_code == 400, "only the sheet's own columns can be chosen"
    answered = post(heron, page, f"{page}/columns", column_drain_time="Zeit")
    assert answered.status_code == 200 and "can be taken" in answered.text
    assert "Which of your columns is this?" not in answered.text
    assert "“Zeit” as drain_time" in answered.text
    next_time = send(heron, "next.csv", own_sheet("bench C"))
    assert "“Zeit” as drain_time" in next_time.text, "the answer is kept for the next sheet"
    stranger = send(desk.visitor(), "other.csv", own_sheet("bench D"))
    assert "Which of your columns is this?" in stranger.text, "and for that member alone"

    page = str(next_time.url.path)
    assert post(heron, page, f"{page}/send").status_code == 200
    before = runs_in_force(desk.pool).height
    take_in(desk.pool, waiting(desk.pool, print), "2026-11", "ada", print)
    assert runs_in_force(desk.pool).height > before
    received = [line for line in read(desk.pool)[0] if line.event == "received"]
    assert (received[-1].private or {})["columns"] == {"Zeit": "drain_time"}


def test_a_unit_is_chosen_with_the_column_and_parts_may_stand_for_the_share(desk: ServedDesk) -> None:
    """Bare numbers under a heading of one's own: what a file with `drain_time (min)` and `parts` would hold."""
    heron = desk.member("heron-12")
    rows = (
        small_sheet("heron-12", series="bench E")
        .replace("component_share", "Mischung")
        .replace("drain_time", "Zeit")
    )
    rows = rows.replace("4:10", "4.5").replace("5:10", "5.25")
    lines = [line.split(",") for line in rows.splitlines()]
    mix = lines[0].index("Mischung")
    for line in lines[1:]:
        line[mix] = {"0": "1+0", "40": "3+2"}[line[mix]]
    asked = send(heron, "mine.csv", "\n".join(",".join(line) for line in lines) + "\n")
    page = str(asked.url.path)
    answers = {"column_drain_time": "Zeit", "unit_drain_time": "min", "column_parts": "Mischung"}
    answered = post(heron, page, f"{page}/columns", **answers)
    assert "All 2 rows can be taken" in answered.text, answered.text
    assert "4 min 30 s" in answered.text and "40 %" in answered.text
