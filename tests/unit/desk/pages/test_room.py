"""The coordinator's room: what needs a human, decisions that wait for the month, members and their invitations."""

from __future__ import annotations

import re

import httpx
import pytest

from tests.story.desk_fixture import post
from tests.unit.desk.tested_desk import TestedDesk

ODD = "fen-07"
"""Of the small pool, the one whose mix drains far too fast."""


@pytest.fixture(scope="module")
def coordinator(desk: TestedDesk) -> httpx.Client:
    return desk.member("ann-1", "coordinator")


@pytest.fixture(autouse=True)
def no_requests(desk: TestedDesk) -> None:
    for path in (desk.pool / "inbox").glob("*.request.json"):
        path.unlink()


def test_the_odd_series_is_the_first_matter_with_a_question_ready(coordinator: httpx.Client) -> None:
    text = coordinator.get("/room").text
    first = text[text.index('class="matters"') :].split("</li>")[0]
    assert ODD in first and "bench A" in first
    assert re.search(r"<textarea[^>]*>\s*\S", first)


@pytest.mark.parametrize(("kind", "said"), [("ask", "asked"), ("keep", "kept"), ("set_aside", "set aside")])
def test_a_decision_waits_for_the_month_and_is_told_on_the_matter(
    desk: TestedDesk, coordinator: httpx.Client, kind: str, said: str
) -> None:
    answer = post(
        coordinator, "/room", "/room/decide", kind=kind, member=ODD, series="bench A", words="Did it?"
    )
    assert answer.status_code == 200 and "<em>" + said in answer.text
    (request,) = desk.requests()
    assert (request.kind, request.member, request.series, request.words, request.by) == (
        kind,
        ODD,
        "bench A",
        "Did it?",
        "ann-1",
    )


def test_a_request_can_be_dropped_again(desk: TestedDesk, coordinator: httpx.Client) -> None:
    post(coordinator, "/room", "/room/decide", kind="keep", member=ODD, series="bench A", words="fine")
    (name,) = (path.name for path in (desk.pool / "inbox").glob("*.request.json"))
    assert post(coordinator, "/room", "/room/drop", name=name).status_code == 200
    assert desk.requests() == []
    assert post(coordinator, "/room", "/room/drop", name=name).status_code == 404
    assert post(coordinator, "/room", "/room/drop", name="../journal.jsonl").status_code == 404
    assert (desk.pool / "journal.jsonl").exists()


@pytest.mark.parametrize(
    ("fields", "status"),
    [
        ({"kind": "keep", "member": ODD, "words": ""}, 400),
        ({"kind": "set_aside", "member": ODD, "words": "   "}, 400),
        ({"kind": "ask", "words": "why?"}, 400),
        ({"kind": "erase", "member": ODD, "words": "because"}, 404),
        ({"kind": "set_aside", "member": "nobody-9", "words": "because"}, 404),
        ({"kind": "set_aside", "member": ODD, "series": "another", "words": "because"}, 404),
        ({"kind": "set_aside", "submission": "abc", "words": "because"}, 404),
        ({"kind": "set_aside", "submission": "0" * 64, "words": "because"}, 404),
    ],
)
def test_what_cannot_be_decided_leaves_no_request(
    desk: TestedDesk, coordinator: httpx.Client, fields: dict[str, str], status: int
) -> None:
    assert post(coordinator, "/room", "/room/decide", **fields).status_code == status
    assert desk.requests() == []


@pytest.mark.parametrize("kind", ["withdraw", "restore"])
def test_withdrawals_and_their_undoing(desk: TestedDesk, coordinator: httpx.Client, kind: str) -> None:
    answer = post(
        coordinator, "/room", "/room/withdraw", kind=kind, member="Otter-3", series="", words="wrong peat"
    )
    assert answer.status_code == 200
    (request,) = desk.requests()
    assert (request.kind, request.member, request.series) == (kind, "Otter-3", None)


def test_a_sheet_is_withdrawn_by_its_hash(desk: TestedDesk, coordinator: httpx.Client) -> None:
    submission = desk.desk.reader.view().receipts["submission"][0]
    post(
        coordinator,
        "/room",
        "/room/withdraw",
        kind="withdraw",
        submission=submission[:12].upper(),
        words="twice",
    )
    (request,) = desk.requests()
    assert request.submission == submission[:12]


