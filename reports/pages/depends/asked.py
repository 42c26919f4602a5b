"""The questions fixed before any month was looked at, judged together; apart from them what was merely looked at."""

from __future__ import annotations

from collections.abc import Sequence

from reports.answer import Answer
from reports.page import Cell, Section, TableBlock, cell, say
from reports.words import between, capital, two_figures
from schemas.results.details import ContrastLine, PourLine

SURE_ENOUGH = 0.05
COMPARED_NOTE = (
    "1.2 reads: the first kind gains 1.2 times as much over straight base as the second. The range holds 19 in 20. A grower who tested "
    "one kind only tells nothing about the difference inside a grower. Counted apart: growers, or whole clubs where five or more "
    "clubs take part."
)


def asked_section(answer: Answer) -> list[Section]:
    """The questions asked before looking, judged together."""
    asked = answer.details.get("contrasts", [])
    if not asked:
        return []
    lead = say(
        "These questions were fixed before any month was looked at, and are judged together, so that a lucky one among six is not taken for a finding."
    )
    table = _contrast_table("Asked beforehand, shares above 25 %", asked, judged=True)
    return [Section("What was asked beforehand?", (lead, table), "asked")]


def looked_at_section(answer: Answer) -> list[Section]:
    """What was looked at without having been asked beforehand, apart from what was."""
    looked = answer.details.get("exploratory", [])
    if not looked:
        return []
    lead = say("Looked at without having been fixed beforehand: a hint for the next test, no more.")
    table = _contrast_table("Looked at afterwards", looked, judged=False)
    return [Section("And what else was looked at?", (lead, table), "looked-at")]


def _contrast_table(caption: str, lines: Sequence[ContrastLine], judged: bool) -> TableBlock:
    rows: list[tuple[Cell, ...]] = []
    for line in lines:
        row = [
            cell(capital(str(line["words"]))),
            cell(gain(line)),
            cell(str(line["members"])),
            cell(str(line["members_with_both"])),
        ]
        if judged:
            row.append(cell(_judgement(line)))
        rows.append(tuple(row))
    headings = (
        "what",
        "times the gain (range)",
        "counted apart",
        "growers with both kinds",
        *(("what can be said",) if judged else ()),
    )
    return TableBlock(caption, headings, tuple(rows), note=COMPARED_NOTE)


def _judgement(line: ContrastLine) -> str:
    ratio, chance = line.get("ratio_of_ratios"), line.get("p")
    if ratio is None or chance is None:
        return str(line.get("why") or "too few growers to tell")
    if chance < SURE_ENOUGH:
        return "the gain is larger" if ratio > 1 else "the gain is smaller"
    ends = line.get("ci")
    ruled = f"; outside {between(*ends)} is unlikely" if ends else ""
    return f"we cannot tell yet{ruled}"


def gain(line: ContrastLine | PourLine) -> str:
    """A ratio of gains with its range, or a dash where it is not known."""
    ratio = line.get("ratio_of_ratios")
    if ratio is None:
        return "–"
    ends = [end for end in line.get("ci") or () if end is not None]
    return two_figures(ratio) + (f" ({between(*ends)})" if len(ends) == 2 else "")
