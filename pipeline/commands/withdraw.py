"""`drainpool withdraw` and `drainpool restore`: takes runs out of later months, and back."""

from __future__ import annotations

import argparse

from pipeline.commands.answer import DONE, Answer, Say
from pipeline.commands.person import by_whom, reason
from pipeline.errors import WrongUseError
from pipeline.load.records import Selection


def withdraw(arguments: argparse.Namespace, say: Say) -> Answer:
    """Takes the chosen runs out of the running month and all later ones."""
    from pipeline.jobs.change import withdraw_runs

    taken = withdraw_runs(arguments.pool, _selected(arguments), reason(arguments), by_whom(arguments), say)
    if not taken.runs:
        return Answer(DONE, f"Nothing was withdrawn: no run of {_named(arguments)} is in force.\n")
    return Answer(
        DONE,
        f"Withdrawn: {_amount(taken.runs, taken.series)} of {_named(arguments)}. Months from now on leave them out; "
        f"reports already made stay as they are.\nTo put them back: drainpool restore --pool {arguments.pool} "
        f"{_retyped(arguments)} --reason …\n",
    )


def restore(arguments: argparse.Namespace, say: Say) -> Answer:
    """Puts withdrawn runs back into the running month and all later ones; or makes the pool of a backup."""
    if arguments.backup is not None:
        return _from_backup(arguments, say)
    from pipeline.jobs.change import restore_runs

    taken = restore_runs(arguments.pool, _selected(arguments), reason(arguments), by_whom(arguments), say)
    if not taken.runs:
        return Answer(DONE, f"Nothing was restored: no run of {_named(arguments)} is withdrawn.\n")
    return Answer(
        DONE,
        f"Restored: {_amount(taken.runs, taken.series)} of {_named(arguments)}. Months from now on hold them again.\n",
    )


def _from_backup(arguments: argparse.Namespace, say: Say) -> Answer:
    from pipeline.jobs.keeping import restore_pool

    made = restore_pool(arguments.backup, arguments.pool, say)
    return Answer(
        DONE,
        f"The pool of {arguments.backup} stands in {arguments.pool}: {made.receipts} receipts, {made.runs} runs.\n",
    )


def _selected(arguments: argparse.Namespace) -> Selection:
    if arguments.series is not None and arguments.member is None:
        raise WrongUseError(
            "--series goes with --member; a sheet is withdrawn whole with --submission alone."
        )
    return Selection(arguments.member, arguments.series, arguments.submission)


def _named(arguments: argparse.Namespace) -> str:
    if arguments.submission is not None:
        return f"sheet {arguments.submission}"
    series = f", series “{arguments.series}”" if arguments.series is not None else ""
    return f"member {arguments.member}{series}"


def _retyped(arguments: argparse.Namespace) -> str:
    typed = {name: getattr(arguments, name) for name in ("member", "series", "submission")}
    return " ".join(f'--{name} "{value}"' for name, value in typed.items() if value is not None)


def _amount(runs: int, series: int) -> str:
    return f"{runs} run{'' if runs == 1 else 's'} in {series} series"
