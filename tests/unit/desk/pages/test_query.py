"""Asking the pool: the address is the question, the answer is that of `query`, wrong words are said in the page."""

from __future__ import annotations

import csv
import io

import httpx
import pytest

from pipeline.desk.pages.query import as_options, in_page_words
from pipeline.jobs.query.part import read_part
from pipeline.jobs.query.steps import answer
from pipeline.jobs.query.text import as_csv
from tests.unit.desk.tested_desk import TestedDesk


@pytest.fixture(scope="module")
def visitor(desk: TestedDesk) -> httpx.Client:
    return desk.visitor()


def test_without_a_question_there_is_only_the_form(visitor: httpx.Client) -> None:
    text = visitor.get("/ask").text
    assert "What the pool says" not in text and 'action="/ask"' in text


def test_the_answer_is_that_of_the_command(desk: TestedDesk, visitor: httpx.Client) -> None:
    assert visitor.get("/ask.csv?setup=rack").text == as_csv(
        answer(desk.pool, read_part({"setup": "rack"}), None)
    )


def test_the_page_shows_every_share_of_the_answer(desk: TestedDesk, visitor: httpx.Client) -> None:
    text = visitor.get("/ask?ask=yes&setup=rack").text
    rows = list(csv.DictReader(io.StringIO(visitor.get("/ask.csv?setup=rack").text)))
    assert rows and "What the pool says" in text
    for row in rows:
        assert f'<th scope="row">{float(row["share"]):g} %</th>' in text
    assert 'href="/ask.csv?setup=rack"' in text


def test_an_empty_part_is_answered_in_words(visitor: httpx.Client) -> None:
    answered = visitor.get("/ask?since=2030-01-01")
    assert answered.status_code == 200
    assert "fewer than 3 growers" in answered.text and "Ask about a wider part" in answered.text


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("/ask?climate=Zzz", "“Zzz”"),
        ("/ask?setup=table", "rack, strainer"),
        ("/ask?pot_from=2&pot_to=1", "pot size"),
        ("/ask?since=yesterday", "since: “yesterday” is not a day"),
        ("/ask?by=colour", "by: “colour” is not known"),
        ("/ask?grade=%3Cb%3E", "&lt;b&gt;"),
    ],
)
def test_a_question_that_cannot_be_read_is_told_as_the_page_calls_it(
    visitor: httpx.Client, address: str, words: str
) -> None:
    answered = visitor.get(address)
    assert answered.status_code == 400
    assert words in answered.text and "--" not in answered.text.split('role="alert">')[1].split("</p>")[0]
    assert visitor.get(address.replace("/ask?", "/ask.csv?")).status_code == 400


@pytest.mark.parametrize(
    ("asked", "volume"),
    [
        ({}, None),
        ({"pot_from": "0.5"}, "0.5l.."),
        ({"pot_to": "2"}, "..2l"),
        ({"pot_from": "500 ml", "pot_to": "1 gal"}, "500 ml..1 gal"),
    ],
)
def test_pot_sizes_without_a_unit_are_litres(asked: dict[str, str], volume: str | None) -> None:
    assert as_options(asked)["pot_volume"] == volume
    assert "by" not in as_options({"by": "climate"})


def test_options_are_called_as_in_the_page() -> None:
    assert (
        in_page_words("--pot-volume: “1” is not a range; --since …")
        == "pot size: “1” is not a range; since …"
    )


def test_too_many_questions_are_asked_to_wait(desk: TestedDesk) -> None:
    visitor = desk.visitor()
    statuses = {
        visitor.get("/ask.csv?since=2030-01-01").status_code for _ in range(desk.desk.limits.queries.most + 1)
    }
    assert statuses == {200, 429}
