"""Rules about one cell: can it be read as what its column holds."""

from __future__ import annotations

from schemas.rules.rule import Rule

RULES: tuple[Rule, ...] = ()
