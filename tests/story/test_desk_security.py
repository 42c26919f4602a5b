"""The desk under attack: each refused, logged where it is an offence, and nothing changed."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from pipeline.desk.steps import FORMS
from tests.story.desk_fixture import PASSPHRASE, ServedDesk, csrf_token_in, post, send, served, small_pool
from tests.story.pool_fixture import small_sheet
from tests.story.sheets import PLAIN, sheet_text


@pytest.fixture(scope="module")
def pool(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_pool(tmp_path_factory.mktemp("desk") / "pool")


@pytest.fixture
def desk(pool: Path) -> Iterator[ServedDesk]:
    with served(pool) as open_desk:
        yield open_desk


def test_another_members_receipt_is_not_there(desk: ServedDesk) -> None:
    heron, otter = desk.member("heron-12"), desk.member("otter-3")
    link = send(heron, "heron.csv", small_sheet("heron-12", drain_time="3:01")).url.path
    receipt = post(heron, link, f"{link}/send")
    assert receipt.status_code == 200
    assert "/receipts/" in receipt.url.path
    other = otter.get(receipt.url.path)
    assert other.status_code == 404
    assert without_csrf_token(other.text) == without_csrf_token(otter.get("/receipts/20260101-abcdefgh").text)
    assert desk.logged("otter-3 asked for another member's receipt")
    assert desk.visitor().get(receipt.url.path).url.path == "/sign-in"


def without_csrf_token(text: str) -> str:
    """A page without its mark."""
    return re.sub(r"[0-9a-f]{64}", "", text)


def test_a_sheet_with_another_members_code_is_held_whole(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    before = desk.state()
    link = send(
        heron, "mixed.csv", small_sheet("heron-12") + small_sheet("snipe-4").split("\n", 1)[1]
    ).url.path
    page = heron.get(link)
    assert "held whole" in page.text
    assert f"{link}/send" not in page.text
    answer = post(heron, "/send", f"{link}/send")
    assert answer.status_code == 403
    assert desk.state() == before
    assert desk.logged("sent a sheet with codes snipe-4")


def test_the_coordinator_sends_for_a_member(desk: ServedDesk) -> None:
    ada = desk.member("ada", "coordinator")
    link = send(ada, "plover.csv", small_sheet("plover-9", drain_time="3:07")).url.path
    receipt = post(ada, link, f"{link}/send")
    assert receipt.status_code == 200
    assert desk.member("plover-9").get(receipt.url.path).status_code == 200


@pytest.mark.parametrize("action", [form.path for form in FORMS])
def test_a_form_without_its_csrf_token_is_refused_everywhere(desk: ServedDesk, action: str) -> None:
    ada = desk.member("ada", "coordinator")
    invitation = desk.desk.accounts.invite("new-1", "member", "ada", desk.desk.clock())
    link = send(ada, "a.csv", small_sheet()).url.path.split("/")[-1]
    path = action.replace("{token}", invitation if "invitation" in action else link)
    book, before = desk.desk.accounts.read(), desk.state()
    for forged in (
        {},
        {"csrf_token": "0" * 64},
        {"csrf_token": csrf_token_in(desk.visitor().get("/send").text)},
    ):
        answer = ada.post(
            path,
            data={**forged, "code": "heron-12", "passphrase": PASSPHRASE, "month": "2026-03", "what": "run"},
        )
        assert answer.status_code == 403, path
    assert desk.desk.accounts.read() == book
    assert desk.state() == before
    assert desk.logged("form without its CSRF token")


@pytest.mark.parametrize(
    "name", ["../../pool.duckdb.csv", "a/b.csv", "a\\b.csv", "..", "x\r\ny.csv", "/etc/passwd.csv"]
)
def test_a_path_in_a_file_name_is_refused(desk: ServedDesk, name: str) -> None:
    heron, before = desk.member("heron-12"), desk.state()
    body, kind = multipart(csrf_token_in(heron.get("/send").text), name)
    answer = heron.post("/send", content=body, headers={"content-type": kind})
    assert answer.status_code == 400
    assert desk.state() == before
    assert desk.logged("a file name that holds a path") or desk.logged("could not be read")


def multipart(csrf_token: str, name: str) -> tuple[bytes, str]:
    """A body as no honest browser writes it: the file name just as given."""
    quoted = name.replace("\\", "\\\\")
    parts = (
        f'--edge\r\ncontent-disposition: form-data; name="csrf_token"\r\n\r\n{csrf_token}\r\n'
        f'--edge\r\ncontent-disposition: form-data; name="sheet"; filename="{quoted}"\r\ncontent-type: text/csv\r\n\r\nmember\r\n--edge--\r\n'
    )
    return parts.encode(), "multipart/form-data; boundary=edge"


def test_twenty_five_megabytes_are_too_much(desk: ServedDesk) -> None:
    heron, before = desk.member("heron-12"), desk.state()
    answer = send(heron, "big.csv", b"member,series\n" + b"x" * 25_000_000)
    assert answer.status_code == 413
    assert "20 MB" in answer.text
    assert desk.state() == before
    assert desk.logged("refused 413")


def test_too_many_rows_are_too_much(desk: ServedDesk) -> None:
    answer = send(desk.visitor(), "long.csv", b"member\n" + b"a\n" * 200_001)
    assert answer.status_code == 413
    assert "200 000 rows" in answer.text


def test_a_big_sheet_keeps_nobody_waiting_and_is_read(desk: ServedDesk) -> None:
    rows = [{**PLAIN, "series": f"s{number}", "notes": "x" * 90} for number in range(8_000)]
    answer = send(desk.visitor(), "big.csv", sheet_text(rows))
    assert "8000 rows, 8000 accepted, 0 held" in answer.text


def test_a_form_of_a_megabyte_is_too_much(desk: ServedDesk) -> None:
    client = desk.visitor()
    answer = post(client, "/sign-in", "/sign-in", code="a" * 1_000_000, passphrase="x")  # noqa: S106
    assert answer.status_code in (400, 413)


def test_a_workbook_that_unpacks_to_gigabytes_is_not_read(desk: ServedDesk) -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/workbook.xml", "<workbook/>")
        with archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as sheet:
            for _ in range(300):
                sheet.write(b"0" * 1_000_000)
    before = desk.state()
    answer = send(desk.visitor(), "bomb.xlsx", packed.getvalue())
    assert answer.status_code == 200
    assert "could not be read as a run sheet" in answer.text
    assert "Send it" not in answer.text
    assert desk.state() == before
    assert desk.logged("workbook_too_large")


def test_markup_that_a_member_typed_is_only_text(desk: ServedDesk) -> None:
    evil = "<script>alert(1)</script><img src=x onerror=alert(2)>{{7*7}}"
    sheet = sheet_text([{**PLAIN, "notes": evil, "setup_type": evil, "series": "<b>x</b>"}])
    answer = send(desk.visitor(), "<svg onload=alert(3)>.csv", sheet)
    assert answer.status_code == 200
    assert "&lt;script&gt;" in answer.text
    for raw in ("<script>alert", "<img src=x", "<svg onload", "<b>x</b>", "49</"):
        assert raw not in answer.text
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "unsafe" not in answer.headers["content-security-policy"]


def test_a_thousand_guesses_open_nothing(desk: ServedDesk) -> None:
    desk.account("heron-12")
    client = desk.visitor()
    csrf_token = csrf_token_in(client.get("/sign-in").text)
    statuses = [
        client.post(
            "/sign-in",
            data={
                "csrf_token": csrf_token,
                "code": f"heron-{12 if at % 2 else at}",
                "passphrase": f"guess number {at}",
            },
        ).status_code
        for at in range(1000)
    ]
    assert statuses.count(401) == 20
    assert statuses.count(429) == 980
    right = client.post(
        "/sign-in", data={"csrf_token": csrf_token, "code": "heron-12", "passphrase": PASSPHRASE}
    )
    assert right.status_code == 429
    assert "drainpool_session" not in client.cookies
    assert sum("refused 401" in line for line in desk.log) == 20
    assert not any("guess number" in line for line in desk.log)


def test_five_wrong_tries_close_one_account_for_a_while_and_no_other(desk: ServedDesk) -> None:
    desk.account("heron-12")
    desk.account("otter-3")
    client = desk.visitor()
    for _ in range(5):
        wrong = post(client, "/sign-in", "/sign-in", code="HERON-12", passphrase="wrong words")  # noqa: S106
        assert wrong.status_code == 401
    assert post(client, "/sign-in", "/sign-in", code="heron-12", passphrase=PASSPHRASE).status_code == 429
    assert post(client, "/sign-in", "/sign-in", code="otter-3", passphrase=PASSPHRASE).status_code == 200


def test_a_session_is_over_once_it_is_revoked(desk: ServedDesk) -> None:
    heron, ada = desk.member("heron-12"), desk.member("ada", "coordinator")
    assert heron.get("/mine").url.path == "/mine"
    stolen = dict(heron.cookies)
    assert post(ada, "/room/people", "/room/revoke", code="heron-12").status_code == 200
    assert heron.get("/mine").url.path == "/sign-in"
    thief = httpx.Client(base_url=desk.address, cookies=stolen, follow_redirects=True, trust_env=False)
    assert thief.get("/mine").url.path == "/sign-in"


def test_a_session_is_over_once_it_is_signed_out(desk: ServedDesk) -> None:
    heron = desk.member("heron-12")
    stolen = dict(heron.cookies)
    post(heron, "/mine", "/sign-out")
    thief = httpx.Client(base_url=desk.address, cookies=stolen, follow_redirects=True, trust_env=False)
    assert thief.get("/mine").url.path == "/sign-in"


def test_the_room_is_not_there_for_members(desk: ServedDesk) -> None:
    heron, before = desk.member("heron-12"), desk.state()
    for path in ("/room", "/room/people", "/room/inbox/a.csv", "/room/month/20260101T000000-2026-01"):
        assert heron.get(path).status_code == 404
    for path in ("/room/month", "/room/invite", "/room/revoke", "/room/decide", "/room/withdraw"):
        assert (
            heron.post(path, data={"csrf_token": csrf_token_in(heron.get("/mine").text)}).status_code == 404
        )
    assert desk.state() == before


def test_nobody_withdraws_or_answers_for_another(desk: ServedDesk) -> None:
    heron, before = desk.member("heron-12"), desk.state()
    assert post(heron, "/mine", "/mine/withdraw", series="no such series").status_code == 404
    assert post(heron, "/mine", "/mine/answer", series="bench A", words="x").status_code == 404
    assert desk.state() == before


@pytest.mark.parametrize(
    "path",
    [
        "../journal.jsonl",
        "2026-03/../../journal.jsonl",
        "2026-03/%2e%2e/%2e%2e/journal.jsonl",
        ".git",
        "2026-03/.hidden",
        "%2e%2e%2fdesk%2faccounts.json",
    ],
)
def test_no_address_leads_out_of_the_reports(desk: ServedDesk, path: str) -> None:
    ada = desk.member("ada", "coordinator")
    assert ada.get(f"/reports/{path}").status_code == 404


def test_signing_in_never_leads_to_another_site(desk: ServedDesk) -> None:
    desk.account("heron-12")
    client = httpx.Client(base_url=desk.address, trust_env=False)
    for then in ("//evil.example", "https://evil.example", "/\\evil.example", "javascript:alert(1)", "/x//y"):
        csrf_token = csrf_token_in(client.get("/sign-in").text)
        answer = client.post(
            "/sign-in",
            data={"csrf_token": csrf_token, "code": "heron-12", "passphrase": PASSPHRASE, "then": then},
        )
        assert answer.headers["location"] == "/mine"
        client.cookies.clear()


def test_cookies_are_kept_from_scripts_and_other_sites(desk: ServedDesk) -> None:
    desk.account("heron-12")
    client = httpx.Client(base_url=desk.address, trust_env=False)
    first = client.get("/sign-in")
    anonymous = first.headers["set-cookie"].lower()
    assert "httponly" in anonymous
    assert "samesite=strict" in anonymous
    answer = client.post(
        "/sign-in",
        data={"csrf_token": csrf_token_in(first.text), "code": "heron-12", "passphrase": PASSPHRASE},
    )
    session = answer.headers["set-cookie"].lower()
    assert "httponly" in session
    assert "samesite=lax" in session


def test_a_forwarded_address_counts_for_nothing_unless_told(desk: ServedDesk) -> None:
    client = desk.visitor()
    csrf_token = csrf_token_in(client.get("/sign-in").text)
    for at in range(21):
        answer = client.post(
            "/sign-in",
            data={"csrf_token": csrf_token, "code": f"nobody-{at}", "passphrase": "wrong words"},
            headers={"x-forwarded-for": f"10.0.0.{at}", "x-forwarded-proto": "https"},
        )
    assert answer.status_code == 429
    assert not any("10.0.0." in line for line in desk.log)


def test_behind_a_proxy_that_is_told_of_each_address_counts_alone_and_cookies_are_for_tls(pool: Path) -> None:
    with served(pool, behind="127.0.0.1") as desk:
        desk.account("heron-12")
        client = httpx.Client(base_url=desk.address, trust_env=False)
        for at in range(21):
            told = {"x-forwarded-for": f"10.0.0.{at}", "x-forwarded-proto": "https"}
            page = client.get("/sign-in", headers=told)
            form = {
                "csrf_token": csrf_token_in(page.text),
                "code": f"nobody-{at}",
                "passphrase": "wrong words",
            }
            anonymous = page.headers["set-cookie"].split(";")[0]
            assert (
                client.post("/sign-in", data=form, headers={**told, "cookie": anonymous}).status_code == 401
            )
            client.cookies.clear()
        assert "; secure" in page.headers["set-cookie"].lower()
        assert page.headers["strict-transport-security"].startswith("max-age=")
        assert desk.logged(" 10.0.0.3 refused 401")
        assert "strict-transport-security" not in client.get("/").headers


def test_thirty_sheets_an_hour(desk: ServedDesk) -> None:
    client = desk.visitor()
    statuses = [send(client, "a.csv", small_sheet()).status_code for _ in range(31)]
    assert statuses == [200] * 30 + [429]


def test_the_unguessable_link_alone_opens_a_check_for_a_day(desk: ServedDesk) -> None:
    link = send(desk.visitor(), "mine.csv", small_sheet("secret-1")).url.path
    assert desk.visitor().get(link).status_code == 200
    assert desk.visitor().get(link[:-1] + "x").status_code == 404
    later = desk.desk.clock
    from datetime import timedelta

    desk.desk.clock = lambda: later() + timedelta(hours=24, seconds=1)
    assert desk.visitor().get(link).status_code == 404
    assert str(small_sheet("secret-1"))[:10] not in "".join(desk.log)
    assert link.split("/")[-1] not in "".join(desk.log)