@pytest.mark.parametrize("path", ["/room", "/room/people", "/room/inbox/a.csv", "/room/month/x"])
def test_the_room_is_not_there_for_members(desk: TestedDesk, path: str) -> None:
    assert desk.member("otter-3").get(path).status_code == 404


@pytest.mark.parametrize(
    "action", ["/room/decide", "/room/withdraw", "/room/invite", "/room/revoke", "/room/month", "/room/drop"]
)
def test_no_form_of_the_room_works_for_members(desk: TestedDesk, action: str) -> None:
    fields = {
        "kind": "withdraw",
        "member": ODD,
        "words": "x",
        "code": "new-1",
        "role": "member",
        "month": "2026-03",
        "what": "run",
        "name": "x",
    }
    assert post(desk.member("otter-3"), "/mine", action, **fields).status_code == 404
    assert desk.requests() == [] and desk.desk.accounts.read().account("new-1") is None


def test_the_inbox_shows_the_verdict_on_a_sheet(desk: TestedDesk, coordinator: httpx.Client) -> None:
    from tests.story.pool_fixture import small_sheet

    (desk.pool / "inbox").mkdir(exist_ok=True)
    (desk.pool / "inbox" / "late sheet.csv").write_text(small_sheet("newt-9"), encoding="utf-8")
    assert "late sheet.csv" in coordinator.get("/room").text
    assert (
        "2 accepted" in coordinator.get("/room/inbox/late%20sheet.csv").text
        or "2 rows" in coordinator.get("/room/inbox/late%20sheet.csv").text
    )
    assert coordinator.get("/room/inbox/other.csv").status_code == 404


def test_an_invitation_shows_its_link_once_and_lets_one_in(
    desk: TestedDesk, coordinator: httpx.Client
) -> None:
    page = post(coordinator, "/room/people", "/room/invite", code="newt-9", role="member")
    link = re.search(r"/invitation/[\w-]+", page.text)
    assert link is not None
    assert link[0] not in coordinator.get("/room/people").text
    guest = desk.visitor()
    assert guest.get(link[0]).status_code == 200


@pytest.mark.parametrize(
    ("code", "role", "status"),
    [("x", "member", 400), ("fen 07", "member", 400), ("newt-8", "owner", 400), ("ann-1", "member", 409)],
)
def test_what_is_no_invitation(coordinator: httpx.Client, code: str, role: str, status: int) -> None:
    assert post(coordinator, "/room/people", "/room/invite", code=code, role=role).status_code == status


def test_nobody_closes_their_own_account(desk: TestedDesk, coordinator: httpx.Client) -> None:
    assert post(coordinator, "/room/people", "/room/revoke", code="ANN-1").status_code == 409
    assert coordinator.get("/room").status_code == 200


def test_a_closed_account_is_out_at_once(desk: TestedDesk, coordinator: httpx.Client) -> None:
    member = desk.member("teal-21")
    assert member.get("/mine").status_code == 200
    post(coordinator, "/room/people", "/room/revoke", code="teal-21")
    assert member.get("/mine", follow_redirects=False).status_code == 303


@pytest.mark.parametrize(
    ("fields", "status"),
    [
        ({"month": "March", "what": "run"}, 400),
        ({"month": "9999-01", "what": "run"}, 400),
        ({"month": "2026-03", "what": "correct"}, 400),
        ({"month": "2026-03", "what": "correct", "reason": "  "}, 400),
        ({"month": "2026-03", "what": "erase"}, 404),
    ],
)
def test_what_is_no_month_to_run_starts_nothing(
    desk: TestedDesk, coordinator: httpx.Client, fields: dict[str, str], status: int
) -> None:
    assert post(coordinator, "/room", "/room/month", **fields).status_code == status
    assert desk.desk.months.running is None and desk.desk.months.names() == []


@pytest.mark.parametrize("name", ["x", "../../journal", "2026-03-14T092653"])
def test_a_run_that_never_was_has_no_page(coordinator: httpx.Client, name: str) -> None:
    assert coordinator.get(f"/room/month/{name}").status_code == 404
    assert coordinator.get(f"/room/month/{name}/words").status_code == 404
