"""Members and the coordinator at the desk, from one run of the month to the next: questions, answers, withdrawals, names."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from pipeline.commands.line.arguments import parse, run
from pipeline.jobs.decisions.requests import carry_out, in_turn, requests_waiting
from pipeline.jobs.receiving.inbox import take_in, waiting
from pipeline.load.truth.journal import read
from pipeline.load.views.reading import runs_in_force
from tests.story.desk_fixture import ServedDesk, csrf_token_in, post, send, served, small_pool
from tests.story.pool_fixture import PATIENCE_S, read_results, small_sheet, wait_for
from tests.story.sheets import BASELINE, PLAIN, sheet_text


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_pool(tmp_path_factory.mktemp("desk") / "pool")


@pytest.fixture
def desk(made: Path, tmp_path: Path) -> Iterator[ServedDesk]:
    shutil.copytree(made, tmp_path / "pool")
    with served(tmp_path / "pool") as open_desk:
        yield open_desk


def say(_line: str) -> None:
    """Nobody listens."""


def month_takes_in(pool: Path) -> None:
    """What a run of the month does with the inbox, without the pages behind it."""
    for names, request in in_turn(waiting(pool, say), requests_waiting(pool)):
        if names:
            take_in(pool, names, "2026-11", "ada", say)
        if request is not None:
            carry_out(pool, request, say)


def events(pool: Path) -> list[str]:
    return [line.event for line in read(pool)[0]]


def test_a_question_goes_to_the_member_and_the_answer_back(desk: ServedDesk) -> None:
    ada, fen = desk.member("ada", "coordinator"), desk.member("fen-07")
    room = ada.get("/room")
    assert "fen-07" in room.text
    assert "really happen" in room.text or "did it really happen" in room.text
    question = "Four seconds at 40 %: did it really happen?"
    assert (
        post(
            ada, "/room", "/room/decide", kind="ask", member="fen-07", series="bench A", words=question
        ).status_code
        == 200
    )
    assert question not in fen.get("/mine").text
    month_takes_in(desk.pool)
    assert question in fen.get("/mine").text
    assert question not in desk.member("heron-12").get("/mine").text
    answer = post(fen, "/mine", "/mine/answer", series="bench A", words="A crack in the pot.", happened="yes")
    assert "Your answer goes to the coordinator" in answer.text
    assert question not in answer.text
    month_takes_in(desk.pool)
    assert "Yes, that really happened. A crack in the pot." in ada.get("/room").text
    assert (
        post(
            ada,
            "/room",
            "/room/decide",
            kind="set_aside",
            member="fen-07",
            series="bench A",
            words="cracked pot",
        ).status_code
        == 200
    )
    before = runs_in_force(desk.pool).height
    month_takes_in(desk.pool)
    assert runs_in_force(desk.pool).height == before - 2
    room = ada.get("/room")
    assert "cracked pot" in room.text
    assert "Keep after all" in room.text
    post(ada, "/room", "/room/decide", kind="keep", member="fen-07", series="bench A", words="it may be true")
    month_takes_in(desk.pool)
    assert runs_in_force(desk.pool).height == before
    assert [event for event in events(desk.pool) if event in ("asked", "answered", "set_aside")] == [
        "asked",
        "answered",
        "set_aside",
    ]
    assert list((desk.pool / "inbox").iterdir()) == []


def test_a_sheet_sent_waits_for_the_month_and_is_then_in_the_pool(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    link = send(heron, "mended.csv", small_sheet("heron-12", drain_time="2:59")).url.path
    assert "mended 1" in heron.get(link).text or "if loaded" in heron.get(link).text.lower()
    receipt = post(heron, link, f"{link}/send").url.path
    assert "waits for the next run of the month" in heron.get("/mine").text
    assert heron.get(link).status_code == 404
    month_takes_in(desk.pool)
    assert "in the pool" in heron.get("/mine").text
    assert heron.get(receipt).status_code == 200
    line = [line for line in read(desk.pool)[0] if line.event == "received"][-1]
    assert line.private is not None
    assert line.private["file"] == "mended.csv"


def test_my_tests_has_a_sheet_with_its_own_result_and_questions_from_the_moment_it_is_sent(
    desk: ServedDesk,
) -> None:
    heron = desk.member("newcomer-1")
    assert "Nothing of yours is in the pool yet" in heron.get("/mine").text
    rows = [{**BASELINE, "pot_no": str(pot)} for pot in (1, 2, 3)]
    rows += [{**PLAIN, "drain_time": "3:25"}, {**PLAIN, "pot_no": "2", "drain_time": "3 h 25 min"}]
    text = sheet_text([{**row, "member": "newcomer-1", "series": "<b>porch</b>"} for row in rows])
    checked = send(heron, "spring.csv", text)
    assert "Your own result" in checked.text and "other growers found less" in checked.text
    assert "150 ml in 5 min 10 s from 1 l: 29 ml a minute per litre" in checked.text
    token = str(checked.url).rsplit("/", 1)[-1]
    post(heron, f"/checked/{token}", f"/checked/{token}/send")
    mine = heron.get("/mine").text
    assert "1 sheet of yours waits for the next run of the month" in mine and "spring.csv" in mine
    assert "&lt;b&gt;porch&lt;/b&gt;: perlite</strong>, 2026-03-14" in mine and "<b>porch" not in mine
    assert "other growers found less" in mine
    assert "a slow or fast pot may be true" in mine and "Row 6, column drain_time" in mine
    month_takes_in(desk.pool)
    assert "Sent, not in the pool yet" not in heron.get("/mine").text


def test_a_row_typed_twice_is_counted_once_and_said_so_apart(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    sheet = small_sheet("heron-12", shares=("50",), series="bench B")
    twice = sheet + sheet.splitlines(keepends=True)[-1]
    told = heron.get(send(heron, "twice.csv", twice).url.path).text
    once, rest = told.index("Counted once"), told.find("Good to know")
    assert told.index("It is left out", once) > once
    assert rest < 0 or "It is left out" not in told[rest:]


def test_a_withdrawal_leaves_what_was_sent_after_it(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    post(heron, "/mine", "/mine/withdraw", series="BENCH a", reason="wrong peat")
    link = send(heron, "again.csv", small_sheet("heron-12", drain_time="2:41")).url.path
    post(heron, link, f"{link}/send")
    assert "asked to withdraw" in heron.get("/mine").text.lower()
    month_takes_in(desk.pool)
    runs = runs_in_force(desk.pool).filter(member_key="heron-12")
    assert runs["drain_time_s"].to_list() == [161.0, 161.0]


def test_the_coordinator_withdraws_with_a_reason_and_puts_back(desk: ServedDesk) -> None:
    ada = desk.member("ada", "coordinator")
    assert post(ada, "/room", "/room/withdraw", kind="withdraw", member="snipe-4").status_code == 400
    assert post(ada, "/room", "/room/withdraw", kind="burn", member="snipe-4", words="x").status_code == 404
    for wrong in (
        {"member": "snipe-44"},
        {"member": "snipe-4", "series": "no such"},
        {"submission": "ab"},
        {"submission": "f" * 64},
    ):
        assert post(ada, "/room", "/room/withdraw", kind="withdraw", words="x", **wrong).status_code == 404
    before = runs_in_force(desk.pool).height
    post(ada, "/room", "/room/withdraw", kind="withdraw", member="snipe-4", words="a slip")
    (waiting_one,) = requests_waiting(desk.pool)
    assert post(ada, "/room", "/room/drop", name="../journal.jsonl").status_code == 404
    assert post(ada, "/room", "/room/drop", name=waiting_one).status_code == 200
    assert requests_waiting(desk.pool) == []
    post(ada, "/room", "/room/withdraw", kind="withdraw", member="snipe-4", words="asked by mail")
    month_takes_in(desk.pool)
    assert runs_in_force(desk.pool).height == before - 2
    post(ada, "/room", "/room/withdraw", kind="restore", member="snipe-4", words="changed their mind")
    month_takes_in(desk.pool)
    assert runs_in_force(desk.pool).height == before
    last = read(desk.pool)[0][-1]
    assert (last.event, last.by) == ("restored", "ada")


def test_a_series_taken_as_a_sheet_is_accepted_again_as_it_is(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    sheet = heron.get("/mine/runs.csv?series=bench A")
    assert sheet.headers["content-type"].startswith("text/csv")
    page = send(heron, "series_to_mend.csv", sheet.content)
    assert "All 2 rows can be taken" in page.text


def test_everything_of_ones_own_comes_as_a_file_and_nothing_of_others(desk: ServedDesk) -> None:
    text = desk.member("heron-12").get("/mine/runs.csv").text.lstrip("\ufeff")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {row["member"] for row in rows} == {"heron-12"}
    assert len(rows) == 2
    assert "otter" not in text


def test_who_leaves_is_out_and_so_are_their_runs(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    assert post(heron, "/mine", "/mine/leave", sure="no").status_code == 400
    assert heron.get("/mine").status_code == 200
    left = post(heron, "/mine", "/mine/leave", sure="heron-12")
    assert "You have left" in left.text
    assert heron.get("/mine").url.path == "/sign-in"
    month_takes_in(desk.pool)
    assert runs_in_force(desk.pool).filter(member_key="heron-12").is_empty()
    assert events(desk.pool)[-2:] == ["withdrawn", "left"]


def test_a_nickname_stands_on_pages_in_place_of_the_code(desk: ServedDesk) -> None:
    from pipeline.jobs.month.figures import figures
    from pipeline.jobs.receiving.steps import pool_writer
    from pipeline.load.changes.editions import begin_edition

    heron = desk.member("heron-12")
    assert post(heron, "/mine", "/mine/nickname", nickname="otter-3").status_code == 400
    assert post(heron, "/mine", "/mine/nickname", nickname="<b>").status_code == 400
    assert (
        "Signed in as <strong>Reedling</strong>"
        in post(heron, "/mine", "/mine/nickname", nickname="Reedling").text
    )
    month_takes_in(desk.pool)
    with pool_writer(desk.pool, "ada", say) as writer:
        edition = begin_edition(writer, f"{desk.desk.clock():%Y-%m}")
    shown = figures(desk.pool, edition)
    for frame in (shown.runs, shown.effects, shown.members):
        names = set(frame["member"].to_list())
        assert "Reedling" in names
        assert "heron-12" not in names


def test_invitations_and_revocations_are_journalled_without_codes_in_the_open(desk: ServedDesk) -> None:
    ada = desk.member("ada", "coordinator")
    page = post(ada, "/room/people", "/room/invite", code="new-1", role="member")
    link = re.search(r"<code id=\"link\">http://[^/]+(/invitation/[A-Za-z0-9]+)</code>", page.text)
    assert link is not None
    new = desk.visitor()
    assert post(new, link[1], link[1], passphrase="a new passphrase").status_code == 200  # noqa: S106
    assert new.get("/mine").status_code == 200
    assert desk.visitor().get(link[1]).status_code == 404
    post(ada, "/room/people", "/room/revoke", code="new-1")
    month_takes_in(desk.pool)
    assert [event for event in events(desk.pool) if event in ("invited", "joined", "revoked")] == [
        "invited",
        "joined",
        "revoked",
    ]
    open_part = " ".join(
        json.dumps(dict(line.payload))
        for line in read(desk.pool)[0]
        if line.event in ("invited", "joined", "revoked")
    )
    assert "new-1" not in open_part


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("/ask.csv?component=perlite", ["--component", "perlite"]),
        (
            "/ask.csv?climate=C&pot_from=0.5&pot_to=2&setup=rack&by=grade",
            ["--climate", "C", "--pot-volume", "0.5l..2l", "--setup", "rack", "--by", "grade"],
        ),
        (
            "/ask.csv?since=2026-03-01&until=2026-03-31&grade=medium&ask=yes",
            ["--since", "2026-03-01", "--until", "2026-03-31", "--grade", "medium"],
        ),
    ],
)
def test_the_desk_answers_a_coordinator_as_query_does(
    desk: ServedDesk, address: str, words: list[str]
) -> None:
    told = run(parse(["query", "--pool", str(desk.pool), "--format", "csv", *words]), say)
    ada = desk.member("ada", "coordinator")
    answer = ada.get(address)
    assert answer.status_code == 200
    assert answer.text == told.result
    page = ada.get(address.replace("/ask.csv", "/ask"))
    first = next(csv.DictReader(io.StringIO(answer.text)), None)
    assert first is None or first["component"] in page.text.lower()


def test_a_question_that_can_t_be_read_is_told_in_the_page(desk: ServedDesk) -> None:
    answer = desk.visitor().get("/ask?climate=Zzz")
    assert answer.status_code == 400
    assert "“Zzz” is not a Köppen-Geiger class" in answer.text


def test_the_desk_reads_only_the_readers_copy(desk: ServedDesk) -> None:
    """With the store, the journal's end and the archive out of reach every page still answers."""
    for name in ("pool.duckdb", "archive"):
        (desk.pool / name).rename(desk.pool / f"{name}.away")
    ada = desk.member("ada", "coordinator")
    for path in ("/", "/mine", "/room", "/room/people", "/ask?ask=yes", "/reports"):
        assert ada.get(path).status_code == 200
    assert "All 2 rows" in send(ada, "a.csv", small_sheet("heron-12", drain_time="2:22")).text
    assert not (desk.pool / "pool.duckdb").exists()


