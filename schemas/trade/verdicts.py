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
    GRADES_DIFFER: "It would be enough, but a grade with 5 growers at that share falls short by more than 0.10.",
    TOO_FEW: "No share has another verdict.",
    NOT_REACHED: "No tested share is enough.",
}
"""Verdict of a recommendation, and what it means."""
