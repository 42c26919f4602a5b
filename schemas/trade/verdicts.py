"""The verdict words of `results.json`, what each means, and whom an answer is for.

Rules: the project's contract, section 3, and methods note, section 7.
"""

from __future__ import annotations

TOO_FEW = "too_few"
CLEARS = "clears"
FALLS_SHORT = "falls_short"
UNDECIDED = "undecided"

ENOUGH = "enough"
HINGES_ON_ONE = "hinges_on_one"
GRADES_DIFFER = "grades_differ"
NOT_REACHED = "not_reached"

SHOWN = "shown"
RULED_OUT = "ruled_out"
CANNOT_TELL = "cannot_tell"

ANY_GROWER = "any grower"
THESE_CLUBS = "these clubs"

VERDICTS: dict[str, str] = {
    TOO_FEW: "Fewer than 5 independent growers in all, or fewer than 4 at this share.",
    CLEARS: "At least the target ratio with the club's assurance, also without any one grower, club or lot.",
    FALLS_SHORT: "In at most (1 - assurance) of new growers' tests at least the target ratio.",
    UNDECIDED: "Neither of the two.",
}
"""Verdict of one share, and what it means."""

RECOMMENDATIONS: dict[str, str] = {
    ENOUGH: "The smallest share that clears with every larger supported share clearing.",
    HINGES_ON_ONE: "It would be enough but for a refit without one grower, club or lot.",
    GRADES_DIFFER: "A difference between grades is shown, and their own answers are not the same.",
    TOO_FEW: "No share has another verdict.",
    NOT_REACHED: "No tested share is enough.",
}
"""Verdict of a recommendation, and what it means."""

DIFFERENCES: dict[str, str] = {
    SHOWN: "The 95 % interval of the part against the rest leaves out 1.",
    RULED_OUT: "It lies within 1/1.25 and 1.25 and holds 1.",
    CANNOT_TELL: "Neither of the two.",
}
"""What is known of a difference between a part of the pool and the rest of it."""