def test_a_draft_is_for_members_and_a_published_month_for_everybody(desk: ServedDesk) -> None:
    month = "2026-01"
    folder = desk.pool / "reports" / month
    folder.mkdir(parents=True)
    (folder / "index.html").write_text("<p>the draft</p>")
    visitor, heron = desk.visitor(), desk.member("heron-12")
    assert visitor.get(f"/reports/{month}/").status_code == 404
    assert month not in visitor.get("/reports").text
    assert heron.get(f"/reports/{month}/").text == "<p>the draft</p>"
    assert heron.get(f"/reports/{month}").text == "<p>the draft</p>"


def test_a_desk_can_be_opened_before_the_pool_begins(tmp_path: Path) -> None:
    with served(tmp_path / "new") as desk:
        ada, fen = desk.member("ada", "coordinator"), desk.member("fen-07")
        for path in (
            "/",
            "/mine",
            "/room",
            "/room/people",
            "/ask?ask=yes",
            "/ask.csv",
            "/reports",
            "/mine/runs.csv",
        ):
            for client in (ada, fen):
                assert client.get(path).status_code in (200, 400, 404), path
        link = send(fen, "first.csv", small_sheet("fen-07")).url.path
        assert post(fen, link, f"{link}/send").status_code == 200
        month_takes_in(desk.pool)
        assert runs_in_force(desk.pool).height == 2
        assert "2 runs of yours" in fen.get("/mine").text


