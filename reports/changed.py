"""What changed since the report before, in words: for the front page, the mails and the command line."""

from __future__ import annotations

from reports.words import capital, count, listed
from schemas.trade.changed import Changed
from schemas.version import VERSION

WORDS = (
    ("new", "new"),
    ("mended", "mended by a later sheet"),
    ("withdrawn", "withdrawn"),
    ("erased", "erased"),
    ("set_aside", "set aside"),
    ("back", "put back"),
    ("waits", "waiting for an answer"),
)


def changed_sentences(changed: Changed) -> list[str]:
    """One or two sentences in public words: counts by kind, and whether the method changed."""
    kinds = [f"{number} {words}" for name, words in WORDS if (number := getattr(changed, name))]
    sentences = [f"Runs: {listed(kinds)}." if kinds else "No run was added, mended or taken out."]
    if changed.answered:
        sentences.append(f"{capital(count(changed.answered, 'question'))} answered by members.")
    if changed.method is not None:
        sentences.append(
            f"The method changed: drainpool {VERSION} made this edition, {changed.method} the one before."
        )
    return sentences
