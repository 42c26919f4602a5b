"""Whether figures that were computed beside other commands may still be put in place."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.load.changes.editions import editions_in, erased_runs
from pipeline.load.truth.journal import Line
from pipeline.load.truth.records import Edition

OF_ANY_MONTH = {
    "erased": "somebody was erased",
    "edition": "another month was made",
    "edition_remade": "another month was made",
    "edition_dropped": "another month was made",
    "published": "an edition was published",
    "restamped": "moments were put right",
}
OF_A_RUNNING_MONTH = {
    "withdrawn": "runs were withdrawn",
    "left": "somebody left",
    "set_aside": "runs were set aside",
    "answered": "a question was answered",
    "named": "somebody chose another name",
}


def overtaken_by(lines: Sequence[Line], edition: Edition, known: int, patient: bool = True) -> str | None:
    """Why figures of an edition that rest on the first `known` lines of the journal must be computed again; None where
    they stand. An ended month ignores later sheets and withdrawals by itself. A running month starts over for any
    change; with `patient` False only for those that take something out of it."""
    for line in lines[known:]:
        if line.event in OF_ANY_MONTH:
            return OF_ANY_MONTH[line.event]
        if edition.open and line.event in OF_A_RUNNING_MONTH:
            return OF_A_RUNNING_MONTH[line.event]
        if edition.open and patient:
            return "the pool was changed"
    if edition.open:
        return None
    newest = editions_in(lines, edition.month)[-1:]
    if newest != [edition] or erased_runs(lines, edition.month) != edition.erased:
        return "another edition of the month was begun"
    return None
