"""Rules that relate the columns of one row."""

from __future__ import annotations

from schemas.rules.rule import Rule

RULES: tuple[Rule, ...] = ()
