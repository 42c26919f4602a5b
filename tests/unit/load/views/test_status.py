"""Which runs are in force: the cases that a random history meets too seldom."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import polars as pl

from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import EVERYTHING, Cutoff
from pipeline.load.views.status import with_status
from schemas.kinds.run import RUN

END = datetime(2026, 3, 31, 23, 59, 59, tzinfo=UTC)


def runs(*cells: tuple[int, float, int]) -> pl.DataFrame:
    """(receipt, share, pot) of one member and series; the row is the position."""
    return pl.DataFrame(
        [(receipt, "m", "s", share, pot, 1, row) for row, (receipt, share, pot) in enumerate(cells)],
        schema={
            "receipt": pl.Int64,
            "member_key": pl.String,
            "series_key": pl.String,
            "component_share": pl.Float64,
            "pot_no": pl.Int64,
            "pour_no": pl.Int64,
            "sheet_row": pl.Int64,
        },
        orient="row",
    )


def receipts(*days: datetime, whole: tuple[int, ...] = ()) -> pl.DataFrame:
    """Receipts 1, 2, 3 … received on these days."""
    return pl.DataFrame(
        [
            (number, f"hash{number}", day.replace(tzinfo=None), number in whole)
            for number, day in enumerate(days, start=1)
        ],
        schema={
            "receipt": pl.Int64,
            "submission": pl.String,
            "received": pl.Datetime("us"),
            "whole_series": pl.Boolean,
        },
        orient="row",
    )


def day(month: int, number: int) -> datetime:
    return datetime(2026, month, number, tzinfo=UTC)


def stood(seen: pl.DataFrame) -> dict[int, str]:
    """Row -> status."""
    return dict(seen.sort("sheet_row").select("sheet_row", "status").rows())


def line(n: int, event: str, **payload: Any) -> Line:
    private = payload.pop("private", None)
    return Line(n, day(4, 1), "x", event, payload, private, None, "", "")


def test_a_chain_of_near_shares_is_mended_step_by_step() -> None:
    chain = runs((1, 33.0, 1), (2, 33.4, 1), (3, 33.8, 1))
    seen = with_status(chain, receipts(day(3, 1), day(3, 2), day(3, 3)), [], EVERYTHING, RUN)
    assert stood(seen) == {0: "replaced", 1: "replaced", 2: "in force"}


def test_a_correction_follows_such_a_chain_beyond_the_month() -> None:
    chain = runs((1, 33.0, 1), (2, 33.4, 1), (3, 33.8, 1), (3, 60.0, 1))
    days = receipts(day(3, 1), day(4, 2), day(4, 3))
    seen = with_status(chain, days, [], Cutoff(received_until=END, known_before=9), RUN)
    assert stood(seen) == {0: "replaced", 1: "replaced", 2: "in force"}, (
        "what a later sheet adds is not the month's"
    )


def test_the_first_edition_knows_nothing_of_later_sheets() -> None:
    chain = runs((1, 33.0, 1), (2, 33.0, 1))
    seen = with_status(chain, receipts(day(3, 1), day(4, 2)), [], Cutoff(END, END, 9), RUN)
    assert stood(seen) == {0: "in force"}


def test_a_correction_knows_only_what_stood_before_its_line() -> None:
    chain = runs((1, 33.0, 1), (2, 33.0, 1))
    seen = with_status(
        chain, receipts(day(3, 1), day(4, 2)), [], Cutoff(received_until=END, known_before=2), RUN
    )
    assert stood(seen) == {0: "in force"}


def test_receipts_of_one_moment_go_by_their_journal_line() -> None:
    chain = runs((2, 33.0, 1), (1, 33.0, 1))
    seen = with_status(chain, receipts(day(3, 1), day(3, 1)), [], EVERYTHING, RUN)
    assert stood(seen) == {0: "in force", 1: "replaced"}


def test_a_whole_series_leaves_nothing_of_the_earlier_ones() -> None:
    chain = runs((1, 0.0, 1), (1, 40.0, 1), (2, 0.0, 5), (3, 40.0, 1))
    seen = with_status(chain, receipts(day(3, 1), day(3, 2), day(3, 3), whole=(2,)), [], EVERYTHING, RUN)
    assert stood(seen) == {0: "replaced", 1: "replaced", 2: "in force", 3: "in force"}


def test_withdrawing_the_newer_sheet_does_not_bring_the_older_back() -> None:
    chain = runs((1, 0.0, 1), (2, 0.0, 1))
    withdrawn = line(3, "withdrawn", scope="submission", submission="hash2")
    seen = with_status(chain, receipts(day(3, 1), day(3, 2)), [withdrawn], EVERYTHING, RUN)
    assert stood(seen) == {0: "replaced", 1: "withdrawn"}


def test_a_decision_never_touches_what_came_after_it() -> None:
    chain = runs((1, 0.0, 1), (4, 40.0, 1))
    withdrawn = line(3, "withdrawn", scope="member", private={"member_key": "m"})
    four = receipts(day(3, 1), day(3, 2), day(3, 3), day(3, 4))
    assert stood(with_status(chain, four, [withdrawn], EVERYTHING, RUN)) == {0: "withdrawn", 1: "in force"}


def test_one_row_set_aside_and_kept_again() -> None:
    chain = runs((1, 0.0, 1), (1, 40.0, 1))
    aside = line(2, "set_aside", scope="row", submission="hash1", sheet_row=1)
    kept = line(3, "kept", scope="row", submission="hash1", sheet_row=1)
    one = receipts(day(3, 1))
    assert stood(with_status(chain, one, [aside], EVERYTHING, RUN)) == {0: "in force", 1: "set aside"}
    assert stood(with_status(chain, one, [aside, kept], EVERYTHING, RUN)) == {0: "in force", 1: "in force"}


def test_an_erased_decision_touches_nothing() -> None:
    chain = runs((1, 0.0, 1))
    erased = line(2, "withdrawn", scope="member", private=None)
    assert stood(with_status(chain, receipts(day(3, 1)), [erased], EVERYTHING, RUN)) == {0: "in force"}
