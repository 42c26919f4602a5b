"""A pool that drainpool 0.1.0 wrote: opened, verified, rebuilt, asked, corrected, withdrawn from, erased from."""

from __future__ import annotations

import json
import shutil
import tarfile
from argparse import Namespace
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from pipeline.commands.month import month
from pipeline.errors import DrainpoolError
from pipeline.jobs.decisions.steps import restore_runs, withdraw_runs
from pipeline.jobs.keeping.erasing import erase_member
from pipeline.jobs.keeping.steps import rebuild_pool, verify_pool, waiting_by_member
from pipeline.jobs.month.figures import figures
from pipeline.jobs.month.steps import MonthOrder, next_edition, write_month
from pipeline.load.changes.editions import editions
from pipeline.load.database import kept_rows, store, version_0_1_0
from pipeline.load.truth import journal
from pipeline.load.truth.receipts import receipts_in
from pipeline.load.views.reading import runs_in_force, view
from schemas.kinds.run import RUN
from schemas.trade.labels import mentions
from schemas.version import VERSION
from tests.store.month_by_hand import CLOCKS
from tests.story.pool_fixture import drainpool, small_sheet, write

NOW = datetime(2026, 11, 29, 12, tzinfo=UTC)
"""A day after the pool was written, whenever the tests run: months later every change of it is asked about first."""
GOLDEN = Path(__file__).parent / "golden" / "0.1.0"


def quiet(_words: str) -> None:
    pass


def fresh(folder: Path) -> Path:
    with tarfile.open(GOLDEN / "pool.tar.xz") as bundle:
        bundle.extractall(folder, filter="data")
    return folder / "pool"


@pytest.fixture(scope="module", autouse=True)
def a_day_later() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        for place in CLOCKS:
            patch.setattr(place, lambda: NOW)
        yield


