"""Moments as text, in journal, files and pages: UTC, whole seconds."""

from __future__ import annotations

from datetime import UTC, datetime

_FORM = "%Y-%m-%dT%H:%M:%SZ"


def moment_text(moment: datetime) -> str:
    """`2026-03-31T23:59:59Z`; fractions of a second are left out."""
    return moment.astimezone(UTC).strftime(_FORM)


def moment_of(text: str) -> datetime:
    """The moment that `moment_text` wrote. Raises ValueError on any other text."""
    return datetime.strptime(text, _FORM).replace(tzinfo=UTC)
