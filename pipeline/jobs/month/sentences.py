"""What a finished month says on the command line: the finding, whose tests it rests on, what waits."""

from __future__ import annotations

from pipeline.jobs.month.figures import Figures
from pipeline.jobs.receiving.inbox import TakenIn
from reports.changed import changed_sentences
from reports.words import count, month_name, plain, who

INVENTED = "Invented data: not growing advice."


def month_sentences(made: Figures, taken: TakenIn) -> list[str]:
    """Plain lines in the order a coordinator needs them."""
    results = made.results
    counts = results["counts"]
    state = "open, figures so far" if made.edition.open else f"edition {made.edition.number}{_draft(made)}"
    lines = [
        f"{month_name(made.edition.month)} ({state}): {who(counts['members'], counts['series'], counts['runs'])}."
    ]
    if results["invented"]:
        lines.append(INVENTED)
    lines += [_inbox(taken)] if taken != TakenIn() else []
    if made.changed is not None:
        lines.append("Since the report before: " + " ".join(changed_sentences(made.changed)))
    lines += [
        f"{plain(name)}: {table['recommendation']['text']} [{table['recommendation']['verdict']}]"
        for name, table in results["components"].items()
    ]
    if not results["components"]:
        lines.append("No series compares a mix with its own straight base yet: there is nothing to pool.")
    lines.append(f"{count(counts['held'], 'row')} held; drainpool held lists what waits for a mended sheet.")
    return lines


def _draft(made: Figures) -> str:
    return "" if made.edition.published else ", draft until --publish"


def _inbox(taken: TakenIn) -> str:
    said = (
        f"From the inbox: {count(taken.sheets, 'sheet')}, {count(taken.accepted, 'row')} accepted, "
        f"{taken.held} held"
    )
    if taken.unreadable:
        said += f"; {count(taken.unreadable, 'file')} can't be read as a run sheet"
    if taken.requests:
        said += f"; {count(taken.requests, 'request')} from the desk carried out"
    if taken.left:
        said += f"; {count(taken.left, 'file')} left in the inbox"
    return said + "."