def test_load_carries_out_a_request_named_to_it(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    post(heron, "/mine", "/mine/withdraw", series="bench A", reason="wrong peat")
    (name,) = requests_waiting(desk.pool)
    said: list[str] = []
    answer = run(parse(["load", str(desk.pool / "inbox" / name), "--pool", str(desk.pool)]), said.append)
    assert answer.exit_code == 0
    assert runs_in_force(desk.pool).filter(member_key="heron-12").is_empty()
    assert requests_waiting(desk.pool) == []


def test_erasing_a_member_clears_the_desk_too(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    link = send(heron, "mended.csv", small_sheet("heron-12", drain_time="2:59")).url.path
    post(heron, link, f"{link}/send")
    post(heron, "/mine", "/mine/nickname", nickname="Reedling")
    month_takes_in(desk.pool)
    run(parse(["erase", "--pool", str(desk.pool), "--member", "heron-12", "--reason", "asked"]), say)
    assert heron.get("/mine").url.path == "/sign-in"
    left = [path for path in desk.pool.rglob("*") if path.is_file() and path.suffix != ".duckdb"]
    for path in left:
        text = path.read_bytes().lower()
        assert b"heron-12" not in text, path
        assert b"reedling" not in text, path


def test_the_room_starts_the_month_with_what_was_asked(
    desk: ServedDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    started: list[tuple[str, str, list[str]]] = []

    def start(month: str, by: str, _at: object, more: list[str]) -> str | None:
        started.append((month, by, more))
        return None if len(started) > 3 else "20260314T120000-2026-03"

    monkeypatch.setattr(desk.desk.months, "start", start)
    ada = desk.member("ada", "coordinator")
    for what, reason in (("run", ""), ("publish", ""), ("correct", "a --late sheet")):
        post(ada, "/room", "/room/month", month="2026-03", what=what, reason=reason)
    assert started == [
        ("2026-03", "ada", []),
        ("2026-03", "ada", ["--publish"]),
        ("2026-03", "ada", ["--correct", "--reason=a --late sheet"]),
    ]
    assert post(ada, "/room", "/room/month", month="2026-03", what="correct").status_code == 400
    assert post(ada, "/room", "/room/month", month="2999-01", what="run").status_code == 400
    assert post(ada, "/room", "/room/month", month="--pool", what="run").status_code == 400
    assert post(ada, "/room", "/room/month", month="2026-03", what="burn").status_code == 404
    assert post(ada, "/room", "/room/month", month="2026-03", what="run").status_code == 409


def wait_until_ended(person: httpx.Client, address: str) -> None:
    """Until the month's page says that the run is over."""
    wait_for(lambda: person.get(f"{address}/words").json()["ended"])


@pytest.mark.deep
def test_the_room_runs_publishes_and_corrects_a_month_to_the_end(desk: ServedDesk) -> None:
    ada = desk.member("ada", "coordinator")
    month = f"{datetime.now(UTC).replace(day=1) - timedelta(days=1):%Y-%m}"
    index = desk.pool / "reports" / month / "index.html"
    drafts = []
    for what in ("run", "publish"):
        address = post(ada, "/room", "/room/month", month=month, what=what, reason="").url.path
        wait_until_ended(ada, address)
        assert "is ready" in ada.get(address).text, ada.get(f"{address}/words").json()
        drafts.append("Draft: for the contributors" in index.read_text(encoding="utf-8"))
    assert drafts == [True, False]
    address = post(ada, "/room", "/room/month", month=month, what="correct", reason="a late sheet").url.path
    wait_until_ended(ada, address)
    assert "there is nothing to correct" in ada.get(address).text, "every run came in after that month"
    assert read_results(desk.pool, month)["edition"] == 1
    assert "a late sheet" not in index.read_text(encoding="utf-8")


def test_the_inbox_shows_a_verdict_on_sheets_that_came_another_way(desk: ServedDesk) -> None:
    (desk.pool / "inbox").mkdir(exist_ok=True)
    (desk.pool / "inbox" / "by mail.csv").write_text(small_sheet("snipe-4", drain_time="3:3"))
    ada = desk.member("ada", "coordinator")
    assert "/room/inbox/by%20mail.csv" in ada.get("/room").text
    page = ada.get("/room/inbox/by mail.csv")
    assert page.status_code == 200
    assert "by mail.csv" in page.text
    assert ada.get("/room/inbox/nothing.csv").status_code == 404


def open_port(port: int) -> bool:
    with socket.socket() as asking:
        return asking.connect_ex(("127.0.0.1", port)) == 0


def test_the_command_opens_a_desk_and_says_the_first_link(tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [
        sys.executable,
        "-m",
        "pipeline.cli",
        "desk",
        "--pool",
        str(tmp_path / "pool"),
        "--port",
        str(port),
    ]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    process = subprocess.Popen(words, stderr=subprocess.PIPE, text=True, env=environment)
    try:
        assert process.stderr is not None
        link = process.stderr.readline().split()[-1]
        assert "is open at" in process.stderr.readline()
        with httpx.Client(
            follow_redirects=True, trust_env=False, transport=httpx.HTTPTransport(retries=20)
        ) as client:
            wait_for(lambda: open_port(port))
            page = client.get(link)
            assert "you become a coordinator" in page.text
            room = client.post(
                link, data={"csrf_token": csrf_token_in(page.text), "passphrase": "four odd words here"}
            )
            assert room.url.path == "/room"
        second = subprocess.run(
            words, capture_output=True, text=True, env=environment, timeout=PATIENCE_S, check=False
        )
        assert second.returncode == 3
        assert "Choose another --port" in second.stderr
        assert "Traceback" not in second.stderr
    finally:
        process.terminate()
        process.wait(timeout=PATIENCE_S)


def test_a_broken_setting_is_told_kindly_and_logged(desk: ServedDesk) -> None:
    (desk.pool / "settings.toml").write_text("target_ratio = yes please")
    visitor = desk.visitor()
    assert visitor.get("/").status_code == 200
    answer = send(visitor, "a.csv", small_sheet())
    assert answer.status_code == 503
    assert "can’t be read just now" in answer.text
    assert desk.logged("settings.toml")
