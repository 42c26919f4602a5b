"""Front page: what the answer would be with other targets and assurances."""

from __future__ import annotations

from reports.answer import Answer
from reports.page import Cell, Strong, TableBlock, cell
from reports.words import percent, setting_number, twentieths
from schemas.results.details import ChoiceLine


def choice_table(answer: Answer, target: float, assurance: float) -> TableBlock | None:
    """The answer for other targets and assurances, every check included, the club's own set strong; None where the
    results hold none."""
    by_choice = {
        (line["target_ratio"], line["assurance"]): line for line in answer.details.get("choices", [])
    }
    if not by_choice:
        return None
    targets, assurances = sorted({key[0] for key in by_choice}), sorted({key[1] for key in by_choice})
    rows = tuple(
        (
            cell(f"at least {setting_number(ratio)} times"),
            *(
                _choice(by_choice.get((ratio, sure)), own=(ratio, sure) == (target, assurance))
                for sure in assurances
            ),
        )
        for ratio in targets
    )
    headings = ("as fast as straight", *(f"in {twentieths(sure)} of 20" for sure in assurances))
    figures = frozenset(range(1, len(headings)))
    caption = "With other numbers the answer, with freshly filled pots, would be"
    return TableBlock(caption, headings, rows, figures, "Set strong: the club’s own choice.", stays=True)


def _choice(line: ChoiceLine | None, own: bool) -> Cell:
    if line is None:
        return cell("–")
    share = line.get("share")
    words = percent(share) if share is not None else "not reached"
    return cell(Strong(words) if own else words)