@pytest.fixture(scope="module")
def opened_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pool after its first opening by this version, which is a verify."""
    pool = fresh(tmp_path_factory.mktemp("golden"))
    assert [one for one in verify_pool(pool, "tester", quiet) if one.damage] == []
    return pool


@pytest.fixture
def pool(opened_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(opened_once, tmp_path / "pool"))


def contents(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def test_readers_are_told_what_to_type_before_the_first_opening(tmp_path: Path) -> None:
    pool = fresh(tmp_path)
    with pytest.raises(DrainpoolError, match=r"older drainpool.*drainpool verify --pool"):
        view(pool)


def test_a_load_brings_it_up_by_itself(tmp_path: Path) -> None:
    pool = fresh(tmp_path)
    sheet = write(tmp_path, "newt-9.csv", small_sheet("newt-9"))
    done = drainpool("load", sheet, "--pool", pool, "--format", "json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["files"][0]["accepted"] == 2
    assert "newt-9" in runs_in_force(pool)["member_key"].to_list()
    events = [line.event for line in journal.read(pool)[0]]
    assert events.count("upgraded") == 1 and events[-1] == "received"


def test_its_rows_are_kept_once_and_named_by_one_line(opened_once: Path) -> None:
    lines, _ = journal.read(opened_once)
    (upgrade,) = [line for line in lines if line.event == "upgraded"]
    assert upgrade.n == 23 and upgrade.payload["read_differently"] == []
    before, after = receipts_in(lines[:22]), receipts_in(lines)
    (digest,) = {one.rows_kept for one in after.values() if one.rows_kept is not None}
    assert kept_rows.place(opened_once, digest).exists()
    runs, held = kept_rows.recall(opened_once, digest, RUN)
    hashes = version_0_1_0.row_hashes(runs, held, list(before))
    assert all(hashes[n] == (one.rows_sha256, one.held_sha256) for n, one in before.items())
    assert not list(opened_once.rglob("*.remains.json"))


def test_a_second_opening_changes_nothing(pool: Path) -> None:
    before = contents(pool)
    findings = verify_pool(pool, "tester", quiet)
    assert contents(pool) == before
    assert {"drainpool 0.1.0 made it; it stands as it is"} <= {one.words for one in findings}


def test_it_is_rebuilt_from_the_kept_rows_and_from_nothing(pool: Path, tmp_path: Path) -> None:
    runs, held = view(pool).runs, view(pool).held
    (pool / store.STORE).unlink()
    rebuild_pool(pool, quiet)
    assert view(pool).runs.equals(runs) and view(pool).held.equals(held)
    lost = fresh(tmp_path / "lost")
    (lost / store.STORE).unlink()
    shutil.rmtree(lost / store.PUBLISHED)
    said: list[str] = []
    rebuild_pool(lost, said.append)
    assert view(lost).runs.height >= runs.height - 1, "today's rules hold one time that 0.1.0 read"


def test_rules_that_became_stricter_are_listed_and_change_nothing(pool: Path) -> None:
    before = runs_in_force(pool)
    listed = [
        one.where for one in verify_pool(pool, "tester", quiet, reread=True) if "today's rules" in one.words
    ]
    assert len(listed) == 1 and "fen-typographic.csv" in listed[0]
    assert runs_in_force(pool).equals(before)


def test_labels_that_0_1_0_told_apart_are_one_now(pool: Path) -> None:
    series = runs_in_force(pool).filter(member_key="fen-07").select("series_key").unique()
    assert series["series_key"].to_list() == ["spring bench-1"]
    assert withdraw_runs(pool, ("FEN‑07", "Spring bench—1", None), "why", "tester", quiet).series == 1
    assert runs_in_force(pool).filter(member_key="fen-07").is_empty()
    assert restore_runs(pool, ("fen-07", None, None), "why", "tester", quiet).runs >= 3


def test_an_old_withdrawal_still_holds(pool: Path) -> None:
    assert runs_in_force(pool).filter(member_key="stay-02").is_empty()
    assert "stay-02" not in {row["member"] for row in waiting_by_member(pool)}


def test_a_published_edition_stands(pool: Path) -> None:
    before = contents(pool / "reports")
    typed = Namespace(pool=pool, month="2026-03", correct=False, reason=None, publish=False, by_whom="tester")
    answer = month(typed, quiet)
    assert "edition 1 stands as drainpool 0.1.0 published it. Nothing was changed." in str(answer.result)
    assert contents(pool / "reports") == before
    assert before["2026-03/results.json"] == (GOLDEN / "2026-03.results.json").read_bytes()


def test_a_correction_is_made_by_todays_methods_and_says_so(pool: Path) -> None:
    order = MonthOrder(pool, "2026-03", "tester", correct=True, reason="a wrong jug")
    edition = next_edition(order, quiet)
    assert edition.reason == (
        f"a wrong jug. The method changed: drainpool {VERSION} made this edition, 0.1.0 the one before."
    )
    write_month(pool, figures(pool, edition), quiet)
    folder = pool / "reports" / "2026-03"
    assert (folder / "edition-1" / "results.json").read_bytes() == (
        GOLDEN / "2026-03.results.json"
    ).read_bytes()
    assert json.loads((folder / "results.json").read_bytes())["edition"] == 2
    assert "The method changed" in (folder / "index.html").read_text(encoding="utf-8")
    assert [one.version for one in editions(pool, "2026-03")] == ["0.1.0", VERSION]


def test_a_draft_of_0_1_0_is_made_again_and_the_journal_says_so(pool: Path) -> None:
    edition = next_edition(MonthOrder(pool, "2026-04", "tester"), quiet)
    assert (edition.number, edition.version) == (1, VERSION)
    assert next_edition(MonthOrder(pool, "2026-04", "tester"), quiet) == edition


def test_a_member_is_erased_from_it_in_every_spelling(pool: Path) -> None:
    gone = erase_member(pool, "Fen–07", "asked", "tester", quiet)
    assert gone.runs == 5
    for name, content in contents(pool).items():
        assert "fen‐07".encode() not in content and b"fen-07" not in content.lower(), name
        if name.endswith((".jsonl", ".csv", ".html", ".txt")):
            assert not mentions(content.decode(errors="replace"), "fen-07"), name
    assert [one.words for one in verify_pool(pool, "tester", quiet) if one.damage] == []
    rebuild_pool(pool, quiet)
    assert runs_in_force(pool).filter(member_key="fen-07").is_empty()
