"""Months and moments, all in UTC: what a month covers, and how moments are written."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from pipeline.errors import WrongUseError

EARLIEST_YEAR = 1980


@dataclass(frozen=True, order=True)
class Month:
    """A calendar month; `str()` gives `2026-03`."""

    year: int
    number: int

    def __str__(self) -> str:
        return f"{self.year:04d}-{self.number:02d}"

    @property
    def first_moment(self) -> datetime:
        """Its first second, UTC."""
        return datetime(self.year, self.number, 1, tzinfo=UTC)

    @property
    def last_second(self) -> datetime:
        """Its last whole second, UTC: the moment that the report of an ended month stands for."""
        return self.next.first_moment - timedelta(seconds=1)

    @property
    def next(self) -> Month:
        """The month after it."""
        return Month(self.year + self.number // 12, self.number % 12 + 1)

    def ended(self, now: datetime) -> bool:
        """Whether its last second has passed at `now`."""
        return now > self.last_second


def month_of(moment: datetime) -> Month:
    """The month in which a moment lies, UTC."""
    moment = moment.astimezone(UTC)
    return Month(moment.year, moment.month)


def read_month(typed: str, now: datetime) -> Month:
    """The month as typed, `YYYY-MM`. WrongUseError, worded, where it is no month or has not begun."""
    found = re.fullmatch(r"(\d{4})-(\d{2})", typed.strip(), re.ASCII)
    if found is None or not 1 <= int(found[2]) <= 12 or int(found[1]) < EARLIEST_YEAR:
        raise WrongUseError(f"“{typed}” is no month. A month is written year-month, like 2026-03.")
    month = Month(int(found[1]), int(found[2]))
    if month.first_moment > now:
        raise WrongUseError(f"{month} has not begun. The running month is {month_of(now)}.")
    return month


def read_day(typed: str, option: str) -> date:
    """A day as typed behind an option, `YYYY-MM-DD`. WrongUseError, worded, where it is none."""
    try:
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", typed.strip(), re.ASCII):
            return date.fromisoformat(typed.strip())
    except ValueError:
        pass
    raise WrongUseError(f"{option}: “{typed}” is no day. A day is written year-month-day, like 2026-03-14.")


def as_text(moment: datetime) -> str:
    """A moment as files and pages carry it: `2026-03-31T23:59:59Z`; fractions of a second are left out."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
