"""The catalogue of check rules: every sentence that a receipt can say about a sheet, once.

The dictionary page, the receipts, the sample files and the tests are made from it or checked against it.
"""

from __future__ import annotations

from schemas.rules import cells, reading, rows, series, waits
from schemas.rules.rule import Level, Rule, Scope

__all__ = ["RULES", "Level", "Rule", "Scope", "rule"]

RULES: tuple[Rule, ...] = (*reading.RULES, *cells.RULES, *rows.RULES, *series.RULES, *waits.RULES)
"""All rules in the order a sheet meets them: reading the file, single cells, whole rows, series, what waits."""

_BY_ID: dict[str, Rule] = {listed.id: listed for listed in RULES}


def rule(rule_id: str) -> Rule:
    """The rule of that id; KeyError where the catalogue has none."""
    return _BY_ID[rule_id]
