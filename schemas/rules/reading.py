"""Rules about reading a file: can it be read, are its headings there, is each row whole."""

from __future__ import annotations

from schemas.rules.rule import Rule

RULES: tuple[Rule, ...] = ()
