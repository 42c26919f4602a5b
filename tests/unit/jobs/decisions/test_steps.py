"""Withdrawing, restoring and deciding: what changes, what is counted, and what is refused without a trace."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.errors import DrainpoolError, WrongUseError
from pipeline.jobs.decisions.steps import decide_runs, one_row, restore_runs, withdraw_runs
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import Moment, load_batch
from pipeline.load.truth.records import Taken
from pipeline.load.views.reading import runs_in_force
from tests.story.pool_fixture import small_sheet

MEMBER, SERIES = "fen-07", "bench A"


def silent(_line: str) -> None:
    """Drops progress."""


def runs_of(pool: Path, member: str = MEMBER) -> int:
    return runs_in_force(pool).filter(member_key=member).height


def decided(
    pool: Path,
    decision: str,
    row: int | None = None,
    submission: str | None = None,
    reason: str = "looked at",
) -> Taken:
    about = (MEMBER, SERIES, row, submission)
    return decide_runs(pool, decision, about, reason, "tests", silent)


def load_again(pool: Path, **changes: str) -> None:
    sheet = Sheet("second.csv", small_sheet(MEMBER, ("40",), **changes).encode())
    load_batch(pool, [sheet], [Moment()], "tests", silent)


@pytest.mark.parametrize("chosen", [(MEMBER, None, None), ("FEN–07", None, None), (MEMBER, "Bench  a", None)])
def test_what_is_withdrawn_comes_back_by_the_same_words(
    pool: Path, chosen: tuple[str, str | None, None]
) -> None:
    before = runs_in_force(pool).sort("submission", "sheet_row")
    taken = withdraw_runs(pool, chosen, "the pot leaked", "tests", silent)
    assert (taken.runs, taken.series, runs_of(pool)) == (2, 1, 0)
    assert withdraw_runs(pool, chosen, "once more", "tests", silent).runs == 0
    assert restore_runs(pool, chosen, "it did not", "tests", silent).runs == 2
    assert runs_in_force(pool).sort("submission", "sheet_row").equals(before)


def test_a_sheet_is_withdrawn_by_the_first_characters_of_its_hash(pool: Path) -> None:
    submission = runs_in_force(pool).filter(member_key=MEMBER)["submission"][0]
    assert withdraw_runs(pool, (None, None, submission[:8].upper()), "wrong file", "tests", silent).runs == 2
    with pytest.raises(WrongUseError, match="too short"):
        withdraw_runs(pool, (None, None, submission[:7]), "wrong file", "tests", silent)
    with pytest.raises(DrainpoolError, match="no submission in this pool"):
        withdraw_runs(pool, (None, None, "0" * 12), "wrong file", "tests", silent)


@pytest.mark.parametrize(
    "chosen", [("nobody-1", None, None), (MEMBER, "another bench", None), (None, None, None)]
)
def test_what_is_not_there_is_refused_and_not_written_down(
    pool: Path, chosen: tuple[str | None, str | None, None]
) -> None:
    journal = (pool / "journal.jsonl").read_bytes()
    with pytest.raises(DrainpoolError):
        withdraw_runs(pool, chosen, "because", "tests", silent)
    assert (pool / "journal.jsonl").read_bytes() == journal


@pytest.mark.parametrize("change", [withdraw_runs, restore_runs])
def test_no_pool_is_made_on_the_way(change: object, tmp_path: Path) -> None:
    assert callable(change)
    with pytest.raises(DrainpoolError):
        change(tmp_path / "none", (MEMBER, None, None), "because", "tests", silent)
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize(("decision", "left"), [("keep", 2), ("ask", 2), ("aside", 0)])
def test_only_setting_aside_takes_runs_out(pool: Path, decision: str, left: int) -> None:
    taken = decided(pool, decision)
    assert taken.runs == 2
    assert runs_of(pool) == left


def test_keeping_puts_back_what_was_set_aside(pool: Path) -> None:
    decided(pool, "aside", 3)
    assert runs_of(pool) == 1
    decided(pool, "keep")
    assert runs_of(pool) == 2


def test_a_row_is_found_in_any_spelling_of_member_and_series(pool: Path) -> None:
    selection = one_row(pool, " FEN‑07 ", "BENCH a", 3, None)
    assert selection.sheet_row == 3 and selection.member is None
    assert len(selection.submission or "") == 64


def test_a_row_that_is_nowhere_is_refused_with_a_way_on(pool: Path) -> None:
    with pytest.raises(DrainpoolError, match=r"row 99.*Leave --row out"):
        one_row(pool, MEMBER, SERIES, 99, None)
    with pytest.raises(DrainpoolError, match="row 3"):
        one_row(pool, MEMBER, SERIES, 3, "0000000000")


def test_a_row_of_two_sheets_needs_the_sheet(pool: Path) -> None:
    load_again(pool, pot_no="2")
    with pytest.raises(DrainpoolError, match=r"2 sheets.*--submission") as refused:
        decided(pool, "aside", 3)
    named = str(refused.value).split("one of: ")[1].rstrip(".").split(", ")
    assert len(named) == 2 and all(len(name) == 12 for name in named)
    assert decided(pool, "aside", 3, named[0]).runs == 1
    assert runs_of(pool) == 3


@pytest.mark.parametrize("reason", ["", "   "])
def test_a_decision_without_a_reason_changes_nothing(pool: Path, reason: str) -> None:
    with pytest.raises(WrongUseError, match="--reason"):
        decided(pool, "aside", reason=reason)
    assert runs_of(pool) == 2
