"""Why runs were set aside, in the few words that pages may say. What the coordinator typed beside it stays private.

The kinds are the project's own (common practice of clubs that keep each other's figures in order)."""

from __future__ import annotations

OTHER = "other"
PUBLIC_REASONS: dict[str, str] = {
    "slip": "a slip, named by the member",
    "protocol": "not tested as the club tests",
    "leak": "a leak",
    "asked": "asked to be left out",
    "doubtful": "doubtful",
    OTHER: "other reasons",
}
"""Kind -> the words of the pages."""


def public_words(kind: object) -> str:
    """The words of a kind; of an unknown one, or of a decision from before there were kinds, those of `other`."""
    return PUBLIC_REASONS.get(str(kind), PUBLIC_REASONS[OTHER])
