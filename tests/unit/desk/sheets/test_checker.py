"""The one worker that checks: together what arrives together, one sheet's fault never another's."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from datetime import UTC, date, datetime

import pytest

from pipeline.desk.sheets.checker import Checker
from pipeline.jobs.receiving.page_check import CheckedSheet
from pipeline.jobs.receiving.sheets import Sheet

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


def finding(sheet: Sheet) -> CheckedSheet:
    return CheckedSheet(
        {
            "file": sheet.name,
            "rows": 0,
            "accepted": 0,
            "held": 0,
            "waits": 0,
            "problems": [],
            "readings": [],
            "results": [],
        },
        True,
        sheet.name,
    )


def test_sheets_that_arrive_together_are_checked_together() -> None:
    batches: list[int] = []

    def look(sheets: Sequence[Sheet], today: date) -> list[CheckedSheet]:
        assert today == NOON.date()
        batches.append(len(sheets))
        return [finding(sheet) for sheet in sheets]

    async def fifty() -> list[CheckedSheet]:
        checker = Checker(look, lambda: NOON)
        return await asyncio.gather(*(checker.check(Sheet(f"{at}.csv", b"x")) for at in range(50)))

    found = asyncio.run(fifty())
    assert [one.submission for one in found] == [f"{at}.csv" for at in range(50)]
    assert len(batches) <= 2


def test_big_sheets_are_not_piled_up() -> None:
    batches: list[int] = []

    def look(sheets: Sequence[Sheet], _today: date) -> list[CheckedSheet]:
        batches.append(len(sheets))
        return [finding(sheet) for sheet in sheets]

    async def three() -> None:
        checker = Checker(look, lambda: NOON)
        await asyncio.gather(*(checker.check(Sheet(f"{at}.csv", b"x" * 5_000_000)) for at in range(3)))

    asyncio.run(three())
    assert batches == [1, 1, 1]


def test_one_sheet_that_breaks_the_check_breaks_only_its_own() -> None:
    def look(sheets: Sequence[Sheet], _today: date) -> list[CheckedSheet]:
        if any(sheet.name == "bad.csv" for sheet in sheets):
            raise RuntimeError("broken")
        return [finding(sheet) for sheet in sheets]

    async def three() -> list[CheckedSheet | BaseException]:
        checker = Checker(look, lambda: NOON)
        names = ("a.csv", "bad.csv", "b.csv")
        return await asyncio.gather(
            *(checker.check(Sheet(name, b"")) for name in names), return_exceptions=True
        )

    first, broken, last = asyncio.run(three())
    assert isinstance(first, CheckedSheet)
    assert isinstance(broken, RuntimeError)
    assert isinstance(last, CheckedSheet)
    with pytest.raises(RuntimeError):
        raise broken
