"""What the receipt's page shows of a kept sheet, and to whom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict

from pipeline.desk.mending.replacing import Replacing
from pipeline.desk.sheets.bench_form import ASKED
from pipeline.desk.sheets.receipts import KeptSheet
from pipeline.desk.sheets.told import Told, as_told
from pipeline.desk.web.visitor import Visitor
from pipeline.jobs.own_result.wording import HEADING, SeriesText, not_shown, series_texts
from schemas.kinds.run import RUN
from schemas.rules.questions import ASKED_FIRST
from schemas.trade.cautions import ON_RECEIPTS

SHOWN_PROBLEMS = 200
UNITS_OF_TIME = ("min", "s")
MEASURED = ("volume", "time")


@dataclass(frozen=True)
class Choosing:
    """A column that one of the sender's own may stand for, and the units that its bare numbers may be in."""

    name: str
    meaning: str
    units: tuple[str, ...]


class ReceiptPage(TypedDict):
    """What `receipt.html` shows of a sheet. `units`: readings worth telling. `asked_first`: sentences that
    come before the counts. `choosing`: columns to choose own ones for. `asked`: the form's words for
    its columns, where the form made the sheet; `row`: what one row of it is called. `replacing`: what sending it would do
    to earlier pours; `said`: a sentence above everything else. `held`, `once`, `advice`: the first
    problems of each; `left_out`: how many more there are. `in_pool`: what is there already, for its owner only."""

    kept: KeptSheet
    asked_first: list[str]
    choosing: list[Choosing]
    replacing: Replacing
    said: str
    units: list[list[str]]
    asked: Mapping[str, str]
    row: str
    held: list[Told]
    once: list[Told]
    advice: list[Told]
    left_out: int
    in_pool: list[str]
    own_result: list[SeriesText]
    own_result_heading: str
    own_result_rest: str
    not_sent_because: str | None
    cautions: tuple[str, ...]


def receipt_values(
    kept: KeptSheet, visitor: Visitor, replacing: Replacing | None = None, said: str = ""
) -> ReceiptPage:
    """What the receipt's page shows of a kept sheet to this visitor."""
    own = (
        kept.sent is not None
        or visitor.is_coordinator
        or (visitor.code is not None and not kept.foreign_to(visitor.code))
    )
    held, once, advice = (
        as_told(problems, kept.form) for problems in (kept.held, kept.counted_once, kept.advice)
    )
    return {
        "kept": kept,
        "asked_first": [problem["message"] for problem in kept.advice if problem["rule"] in ASKED_FIRST],
        "choosing": choosing(kept.missing),
        "replacing": replacing or Replacing(),
        "said": said,
        "units": worth_telling(kept.readings),
        "asked": ASKED if kept.form is not None else {},
        "row": "row" if kept.form is None else "pour",
        "held": held[:SHOWN_PROBLEMS],
        "once": once[:SHOWN_PROBLEMS],
        "advice": advice[:SHOWN_PROBLEMS],
        "left_out": sum(max(0, len(told) - SHOWN_PROBLEMS) for told in (held, once, advice)),
        "in_pool": kept.in_pool if own and kept.form is None else [],
        "own_result": series_texts(kept.results),
        "own_result_heading": HEADING,
        "own_result_rest": not_shown(kept.results),
        "not_sent_because": not_sent_because(kept, visitor),
        "cautions": ON_RECEIPTS,
    }


def choosing(missing: Sequence[str]) -> list[Choosing]:
    """The columns to choose for: those that are missing; for the share also the parts that may give it."""
    names = list(dict.fromkeys([*missing, *(["parts"] if "component_share" in missing else [])]))
    return [
        Choosing(
            name, column.meaning, column.form_units or UNITS_OF_TIME if column.unit_kind in MEASURED else ()
        )
        for name in names
        if (column := RUN.by_name.get(name)) is not None
    ]


def worth_telling(readings: list[list[str]]) -> list[list[str]]:
    """Of each column the readings that changed the number, and one of those that only had their unit understood."""
    told, columns = [], set()
    for column, typed, read in readings:
        if typed.replace(" ", "").casefold() == read.replace(" ", "").casefold():
            continue
        number = read.split(" ")[0]
        same = typed.replace(",", ".").split(" ")[0].rstrip("%") == number
        if not same or column not in columns:
            told.append([column, typed, read])
        if same:
            columns.add(column)
    return told


def not_sent_because(kept: KeptSheet, visitor: Visitor) -> str | None:
    """Why this visitor can't send the sheet, in a sentence; None where they can."""
    if visitor.code is None or visitor.is_coordinator:
        return None
    foreign = kept.foreign_to(visitor.code)
    if not foreign:
        return None
    codes = ", ".join(f"“{one[:40]}”" for one in foreign[:3])
    return (
        f"You are signed in as {visitor.code}, and the column member says {codes}. A sheet with another member’s code is held whole: "
        f"write {visitor.code} in that column, or let the coordinator send it for the other member. Nothing was sent."
    )
