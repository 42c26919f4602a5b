"""What a check rule is. The catalogue in `schemas.rules` is the only list of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Level = Literal["held", "advice"]
Scope = Literal["file", "row", "series"]


@dataclass(frozen=True)
class Rule:
    """One thing that is looked at in a member's sheet.

    `id` is plain words joined by underscores. `level` is what follows: a held row stays out of the pool
    until it is mended, advice changes nothing. `scope` is what it looks at: a whole file, one row, or the
    rows of a series together. `message` says what was found, what was expected and what happens now,
    `fix` how to mend it; both are templates over the names in a problem's details, with `{value}` for the
    cell as typed and `{column}` for its column.
    """

    id: str
    title: str
    meaning: str
    level: Level
    scope: Scope
    message: str
    fix: str

    def worded(self, column: str | None, value: str | None, details: Mapping[str, str]) -> tuple[str, str]:
        """Message and fix of one finding, filled in; a blank cell is called so."""
        words = {"column": column or "", "value": value or "", **details}
        message = self.message if value else self.message.replace("“{value}”", "(left blank)")
        return message.format_map(words), self.fix.format_map(words)
