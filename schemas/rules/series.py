"""Rules that relate the rows of one series."""

from __future__ import annotations

from schemas.rules.rule import Rule

RULES: tuple[Rule, ...] = ()
