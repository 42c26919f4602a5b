"""What is asked about an accepted run that waits, in the words of its receipt."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pipeline.check.pace import UNITS, equal_details, far_details
from pipeline.check.wording import shown
from schemas.rules import rule
from schemas.rules.waits import RUN_WAITS
from schemas.trade.amounts import amount_in_words

KEPT_NAMES = {"drain_time": "drain_time_s", "collected": "collected_ml"}


def question_about(run: Mapping[str, Any]) -> str:
    """The sentence about one of `View.waiting`; its value in a person's units, since cells as typed are not kept."""
    if run["rule"] != RUN_WAITS:
        return _worded(run["rule"], "series", run["series"], equal_details(run))
    column = run["column"]
    value = amount_in_words(run[KEPT_NAMES[column]], UNITS[column])
    return _worded(RUN_WAITS, column, value, far_details(run))


def _worded(rule_id: str, column: str, value: str, details: Mapping[str, str]) -> str:
    safe = {name: shown(text) for name, text in details.items()}
    return rule(rule_id).worded(column, shown(value), safe)[0]
