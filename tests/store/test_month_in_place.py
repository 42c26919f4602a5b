"""A month is put in place under the pool's lock, from figures that nothing has overtaken; what is published stays."""

from __future__ import annotations

import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from pipeline.desk.pool.reports import ReportFolders, ShownMonth
from pipeline.errors import DrainpoolError
from pipeline.jobs.keeping.erasing import erase_member
from pipeline.jobs.keeping.steps import verify_pool
from pipeline.jobs.month.figures import figures
from pipeline.jobs.month.files.publishing import draft_to_publish, publish_month
from pipeline.jobs.month.steps import MonthOrder, next_edition, write_month
from pipeline.load.changes.editions import editions
from reports.publish import moved_down
from schemas.trade.changed import Changed
from schemas.trade.labels import mentions
from tests.store.month_by_hand import begun, contents, made, own_sheet, pool_of, quiet
from tests.story.pool_fixture import drainpool, small_sheet, write

MARCH = "2026-03"


@pytest.fixture(scope="module")
def march(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three growers, March made as a draft."""
    pool = pool_of(tmp_path_factory.mktemp("march"), "fen-01", "fen-02", "fen-03")
    made(pool, MARCH)
    return pool


@pytest.fixture
def pool(march: Path, tmp_path: Path) -> Path:
    shutil.copytree(march, tmp_path / "pool")
    return tmp_path / "pool"


def published(pool: Path) -> None:
    draft = draft_to_publish(pool, MARCH)
    assert draft is not None
    publish_month(pool, draft, "Ann", quiet)


def test_who_was_erased_while_a_month_was_computed_does_not_come_back(pool: Path) -> None:
    values, said = begun(pool, MARCH), list[str]()
    erase_member(pool, "fen-02", "asked", "Ann", quiet)
    before = contents(pool)
    assert write_month(pool, values, said.append) is None
    assert contents(pool) == before, "nothing was written"
    assert said == ["While 2026-03 was being computed, somebody was erased. It is computed again."]
    again = made(pool, MARCH)
    assert (again.edition.number, again.edition.erased) == (2, 3)
    for name, content in contents(pool).items():
        assert not mentions(name, "fen-02") and b"fen-02" not in content, name


def test_a_correction_that_began_meanwhile_is_not_overwritten(pool: Path) -> None:
    values = begun(pool, MARCH)
    drainpool("withdraw", "--pool", pool, "--member", "fen-03", "--reason", "asked")
    made(pool, MARCH, correct=True)
    before = contents(pool / "reports")
    assert write_month(pool, values, quiet) is None
    assert contents(pool / "reports") == before


def test_two_runs_at_once_leave_one_whole_report(pool: Path) -> None:
    before = contents(pool / "reports")
    values = [begun(pool, MARCH) for _ in range(4)]
    with ThreadPoolExecutor(4) as several:
        written = list(several.map(lambda one: write_month(pool, one, quiet), values))
    assert None not in written
    assert contents(pool / "reports") == before
    assert not [path for path in (pool / "reports").iterdir() if path.name.startswith(".")]


def test_publishing_swaps_and_computes_nothing(pool: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = contents(pool / "reports" / MARCH)
    monkeypatch.setattr("pipeline.jobs.month.figures.compare_runs", None)
    published(pool)
    after = contents(pool / "reports" / MARCH)
    assert after.keys() == before.keys()
    assert {name for name in after if after[name] != before[name]} == {
        name for name in before if name.endswith(".html") and b'<main id="answer">' in before[name]
    }
    assert b"Draft" not in after["index.html"] and b"This is a draft" not in after["members/fen-01.html"]
    assert b"draft" not in (pool / "mails" / MARCH / "fen-01.txt").read_bytes()
    assert b"2026-03, edition 1" not in (pool / "reports" / "feed.xml").read_bytes()
    assert b'href="2026-03/index.html"' in (pool / "reports" / "feed.xml").read_bytes()
    monkeypatch.undo()
    made(pool, MARCH)
    assert contents(pool / "reports" / MARCH) == after, "made again as published, it has the same bytes"


def test_a_correction_draft_takes_nothing_from_the_readers_until_it_is_published(pool: Path) -> None:
    published(pool)
    before = contents(pool / "reports" / MARCH)
    drainpool("withdraw", "--pool", pool, "--member", "fen-03", "--reason", "asked")
    made(pool, MARCH, correct=True)
    reports = pool / "reports"
    stands = {
        name: moved_down(content.decode(), name.count("/")).encode() if name.endswith(".html") else content
        for name, content in before.items()
    }
    assert contents(reports / MARCH / "edition-1") == stands, "no mark on what readers see"
    seen = ReportFolders(pool)
    assert seen.months() == [ShownMonth(MARCH, True, draft=2)]
    assert seen.for_readers(f"{MARCH}/members/fen-03.html") == f"{MARCH}/edition-1/members/fen-03.html"
    assert seen.for_readers(f"{MARCH}/") == f"{MARCH}/edition-1/"
    assert seen.for_readers(f"{MARCH}/edition-1/") == f"{MARCH}/edition-1/"
    assert seen.for_readers(f"{MARCH}/edition-2/") is None
    for name in ("feed.xml", "index.html"):
        assert b'href="2026-03/edition-1/index.html"' in (reports / name).read_bytes()
    published(pool)
    assert seen.months() == [ShownMonth(MARCH, True)]
    assert seen.for_readers(f"{MARCH}/") == f"{MARCH}/"
    assert "Superseded: edition 2" in (reports / MARCH / "edition-1" / "index.html").read_text(
        encoding="utf-8"
    )
    assert b'href="2026-03/index.html"' in (reports / "feed.xml").read_bytes()
    assert [one.published for one in editions(pool, MARCH)] == [True, True]
    assert draft_to_publish(pool, MARCH) is None, "published already"


def test_an_edition_that_is_no_longer_the_newest_is_not_published(pool: Path) -> None:
    draft = draft_to_publish(pool, MARCH)
    assert draft is not None
    erase_member(pool, "fen-02", "asked", "Ann", quiet)
    before = contents(pool)
    with pytest.raises(DrainpoolError, match="made anew"):
        publish_month(pool, draft, "Ann", quiet)
    assert contents(pool) == before
    assert draft_to_publish(pool, MARCH) is None, "it has to be made again first"


def test_nothing_typed_by_hand_reaches_a_public_file(pool: Path) -> None:
    words = "Walburga is careless"
    for typed in (
        ("answer", "--member", "fen-03", "--series", "Bench A", "--reason", words, "--why", "leak", "aside"),
        ("withdraw", "--member", "fen-02", "--reason", words),
    ):
        done = drainpool(typed[0], "--pool", pool, *typed[1:])
        assert done.returncode == 0, done.stderr
    values = figures(pool, next_edition(MonthOrder(pool, MARCH, "Ann", True, words), quiet))
    assert values.changed == Changed(withdrawn=3, set_aside=3)
    assert write_month(pool, values, quiet) is not None
    for folder in ("reports", "mails"):
        for name, content in contents(pool / folder).items():
            assert b"Walburga" not in content, name
    front = (pool / "reports" / MARCH / "index.html").read_text(encoding="utf-8")
    assert "Runs: 3 withdrawn and 3 set aside." in front
    assert "a leak" in (pool / "reports" / MARCH / "quality.html").read_text(encoding="utf-8")
    assert "Since the report before: Runs: 3 withdrawn and 3 set aside." in (
        (pool / "mails" / MARCH / "fen-01.txt").read_text(encoding="utf-8").replace("\n", " ")
    )


def test_a_month_says_what_is_new_mended_and_erased(pool: Path, tmp_path: Path) -> None:
    mended = write(tmp_path, "m.csv", small_sheet("fen-01", shares=("40",), drain_time="3:33"))
    new = write(tmp_path, "n.csv", own_sheet("fen-04", 7))
    assert drainpool("load", mended, new, "--pool", pool, "--received", "2026-04-20").returncode == 0
    erase_member(pool, "fen-02", "asked", "Ann", quiet)
    assert begun(pool, "2026-04").changed == Changed(new=3, mended=2, erased=3)


def test_links_of_an_older_edition_lead_on_from_its_own_folder(pool: Path, tmp_path: Path) -> None:
    published(pool)
    for at, day in enumerate(("2026-04-20", "2026-04-21"), start=4):
        sheet = write(tmp_path, f"{at}.csv", own_sheet(f"fen-{at:02}", at))
        assert drainpool("load", sheet, "--pool", pool, "--received", day).returncode == 0
    made(pool, "2026-04")
    for member in ("fen-04", "fen-05"):
        drainpool("withdraw", "--pool", pool, "--member", member, "--reason", "asked")
        made(pool, "2026-04", correct=True)
    assert [one.number for one in editions(pool, "2026-04")] == [1, 2, 3]
    older = (pool / "reports" / "2026-04" / "edition-2" / "index.html").read_text(encoding="utf-8")
    assert 'href="../edition-1/index.html"' in older
    assert [one.words for one in verify_pool(pool, "Ann", quiet)] == []
