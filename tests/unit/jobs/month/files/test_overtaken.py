"""Which changes make a month start over."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from pipeline.jobs.month.files.older import superseded_in
from pipeline.jobs.month.files.overtaken import overtaken_by
from pipeline.load.truth.journal import Change, Line, written
from pipeline.load.truth.records import Edition

BEGUN = datetime(2026, 3, 1, tzinfo=UTC)
MADE = {"month": "2026-02", "edition": 1, "as_of": "2026-02-28T23:59:59Z", "erased": 0, "drainpool": "0.2.0"}
ENDED = Edition("2026-02", 1, datetime(2026, 2, 28, 23, 59, 59, tzinfo=UTC), False, 2, version="0.2.0")
RUNNING = Edition("2026-03", 1, BEGUN, True, None, known=2)


def journal(*events: str) -> list[Line]:
    """A pool that made an edition, then these events."""
    changes = [Change("made", {"layout": 2, "invented": False}), Change("edition", MADE)]
    more = [Change(event, {**MADE, "edition": 9, "receipts": {}}) for event in events]
    return written([*changes, *more], None, BEGUN, "Ann")


@pytest.mark.parametrize("event", ["erased", "edition", "published"])
def test_an_erasure_or_another_edition_overtakes_every_month(event: str) -> None:
    for edition in (ENDED, RUNNING):
        assert overtaken_by(journal(event), edition, 2) is not None
        assert overtaken_by(journal(event), edition, 3) is None or event == "edition"


@pytest.mark.parametrize(
    ("event", "patient", "over"),
    [("received", True, True), ("received", False, False), ("withdrawn", False, True)],
)
def test_a_running_month_starts_over_for_any_change_while_it_is_patient(
    event: str, patient: bool, over: bool
) -> None:
    assert (overtaken_by(journal(event), RUNNING, 2, patient) is not None) is over
    assert overtaken_by(journal(event), ENDED, 2) is None, "an ended month ignores it by itself"


@pytest.mark.parametrize(
    ("published", "marks"),
    [
        ("D", {}),
        ("DD", {1: 2}),
        ("PD", {}),
        ("PDD", {2: 3}),
        ("PDP", {1: 3, 2: 3}),
        ("DP", {1: 2}),
        ("PPD", {1: 2}),
    ],
)
def test_only_a_published_edition_supersedes_a_published_one(published: str, marks: dict[int, int]) -> None:
    editions = [
        Edition("2026-02", number, BEGUN, False, number, published=letter == "P")
        for number, letter in enumerate(published, start=1)
    ]
    assert {one.number: one.by for one in superseded_in(editions)} == marks
