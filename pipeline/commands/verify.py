"""`drainpool verify`: whether archive, journal, store and reports agree."""

from __future__ import annotations

import argparse

from pipeline.commands.line.by_whom import by_whom
from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.errors import DrainpoolError


def verify(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Names all that disagrees; exit code 3 where any of it is damage."""
    from pipeline.jobs.keeping.steps import verify_pool

    findings = verify_pool(arguments.pool, by_whom(arguments), say, arguments.reread)
    damaged = any(finding.damage for finding in findings)
    lines = [
        f"{'DAMAGE' if finding.damage else 'Note'}: {finding.where}: {finding.words}" for finding in findings
    ]
    lines.append(
        "Something disagrees; see above." if damaged else "Archive, journal, store and reports agree."
    )
    return CommandResult(DrainpoolError.exit_code if damaged else DONE, "\n".join(lines) + "\n")
