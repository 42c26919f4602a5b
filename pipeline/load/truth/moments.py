"""When a sheet counts as received, and when a month ends. All moments are UTC, in whole seconds."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta

from pipeline.errors import DrainpoolError, WrongUseError


def month_end(month: str) -> datetime:
    """Last second of a month written `2026-03`. Raises WrongUseError on anything else."""
    if not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])", month) or month < "1980-01":
        raise WrongUseError(f"“{month}” is not a month. Write it as year and month, like 2026-03.")
    year, number = int(month[:4]), int(month[5:])
    after = datetime(year + number // 12, number % 12 + 1, 1, tzinfo=UTC)
    return after - timedelta(seconds=1)


def month_of(moment: datetime) -> str:
    """The month a moment lies in, `2026-03`."""
    return moment.astimezone(UTC).strftime("%Y-%m")


def is_open(month: str, now: datetime) -> bool:
    """Whether the month is still running (or has not begun) at `now`."""
    return now <= month_end(month)


def whole_seconds(moment: datetime) -> datetime:
    """The moment in UTC without its fraction of a second."""
    return moment.astimezone(UTC).replace(microsecond=0)


def first_free_day(closed: datetime) -> date:
    """First day on which a sheet may still be received, when everything up to `closed` is reported."""
    return (closed + timedelta(seconds=1)).date()


def received_on(day: str, now: datetime, closed: datetime | None) -> datetime:
    """The moment of `--received YYYY-MM-DD`: that day at 00:00:00 UTC.

    Raises WrongUseError on a text that is no day, DrainpoolError on a day that lies in the future or in a
    month whose report has been made (with the first free day)."""
    try:
        moment = datetime.combine(date.fromisoformat(day), datetime.min.time(), UTC)
    except ValueError:
        raise WrongUseError(f"“{day}” is not a day. Write it as year-month-day, like 2026-03-14.") from None
    if moment > now:
        raise DrainpoolError(
            f"--received {day} lies in the future (today is {now.astimezone(UTC):%Y-%m-%d}, UTC). "
            "Nothing was loaded."
        )
    words = closed_words(moment, closed)
    if words is not None:
        raise DrainpoolError(f"--received {day}: {words} Nothing was loaded.")
    return moment


def closed_words(moment: datetime, closed: datetime | None) -> str | None:
    """Why a moment can't be given to a sheet any more, or None where it can."""
    if closed is None or moment > closed:
        return None
    return (
        f"the report of {month_of(closed)} has been made, and it covers everything received up to its end. "
        f"The first free date is {first_free_day(closed)}."
    )


def inbox_moment(
    desk_moment: datetime | None, month: str, now: datetime, closed: datetime | None, first_run: bool
) -> tuple[datetime, str | None]:
    """When a file in the inbox counts as received, and a sentence for its receipt where that needs saying.

    `desk_moment`: what the desk wrote beside the file. Without one it is the moment of the run, except that
    the first run of an ended month takes the file as received at that month's last second. Where a report
    already covers the moment so found, it is the moment of the run."""
    end = month_end(month)
    moment, sentence = whole_seconds(now), None
    if desk_moment is not None:
        moment = min(whole_seconds(desk_moment), moment)
    elif first_run and not is_open(month, now):
        moment = end
        sentence = f"Counted as received at the end of {month} ({end:%Y-%m-%d %H:%M:%S} UTC)."
    if closed is not None and moment <= closed:
        moment = whole_seconds(now)
        sentence = f"Counted as received on {moment:%Y-%m-%d}: the report of {month_of(closed)} has been made already."
    return moment, sentence
