"""Small numbers: what anyone asks at the desk tells of nobody; who types `query` beside the pool sees all of it."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from itertools import product
from urllib.parse import urlencode

import polars as pl
import pytest

from pipeline.commands.line.arguments import parse, run
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import Moment, load_batch
from tests.story.desk_fixture import ServedDesk, served
from tests.story.pool_fixture import DemoPool, small_sheet

MANY = ("heron-12", "otter-3", "plover-9", "snipe-4", "teal-21")
LONE = "lone-1"
COUNT = re.compile(r"\b([12]) growers?\b")


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedDesk]:
    """Five growers alike, and one alone in climate, holder, pot, grade and month."""
    pool = tmp_path_factory.mktemp("small") / "pool"
    texts = [small_sheet(code) for code in MANY]
    lone = {"climate_zone": "Csb", "setup_type": "strainer", "pot_volume": "2 l", "component_grade": "coarse"}
    texts.append(small_sheet(LONE, shares=("40", "70"), tested_on="2026-02-17", **lone))
    sheets = [Sheet(f"{at}.csv", text.encode()) for at, text in enumerate(texts)]
    load_batch(pool, sheets, [Moment()] * len(sheets), "tests", lambda _line: None)
    with served(pool) as open_desk:
        yield open_desk


def questions() -> list[dict[str, str]]:
    """Questions that single the lone grower out, alone and together with a split."""
    asked: list[dict[str, str]] = [
        {"climate": "Csb"}, {"setup": "strainer"}, {"pot_from": "1,5"}, {"grade": "coarse"}, {"until": "2026-02-28"},
        {"since": "2026-02-17", "until": "2026-02-17"}, {"climate": "C"}, {"component": "perlite"},
    ]  # fmt: skip
    splits: list[dict[str, str]] = [{}, {"by": "climate"}, {"by": "pot"}, {"by": "setup"}, {"by": "grade"}]
    return [{"ask": "yes", **one, **split} for one, split in product(asked, splits)]


@pytest.mark.deep
def test_no_question_of_a_visitor_or_member_tells_of_one_grower(desk: ServedDesk) -> None:
    people = (desk.visitor(), desk.member("heron-12"))
    desk.desk.limits.queries.most = 1000
    for at, asked in enumerate(questions()):
        person = people[at % 2]
        page = person.get(f"/ask?{urlencode(asked)}")
        assert page.status_code == 200, asked
        answers = re.sub(r'href="[^"]*"', "", page.text[: page.text.index("The question</h2>")])
        assert "2026-02-17" not in answers, asked
        assert COUNT.search(answers) is None, (asked, COUNT.search(answers))
        if "climate" not in asked:
            assert "Csb" not in answers, asked
        for row in csv.DictReader(io.StringIO(person.get(f"/ask.csv?{urlencode(asked)}").text)):
            assert row["members"] == "fewer than 3 growers" or int(row["members"]) >= 3, (asked, row)
            assert row["members"].isdigit() or not row["series"] + row["ratio"] + row["p_faster"], (
                asked,
                row,
            )
            assert row["level"] not in ("Csb", "strainer", "coarse"), (asked, row)


def test_days_are_asked_and_told_by_month(desk: ServedDesk) -> None:
    """One day and its whole month give the same answer, so that a day can't be found by asking."""
    whole = desk.visitor().get("/ask?since=2026-03-01&until=2026-03-31").text
    one_day = desk.visitor().get("/ask?since=2026-03-02&until=2026-03-03").text
    answers = [
        text[text.index('id="answer-1"') : text.index("The question</h2>")] for text in (whole, one_day)
    ]
    answers = [re.sub(r'href="/ask.csv[^"]*"', "", text) for text in answers]
    assert answers[0] == answers[1] and "from 2026-03; tested up to 2026-03" in answers[0]


def queried(desk: ServedDesk, *words: str) -> tuple[str, str]:
    """What `query` answers in full, and its passage for a mail."""
    text = run(parse(["query", "--pool", str(desk.pool), *words]), lambda _line: None).result
    full, passage = str(text).split("To paste into a mail:")
    return full, passage


def test_a_coordinator_and_the_command_see_all_and_the_passage_keeps_the_rule(desk: ServedDesk) -> None:
    ada = desk.member("ada", "coordinator")
    assert "1 grower, 1 series, 3 runs" in ada.get("/ask?climate=Csb").text
    full, passage = queried(desk, "--climate", "Csb")
    assert "1 grower, 1 series, 3 runs" in full
    assert "fewer than 3 growers" in passage and COUNT.search(passage) is None
    full, passage = queried(desk, "--since", "2026-02-17", "--until", "2026-04-30")
    assert "2026-02-17" in full and "2026-02-17" not in passage and "6 growers" in passage


def test_a_main_group_has_the_places_that_are_written_by_its_letter(desk: ServedDesk) -> None:
    assert "6 growers" in desk.visitor().get("/ask?climate=C").text
    assert "5 growers" in desk.visitor().get("/ask?climate=Cfb").text


def test_the_files_of_a_report_keep_the_rule(demo_pool: DemoPool) -> None:
    found = 0
    for path in sorted((demo_pool.folder / "reports").rglob("pool.*")):
        if path.suffix not in (".csv", ".parquet"):
            continue
        frame = pl.read_csv(path, infer_schema=False) if path.suffix == ".csv" else pl.read_parquet(path)
        assert frame["tested_on"].cast(pl.String).str.contains(r"^[0-9]{4}-[0-9]{2}$").all(), path
        for column in ("climate_zone", "hardiness_zone"):
            named = frame.filter(pl.col(column).is_not_null(), pl.col(column) != "unknown")
            wider = pl.col(column).str.extract(r"^([0-9]+|[A-Z])")
            for group, which in ((pl.col(column), pl.col(column) != wider), (wider, pl.lit(True))):
                members = named.filter(which).group_by(group).agg(pl.col("member").n_unique())
                assert members.filter(pl.col("member") < 3).is_empty(), (path, members)
        assert not {"notes", "peat_lot", "component_lot"} & set(frame.columns), path
        found += 1
    assert found >= 4
