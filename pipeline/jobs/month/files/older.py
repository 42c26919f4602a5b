"""The older editions of a month: as they stood, beside the newest; made afresh only where their pages are gone."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.jobs.month.files.folder import RESULTS, edition_folder
from pipeline.jobs.month.files.report_files import mark_superseded, move_links_down
from pipeline.load.truth.records import Edition
from reports.changed import changed_sentences
from reports.view import Correction
from schemas.results.whole import ResultsValue
from schemas.trade.changed import Changed


def edition_in(folder: Path) -> int | None:
    """Which edition the month's folder holds; None where it holds none."""
    try:
        return int(json.loads((folder / RESULTS).read_text(encoding="utf-8"))["edition"])
    except (OSError, ValueError, KeyError):
        return None


def pages_of(folder: Path, number: int) -> Path | None:
    """Where the pages of an edition stand below the month's folder; None where they are gone."""
    if edition_in(folder) == number:
        return folder
    older = folder / edition_folder(number)
    return older if (older / RESULTS).exists() else None


def results_of(folder: Path, number: int) -> ResultsValue | None:
    """`results.json` of an edition of the month; None where its pages are gone."""
    place = pages_of(folder, number)
    if place is None:
        return None
    value: ResultsValue = json.loads((place / RESULTS).read_text(encoding="utf-8"))
    return value


def copied(folder: Path, number: int, into: Path) -> bool:
    """Copies the pages of an edition as they stand, their links led on from its own folder; False where they are gone."""
    place = pages_of(folder, number)
    if place is None:
        return False
    shutil.copytree(place, into, ignore=shutil.ignore_patterns(edition_folder("*")))
    if place == folder:
        move_links_down(into)
    return True


@dataclass(frozen=True)
class Superseded:
    """An edition that readers are to leave, and the one that took its place."""

    number: int
    by: int


def superseded_in(editions: Sequence[Edition]) -> Iterator[Superseded]:
    """The editions whose place a later one has taken: a published one's by the next published, a draft's by the next
    of any kind. The last published edition has nobody in its place, whatever drafts come after it."""
    for place, edition in enumerate(editions):
        later = [one for one in editions[place + 1 :] if one.published or not edition.published]
        if later:
            yield Superseded(edition.number, later[0].number)


def mark_older(new: Path, editions: Sequence[Edition]) -> None:
    """Marks what is superseded among the older editions inside the newest one's folder; marked pages stay as they are."""
    for one in superseded_in(editions):
        if (new / edition_folder(one.number)).is_dir():
            mark_superseded(new / edition_folder(one.number), one.by)


def correction_of(
    edition: Edition, before: ResultsValue | None, changed: Changed | None
) -> Correction | None:
    """What an edition corrects, with what changed as its reason: what the coordinator typed stays private. None for a
    first edition."""
    if before is None:
        return None
    return Correction(f"{edition.as_of:%Y-%m-%d}", " ".join(changed_sentences(changed or Changed())), before)
