"""My tests: what a member sees of themselves, what they leave for the month, and nothing of anybody else."""

from __future__ import annotations

import pytest

from tests.story.desk_fixture import post
from tests.unit.desk.tested_desk import TestedDesk


def kinds(desk: TestedDesk, code: str) -> list[str]:
    return [request.kind for request in desk.requests() if request.by == code]


def test_own_series_and_dots_beside_five_others(desk: TestedDesk) -> None:
    text = desk.member("otter-3").get("/mine").text
    assert "2 runs of yours stand in the pool" in text
    assert "bench A" in text and "Perlite, medium" in text
    assert "5 other growers" in text
    assert not any(code in text for code in ("heron-12", "plover-9", "snipe-4", "fen-07"))


def test_who_has_sent_nothing_is_told_so(desk: TestedDesk) -> None:
    text = desk.member("newcomer-1").get("/mine").text
    assert "Nothing of yours is in the pool yet" in text


@pytest.mark.parametrize("path", ["/mine", "/mine/runs.csv", "/mine/mend?series=x"])
def test_nobody_signed_in_is_led_to_the_door(desk: TestedDesk, path: str) -> None:
    answer = desk.visitor().get(path, follow_redirects=False)
    assert answer.status_code == 303 and answer.headers["location"].startswith("/sign-in?then=")


def test_own_rows_as_a_file_hold_no_one_else(desk: TestedDesk) -> None:
    answer = desk.member("otter-3").get("/mine/runs.csv")
    assert answer.headers["content-disposition"] == 'attachment; filename="all_of_otter-3.csv"'
    lines = answer.text.lstrip("\ufeff").splitlines()
    assert len(lines) == 3 and all(line.startswith("otter-3,") for line in lines[1:])


def test_a_series_as_a_sheet_is_found_in_any_spelling(desk: TestedDesk) -> None:
    member = desk.member("otter-3")
    assert member.get("/mine/runs.csv", params={"series": "BENCH\u00a0A"}).status_code == 200
    assert member.get("/mine/runs.csv", params={"series": "kitchen"}).status_code == 404


def test_a_withdrawal_waits_for_the_month_with_its_reason(desk: TestedDesk) -> None:
    member = desk.member("heron-12")
    answer = post(member, "/mine", "/mine/withdraw", series="bench A", reason="the pot leaked")
    assert "leaves the pool with the next run of the month" in answer.text
    (request,) = [one for one in desk.requests() if one.member == "heron-12"]
    assert (request.kind, request.series, request.words, request.by) == (
        "withdraw",
        "bench A",
        "the pot leaked",
        "heron-12",
    )
    assert "Waits for the month" in member.get("/mine").text


def test_another_members_series_is_not_withdrawn(desk: TestedDesk) -> None:
    answer = post(desk.member("newcomer-1"), "/mine", "/mine/withdraw", series="bench A", reason="mine")
    assert answer.status_code == 404
    assert kinds(desk, "newcomer-1") == []
    assert any("not theirs" in line for line in desk.log)


def test_a_nickname_is_a_request_too(desk: TestedDesk) -> None:
    member = desk.member("plover-9")
    assert post(member, "/mine", "/mine/nickname", nickname="  Plover-of-the-fen ").status_code == 200
    account = desk.desk.accounts.read().account("plover-9")
    assert account is not None and account.nickname == "Plover-of-the-fen"
    assert kinds(desk, "plover-9") == ["nickname"]


@pytest.mark.parametrize(
    "name", ["two words", "x", "Otter-3", "HERON\u201012", "newcomer-1", "-plover", "a" * 33]
)
def test_a_nickname_is_a_code_and_nobody_elses(desk: TestedDesk, name: str) -> None:
    desk.member("newcomer-1")
    answer = post(desk.member("plover-9"), "/mine", "/mine/nickname", nickname=name)
    assert answer.status_code == 400 and "nobody else’s" in answer.text
    account = desk.desk.accounts.read().account("plover-9")
    assert account is not None and account.nickname != name


@pytest.mark.parametrize("sure", ["", "snipe-5", "yes"])
def test_leaving_needs_the_own_code(desk: TestedDesk, sure: str) -> None:
    answer = post(desk.member("snipe-4"), "/mine", "/mine/leave", sure=sure)
    assert answer.status_code == 400
    assert desk.desk.accounts.read().account("snipe-4") is not None
    assert kinds(desk, "snipe-4") == []


def test_who_leaves_is_signed_out_and_their_runs_go(desk: TestedDesk) -> None:
    member = desk.member("fen-07")
    assert "You have left" in post(member, "/mine", "/mine/leave", sure="FEN-07").text
    assert kinds(desk, "fen-07") == ["leave"]
    assert member.get("/mine", follow_redirects=False).status_code == 303


def test_words_of_a_notice_come_from_us_only(desk: TestedDesk) -> None:
    text = desk.member("otter-3").get("/mine?said=<b>free+money</b>").text
    assert "free" not in text
