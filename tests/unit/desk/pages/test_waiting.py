"""A member answers for their own runs that wait; the answer is carried out like any decision."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.jobs.decisions.requests import carry_out, requests_waiting
from pipeline.load.views.reading import view
from tests.story.desk_fixture import post, served, small_pool
from tests.story.pool_fixture import drainpool, write
from tests.story.sheets import BASELINE, PLAIN, sheet_text
from tests.unit.desk.tested_desk import TestedDesk

CODE = "otter-3"
ROWS = [
    {**BASELINE, "member": CODE, "series": "kitchen"},
    {**PLAIN, "member": CODE, "series": "kitchen", "component_share": "20", "drain_time": "4:20"},
    {**PLAIN, "member": CODE, "series": "kitchen", "drain_time": "3 h 31 min"},
]


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[TestedDesk]:
    pool = small_pool(tmp_path / "pool")
    drainpool("load", write(tmp_path, "a.csv", sheet_text(ROWS)), "--pool", pool)
    with served(pool) as opened:
        yield TestedDesk(opened)


def asked(desk: TestedDesk) -> dict[str, str]:
    (run,) = view(desk.pool).waiting.to_dicts()
    return {"series": "kitchen", "submission": run["submission"], "row": str(run["sheet_row"])}


def test_a_member_keeps_a_run_that_waits_and_it_counts(desk: TestedDesk) -> None:
    member = desk.member(CODE)
    text = member.get("/mine").text
    assert "Waits for your answer" in text and "60 times shorter" in text
    assert "5 runs of yours stand in the pool" in text
    answer = post(member, "/mine", "/mine/waiting", **{**asked(desk), "answer": "keep", "words": "clogged"})
    assert answer.status_code == 200 and "Your answer counts from the next run" in answer.text
    assert "Waits for your answer" not in member.get("/mine").text
    (request,) = desk.requests()
    assert (request.kind, request.words, request.sheet_row) == ("keep", "clogged", 4)
    (name,) = requests_waiting(desk.pool)
    assert carry_out(desk.pool, name, lambda _: None)
    seen = view(desk.pool)
    assert seen.waiting.is_empty() and seen.runs.filter(series_key="kitchen").height == 3


def test_nobody_answers_for_others_or_about_what_does_not_wait(desk: TestedDesk) -> None:
    stranger, member = desk.member("heron-12"), desk.member(CODE)
    assert post(stranger, "/mine", "/mine/waiting", **{**asked(desk), "answer": "keep"}).status_code == 404
    assert (
        post(member, "/mine", "/mine/waiting", **{**asked(desk), "row": "2", "answer": "keep"}).status_code
        == 404
    )
    assert post(member, "/mine", "/mine/waiting", **{**asked(desk), "answer": "erase"}).status_code == 404
    assert desk.requests() == []
    post(member, "/mine", "/mine/waiting", **{**asked(desk), "answer": "set_aside"})
    assert [request.kind for request in desk.requests()] == ["set_aside"]
