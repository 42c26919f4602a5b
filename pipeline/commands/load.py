"""`drainpool load`: checks run sheets, then adds the accepted rows to the pool."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from pipeline.commands.answer import DONE, FILE_UNREADABLE, Answer, Say
from pipeline.commands.person import by_whom
from pipeline.commands.told import Told, told_answer
from pipeline.errors import DrainpoolError


def load(arguments: argparse.Namespace, say: Say) -> Answer:
    """The receipt of each file, as `check` gives it, with what became of the file in the pool. A request file
    of the desk is carried out first."""
    from pipeline.jobs.receive import Moment, load_batch, received_moment
    from pipeline.jobs.requests import carry_out_file, is_request
    from pipeline.jobs.sheets import batches, named_sheets

    named = [Path(name) for name in arguments.files if is_request(name)]
    undone = [path for path in named if not carry_out_file(arguments.pool, path, say)]
    person = by_whom(arguments)
    received = received_moment(arguments.received)
    told = Told()
    exit_code = DrainpoolError.exit_code if undone else DONE
    for sheets in batches(named_sheets([name for name in arguments.files if not is_request(name)])):
        batch = load_batch(
            arguments.pool, sheets, [Moment(received)] * len(sheets), person, say, arguments.whole_series
        )
        keys = {one.file_id: _keys(one) for one in batch.outcomes}
        beside = {one.file_id: one.notes for one in batch.outcomes}
        told.add(batch.checked, batch.notes, keys, beside, batch.refused)
        told.add_missing(sheets)
        codes = [one.exit_code for one in batch.outcomes]
        exit_code = max(exit_code, *codes, FILE_UNREADABLE if told.missing else DONE)
    return told_answer(told, exit_code, arguments.format)


def _keys(outcome: Any) -> dict[str, Any]:
    return {
        "submission": outcome.submission,
        "already_loaded": outcome.already_loaded,
        **({"refused": outcome.refused} if outcome.refused is not None else {}),
    }
