"""Anything at all sent to every address of the desk: answered, never with “not foreseen”."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Literal
from urllib.parse import quote

import httpx
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as some

from pipeline.desk.sheets.bench_form import field_names
from pipeline.desk.steps import FORMS, PAGES
from tests.story.desk_fixture import ServedDesk, csrf_token_in, served, small_pool

FIELDS = (
    *(
        "code",
        "passphrase",
        "then",
        "member",
        "series",
        "words",
        "kind",
        "submission",
        "role",
        "month",
        "what",
        "reason",
    ),
    *("nickname", "sure", "happened", "mean_1", "rain_1", "mean_unit", "rain_unit", "said", "ask"),
    *("component", "climate", "setup", "grade", "base", "since", "until", "by", "pot_from", "pot_to"),
    *field_names(2),
)
KNOWN_WORDS = (
    "perlite",
    "Cfb",
    "C",
    "rack",
    "heron-12",
    "bench A",
    "2026-03",
    "2026-13-40",
    "run",
    "keep",
    "ask",
    "1",
    "0.5",
    "1e999",
    "NaN",
    "-1",
    "²",
    "٣",
    "",
    "\x00",
    "=1+1",
    "../..",
    "%00",
    "’",
    "𝟙",
)
texts = some.one_of(some.sampled_from(KNOWN_WORDS), some.text(max_size=40))
forms = some.dictionaries(some.sampled_from(FIELDS), texts, max_size=8)
TEXT: tuple[Literal["L", "M", "N", "P", "S", "Z", "Cc", "Cf", "Co", "Cn"], ...] = (
    "L",
    "M",
    "N",
    "P",
    "S",
    "Z",
    "Cc",
    "Cf",
    "Co",
    "Cn",
)
words = some.one_of(
    some.sampled_from(KNOWN_WORDS),
    some.text(alphabet=some.characters(codec="utf-8", categories=TEXT), max_size=24),
)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedDesk]:
    with served(small_pool(tmp_path_factory.mktemp("desk") / "pool")) as open_desk:
        open_desk.desk.limits.uploads.most = 10**6
        open_desk.desk.limits.queries.most = 10**6
        open_desk.desk.limits.wrong_by_account.most = open_desk.desk.limits.wrong_by_address.most = 10**6
        open_desk.desk.months.start = lambda *_asked: None  # type: ignore[method-assign]  # a run takes its own process
        yield open_desk


@pytest.fixture(scope="module")
def people(desk: ServedDesk) -> list[httpx.Client]:
    return [desk.visitor(), desk.member("heron-12"), desk.member("ada", "coordinator")]


def filled(path: str, word: str) -> str:
    """The address with its blanks filled."""
    return re.sub(r"\{[^}]*\}", quote(word, safe="") or "x", path)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=some.integers(0, len(PAGES) - 1), who=some.integers(0, 2), word=words, query=forms)
@example(
    at=[page.path for page in PAGES].index("/ask"),
    who=0,
    word="",
    query={"ask": "yes", "pot_from": "1e999", "by": "pot"},
)
@example(at=[page.path for page in PAGES].index("/mine/runs.csv"), who=1, word="", query={"series": "\x00"})
def test_every_page_answers_whatever_is_asked(
    desk: ServedDesk, people: list[httpx.Client], at: int, who: int, word: str, query: dict[str, str]
) -> None:
    answer = people[who].get(filled(PAGES[at].path, word), params=query)
    assert answer.status_code < 500, (PAGES[at].path, word, query, desk.log[-2:])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=some.integers(0, len(FORMS) - 1), who=some.integers(0, 2), word=words, form=forms)
def test_every_form_is_taken_or_refused(
    desk: ServedDesk, people: list[httpx.Client], at: int, who: int, word: str, form: dict[str, str]
) -> None:
    path = FORMS[at].path
    if path == "/sign-out" or (path == "/mine/leave" and form.get("sure", "").casefold() == "heron-12"):
        return
    if path == "/room/revoke" and form.get("code", "").casefold() in ("heron-12", "ada"):
        return
    csrf_token = csrf_token_in(people[who].get("/send").text)
    answer = people[who].post(filled(path, word), data={**form, "csrf_token": csrf_token})
    assert answer.status_code < 500, (path, form, desk.log[-2:])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    content=some.binary(max_size=400),
    name=some.sampled_from(["a.csv", "a.xlsx", "a.txt", "ü.tsv", "a.exe", "", "."]),
)
@example(content=b"PK\x03\x04", name="a.xlsx")
@example(content=b"\xff\xfe" + "member,series\n".encode("utf-16-le"), name="a.csv")
def test_every_sheet_is_read_or_refused(
    desk: ServedDesk, people: list[httpx.Client], content: bytes, name: str
) -> None:
    csrf_token = csrf_token_in(people[0].get("/send").text)
    answer = people[0].post("/send", data={"csrf_token": csrf_token}, files={"sheet": (name, content)})
    assert answer.status_code < 500, (content, name, desk.log[-2:])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    body=some.binary(max_size=300),
    kind=some.sampled_from(
        [
            "multipart/form-data; boundary=x",
            "multipart/form-data",
            "application/x-www-form-urlencoded",
            "application/json",
            "text/plain",
            'multipart/form-data; boundary="',
            "",
        ]
    ),
    at=some.integers(0, len(FORMS) - 1),
)
@example(body=b"--x\r\n", kind="multipart/form-data; boundary=x", at=0)
def test_a_body_of_any_kind_is_refused(
    desk: ServedDesk, people: list[httpx.Client], body: bytes, kind: str, at: int
) -> None:
    answer = people[2].post(filled(FORMS[at].path, "x"), content=body, headers={"content-type": kind})
    assert 400 <= answer.status_code < 500


def test_cookies_of_any_kind_are_nobody(desk: ServedDesk) -> None:
    for cookie in ("x", "1.2", "1.2.3", "a.b.c", "1." + "9" * 40 + "." + "0" * 64, ".", "é", "1.1e9.x"):
        answer = httpx.get(
            f"{desk.address}/mine",
            headers={
                b"cookie": f"drainpool_session={cookie}; drainpool_anonymous_session=x".encode("latin-1")
            },
            trust_env=False,
        )
        assert answer.status_code == 303


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_find_nothing(desk: ServedDesk, method: str) -> None:
    assert httpx.request(method, f"{desk.address}/room", trust_env=False).status_code == 404


def test_the_kept_list_of_addresses_is_the_whole_of_them() -> None:
    """A new address must be met by the fuzz: the tables are what the application is made from."""
    assert len({page.path for page in PAGES}) == len(PAGES)
    assert all(
        path.startswith("/") for path in (*(page.path for page in PAGES), *(form.path for form in FORMS))
    )
