"""A plain stand-in for reading and checking, so that the store is tested alone: sheets of few columns.

A sheet is lines `member,series,share,pot,pour,seconds`; a line whose seconds are no number is held, an
identical repeat is dropped (held at level advice), and a sheet that begins with a NUL can't be read.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.load.changes.receiving import receive
from pipeline.load.database.writer import Writer
from pipeline.load.keeping.opening import writing
from pipeline.load.truth.records import Arrival, Outcome
from schemas.column import OwnHeadings
from schemas.frame_types import polars_type
from schemas.kinds.kind import SheetKind
from schemas.kinds.run import RUN
from schemas.trade.labels import label_key

SETTINGS = {"pool_name": "The pool", "target_ratio": 1.25}
COLUMNS = ("member", "series", "component_share", "pot_no", "pour_no", "drain_time")


@dataclass(frozen=True)
class PlainChecked:
    """The frames that the load stage asks of a check."""

    files: pl.DataFrame
    accepted: pl.DataFrame
    held: pl.DataFrame
    problems: pl.DataFrame

    def accepted_of(self, kind: SheetKind) -> pl.DataFrame:
        return self.accepted if kind.name == RUN.name else self.accepted.clear()


def sheet(*rows: tuple[Any, ...]) -> bytes:
    """A sheet's bytes from (member, series, share, pot, pour, seconds)."""
    return "\n".join(",".join(str(cell) for cell in row) for row in rows).encode()


def check(
    files: Sequence[tuple[str, bytes] | tuple[str, bytes, OwnHeadings]],
    today: date,
    settings: Mapping[str, Any],
) -> PlainChecked:
    """Reads and checks plain sheets; file_id is the position."""
    facts, accepted, held = [], [], []
    problems: list[tuple[int, int | None, str, str, str]] = []
    for file_id, (_name, content, *_columns) in enumerate(files):
        submission = hashlib.sha256(content).hexdigest()
        readable = not content.startswith(b"\0")
        lines = content.decode("utf-8", "replace").split("\n") if readable and content else []
        seen: set[str] = set()
        good = 0
        if not readable:
            problems.append((file_id, None, "unreadable", "held", "Can't be read."))
        for row, line in enumerate(lines, start=2):
            cells = line.split(",")
            text = json.dumps(dict(zip(COLUMNS, cells, strict=False)))
            if line in seen:
                held.append((file_id, row, text, ["repeat"]))
                problems.append((file_id, row, "repeat", "advice", "Twice."))
            elif cells[-1].replace(".", "").isdigit():
                accepted.append({"file_id": file_id, **run(cells, submission, row)})
                good += 1
            else:
                held.append((file_id, row, text, ["drain_time"]))
                problems.append((file_id, row, "drain_time", "held", f"“{cells[-1]}” is no time."))
            seen.add(line)
        facts.append((file_id, submission, RUN.name, len(lines), good, len(lines) - good, readable))
    return PlainChecked(
        files=_frame(
            facts,
            file_id=pl.UInt32,
            submission=pl.String,
            kind=pl.String,
            rows=pl.Int64,
            accepted=pl.Int64,
            held=pl.Int64,
            readable=pl.Boolean,
        ),
        accepted=pl.DataFrame(
            accepted,
            schema={"file_id": pl.UInt32, **{c.name: polars_type(c.frame) for c in RUN.kept}},
            orient="row",
        ),
        held=_frame(
            held, file_id=pl.UInt32, sheet_row=pl.UInt32, cells=pl.String, reasons=pl.List(pl.String)
        ),
        problems=_frame(
            problems, file_id=pl.UInt32, row=pl.UInt32, rule=pl.String, level=pl.String, message=pl.String
        ).with_columns(pl.lit("Mend it.").alias("fix")),
    )


def _frame(values: Sequence[Any], /, **schema: Any) -> pl.DataFrame:
    return pl.DataFrame(values, schema=schema, orient="row")


def run(cells: Sequence[str], submission: str, row: int) -> dict[str, Any]:
    """A canonical run from a plain line."""
    member, series, share, pot, pour, seconds = cells
    values: dict[str, Any] = {column.name: None for column in RUN.kept}
    return values | {
        "member": member,
        "series": series,
        "member_key": label_key(member),
        "series_key": label_key(series),
        "tested_on": date(2026, 3, 1),
        "climate_zone": "Cfb",
        "setup_type": "rack",
        "pot_volume_ml": 1000.0,
        "pot_volume_computed": False,
        "base": "sphagnum_peat",
        "component": "perlite",
        "component_grade": "medium",
        "component_share": float(share),
        "pot_no": int(pot),
        "pour_no": int(pour),
        "poured_ml": 300.0,
        "collected_ml": 150.0,
        "drain_time_s": float(seconds),
        "ended": "reached",
        "submission": submission,
        "sheet_row": row,
        "part_marked": False,
        "unlike_pour": False,
    }


@dataclass
class Clock:
    """A clock that stands where it is put."""

    moment: datetime = datetime(2026, 3, 10, 12, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.moment

    def at(self, *parts: int) -> None:
        self.moment = datetime(*parts, tzinfo=UTC)  # type: ignore[arg-type, misc]


def opened(
    pool: Path,
    clock: Callable[[], datetime] | None = None,
    said: list[str] | None = None,
    settings: Mapping[str, Any] | None = SETTINGS,
    **options: Any,
) -> AbstractContextManager[Writer]:
    """The pool opened for writing with the plain check."""
    return writing(
        pool,
        by="coordinator",
        clock=clock or Clock(),
        settings=settings,
        recheck=check,
        say=(said if said is not None else []).append,
        **options,
    )


def send(
    writer: Writer, *files: tuple[str, bytes], received: datetime | None = None, whole_series: bool = False
) -> list[Outcome]:
    """Checks and receives (name, bytes) pairs."""
    checked = check(files, writer.present().date(), SETTINGS)
    arrivals = [
        Arrival(at, name, content, received, whole_series=whole_series)
        for at, (name, content) in enumerate(files)
    ]
    return receive(writer, arrivals, checked)


def times(runs: pl.DataFrame) -> list[tuple[str, float, int, int, float]]:
    """(series, share, pot, pour, seconds) of a run frame, for short assertions."""
    return runs.select("series", "component_share", "pot_no", "pour_no", "drain_time_s").rows()
