"""Publishing: the draft's pages as they stand take the published edition's place. Nothing is computed."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.jobs.month.files.folder import edition_folder, month_folder, replaced_whole
from pipeline.jobs.month.files.index_and_mails import publish_mails, write_index
from pipeline.jobs.month.files.older import edition_in, mark_older
from pipeline.jobs.month.files.report_files import mark_published
from pipeline.jobs.receiving.steps import pool_writer
from pipeline.load.changes.editions import editions, editions_in, erased_runs, journal_lines, publish_edition
from pipeline.load.truth.records import Edition
from schemas.version import VERSION

Say = Callable[[str], None]


def draft_to_publish(pool: Path, month: str) -> Edition | None:
    """The month's newest edition where it is a draft whose pages stand as they would be published: made by this version,
    nothing erased from it since. None where the month has to be made first."""
    made = editions(pool, month)
    if not made or made[-1].published or made[-1].version != VERSION:
        return None
    stands = edition_in(month_folder(pool, month)) == made[-1].number
    return made[-1] if stands and erased_runs(journal_lines(pool), month) == made[-1].erased else None


def publish_month(pool: Path, draft: Edition, by_whom: str, say: Say) -> Edition:
    """Publishes a draft whose pages stand: marks of a draft go, the edition before is marked superseded, index, feed and
    mails follow. Raises DrainpoolError where another edition was begun or rows were erased meanwhile."""
    month = draft.month
    folder = month_folder(pool, month)
    with pool_writer(pool, by_whom, say, make=False) as writer:
        made = editions_in(writer.lines, month)
        if made[-1].number != draft.number or erased_runs(writer.lines, month) != draft.erased:
            raise DrainpoolError(
                f"{month} was made anew while edition {draft.number} was about to be published. Nothing was published. "
                f"Look at the new draft, then type: drainpool month {month} --pool {pool} --publish"
            )
        with replaced_whole(folder) as new:
            shutil.copytree(folder, new, dirs_exist_ok=True)
            mark_published(new, (edition_folder("*"),))
            mark_older(new, [*made[:-1], replace(made[-1], published=True)])
            published = publish_edition(writer, month)
        write_index(pool, writer.lines)
        publish_mails(pool, month)
    return published
