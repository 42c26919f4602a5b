"""How members want to be named on pages: their code, or a nickname of the same form that they chose at the desk."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import polars as pl

from pipeline.load.database import store
from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import Cutoff
from pipeline.load.views.status import known_lines
from schemas.trade.labels import label_key

NAMED = "named"


def nicknames(pool: Path, cutoff: Cutoff) -> dict[str, str]:
    """Member key -> nickname, as known at the cutoff. Reads the readers' copy."""
    with store.reading(pool) as connection:
        lines = store.lines_of(connection)
    return nicknames_in(known_lines(lines, cutoff))


def nicknames_in(lines: Sequence[Line]) -> dict[str, str]:
    """The nicknames that stand after these journal lines: a member's last word counts, a blank one goes back to
    the code; of two members with the same nickname the one who had it first keeps it."""
    wanted: dict[str, str] = {}
    for line in lines:
        member_key = line.key("member")
        if line.event == NAMED and member_key:
            wanted.pop(member_key, None)
            if name := (line.private or {}).get("words"):
                wanted[member_key] = name
    taken: set[str] = set()
    found = {}
    for member, name in wanted.items():
        if label_key(name) not in taken:
            taken.add(label_key(name))
            found[member] = name
    return found


def every_name(lines: Sequence[Line], member_key: str) -> list[str]:
    """Every nickname that a member ever had."""
    named = [line.private or {} for line in lines if line.event == NAMED and line.key("member") == member_key]
    return sorted({about["words"] for about in named if about.get("words")})


def every_nickname(lines: Sequence[Line]) -> frozenset[str]:
    """The keys of every nickname that any member ever had."""
    named = [(line.private or {}).get("words") for line in lines if line.event == NAMED]
    return frozenset(label_key(name) for name in named if name)


def spoken_names(runs: pl.DataFrame, chosen: Mapping[str, str]) -> dict[str, str]:
    """Member as spelled in the runs -> nickname. A nickname that is another member's code is not used."""
    codes = set(runs["member_key"].unique().to_list())
    usable = {key: name for key, name in chosen.items() if label_key(name) not in codes - {key}}
    spelled = runs.select("member", "member_key").unique().iter_rows()
    return {str(member): usable[key] for member, key in spelled if key in usable}


def renamed(frame: pl.DataFrame, spoken: Mapping[str, str]) -> pl.DataFrame:
    """The frame with members under the names they chose."""
    if not spoken or frame.is_empty():
        return frame
    return frame.with_columns(pl.col("member").cast(pl.String).replace(dict(spoken)))
