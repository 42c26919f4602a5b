"""Months and days as people type them, and moments as files carry them. All in UTC."""

from __future__ import annotations

import re
from datetime import date, datetime

from pipeline.errors import WrongUseError
from pipeline.load.truth.moments import month_end, month_of


def read_month(typed: str, now: datetime) -> str:
    """The month as typed, `YYYY-MM`. WrongUseError, worded, where it is no month or has not begun."""
    month = typed.strip()
    month_end(month)
    if month > month_of(now):
        raise WrongUseError(f"{month} has not begun. The running month is {month_of(now)}.")
    return month


def read_day(typed: str, option: str) -> date:
    """A day as typed behind an option, `YYYY-MM-DD`. WrongUseError, worded, where it is none."""
    try:
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", typed.strip(), re.ASCII):
            return date.fromisoformat(typed.strip())
    except ValueError:
        pass
    raise WrongUseError(f"{option}: “{typed}” is not a day. Write it as year-month-day, like 2026-03-14.")
