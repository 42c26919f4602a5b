"""What the journal says of every receipt: its line, and what upgrades and erasures changed since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from pipeline.load.truth.journal import Line
from schemas.column import OwnHeadings
from schemas.kinds.run import RUN
from schemas.trade.moments import moment_of

ROW_HASH = 2
"""How rows are hashed by this version (`rows.hash_by_receipt`); absent from a line means 1, drainpool 0.1.0."""


@dataclass(frozen=True)
class Receipt:
    """One receipt as the journal tells of it now. `number`: its journal line. `kind`: name
    of its kind of sheet; a line without one is a run sheet's. `rows_kept`: hash of the file with its
    rows as they were read, None where no row is left, or where version 0.1.0 kept none. `remains`: hash of what that
    version kept of an erased sheet. `columns`: what the member said of own headings. `notes`: what its text receipt says of it besides its rows.
    `row_hash`: how `rows_sha256` and `held_sha256` were made."""

    number: int
    kind: str
    submission: str
    ending: str
    file: str | None
    received: datetime
    rows: int
    accepted: int
    held: int
    readable: bool
    whole_series: bool
    checked_on: str
    settings: str
    rows_sha256: str
    held_sha256: str
    rows_kept: str | None
    row_hash: int
    erased: bool = False
    remains: str | None = None
    columns: OwnHeadings = ()
    notes: tuple[str, ...] = ()


CHANGED = {"rows", "accepted", "held", "rows_sha256", "held_sha256", "rows_kept", "row_hash", "remains"}


def receipts_in(lines: Sequence[Line]) -> dict[int, Receipt]:
    """Every receipt of the journal by its number, in order."""
    receipts: dict[int, Receipt] = {}
    for line in lines:
        if line.event == "received":
            receipts[line.n] = _received(line)
        elif line.event in ("erased", "upgraded"):
            for number, values in line.payload["receipts"].items():
                erased = receipts[int(number)].erased or line.event == "erased"
                receipts[int(number)] = replace(receipts[int(number)], erased=erased, **_changed(values))
            for before, after in line.payload.get("rows_files", {}).items():
                for number, receipt in receipts.items():
                    if receipt.rows_kept == before:
                        receipts[number] = replace(receipt, rows_kept=after)
    return receipts


def received_in(lines: Sequence[Line]) -> dict[int, datetime]:
    """When each receipt counts as received, by its number."""
    return {number: receipt.received for number, receipt in receipts_in(lines).items()}


def _changed(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if name in CHANGED}


def _moment(line: Line) -> datetime:
    """When a receipt counts as received: as written, but never after the moment that its line was put right to."""
    moment = moment_of(line.payload["received"])
    return moment if line.stamped is None else min(moment, line.at)


def _received(line: Line) -> Receipt:
    said = line.payload
    return Receipt(
        number=line.n,
        kind=said.get("kind", RUN.name),
        submission=said["submission"],
        ending=said["ending"],
        file=None if line.private is None else line.private.get("file"),
        received=_moment(line),
        **{name: said[name] for name in ("rows", "accepted", "held", "readable", "whole_series")},
        checked_on=said["checked_on"],
        settings=said["settings"],
        rows_sha256=said["rows_sha256"],
        held_sha256=said["held_sha256"],
        rows_kept=said.get("rows_kept"),
        row_hash=said.get("row_hash", 1),
        columns=tuple((line.private or {}).get("columns", {}).items()),
        notes=tuple((line.private or {}).get("notes", ())),
    )
