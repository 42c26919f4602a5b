"""What stands behind a headline, where the results hold it: contrasts asked beforehand, small shares, bends,
settling, other choices, robustness, agreement. A block whose figures are missing is left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from reports.answer import Answer
from reports.headline import BASE
from reports.page import Block, Cell, Section, TableBlock, cell, items, say
from reports.words import (
    as_straight,
    between,
    capital,
    count,
    out_of_twenty,
    percent,
    plain,
    setting_number,
    two_figures,
)

SURE_ENOUGH = 0.05
APART = {
    "dry": "dry start",
    "aged": "mixed over 30 days before",
    "planted": "planted",
    "other_part": "another part of the pour",
}
COMPARED_NOTE = (
    "1.2 reads: the gain over straight base is 1.2 times as large. The range holds 19 in 20. A grower who tested "
    "one kind only tells nothing about the difference inside a grower. Counted apart: growers, or whole clubs where five or more "
    "clubs take part."
)


def contrast_sections(answer: Answer) -> list[Section]:
    """The questions asked before looking, judged together; and apart from them what was looked at afterwards."""
    sections = []
    asked = _rows(answer.more.get("contrasts"))
    if asked:
        lead = say(
            "These questions were fixed before any month was looked at, and are judged together, so that one in six can’t win by luck."
        )
        table = _contrast_table("Asked beforehand, shares above 25 %", asked, judged=True)
        sections.append(Section("What was asked beforehand?", (lead, table), "asked"))
    looked = _rows(answer.more.get("exploratory"))
    if looked:
        lead = say("Looked at without having been fixed beforehand: a hint for the next test, no more.")
        table = _contrast_table("Looked at afterwards", looked, judged=False)
        sections.append(Section("And what else was looked at?", (lead, table), "looked-at"))
    return sections


def settling_section(answer: Answer) -> list[Section]:
    """How the gain changes from pour to pour, inside the same pots."""
    found = answer.more.get("settling") or {}
    rows = tuple(
        (cell(f"pour {line['pour']}"), cell(_ratio(line)), cell(str(line["members"])))
        for line in found.get("pours") or []
        if line.get("ratio_of_ratios") is not None
    )
    if not rows:
        return []
    note = "Below 1: the gain over straight base shrinks as pots settle. Straight base settles too; that is taken off."
    table = TableBlock(
        "The gain, beside that of the first pour of the same pots", ("pour", "times the first gain (range)", "growers"), rows,
        frozenset({2}), note, stays=True,
    )  # fmt: skip
    return [Section("How does it change from pour to pour?", (table,), "pours")]


def apart_section(answer: Answer) -> list[Section]:
    """Tests that stand in no headline, against straight base of the same kind: dry starts, aged, planted, other parts."""
    found = answer.more.get("apart") or {}
    rows = [
        (cell(f"{words}, {percent(line['share'])}"), cell(_own_ratio(line)), cell(str(line["members"])))
        for kind, words in APART.items()
        for line in _rows((found.get(kind) or {}).get("shares"))
    ]
    if not rows:
        return []
    note = "A figure is given from three growers on. None of these tests stands in a headline."
    caption = f"Times as fast as {as_straight(BASE)} of the same kind"
    table = TableBlock(
        caption, ("test", "average (range)", "growers"), tuple(rows), frozenset({2}), note, stays=True
    )
    return [Section("And from a dry start, or with old mixes?", (table,), "apart")]


def _own_ratio(line: Mapping[str, Any]) -> str:
    if line.get("ratio") is None:
        return "–"
    ends = line.get("ci")
    return two_figures(line["ratio"]) + (f" ({between(*ends)})" if ends else "")


def small_share_section(answer: Answer) -> list[Section]:
    """Whether small shares slow drainage, and what slowing is ruled out."""
    lines = _rows((answer.more.get("small_shares") or {}).get("shares"))
    said = [_small_share_words(line) for line in lines if line.get("ratio") is not None]
    bend = _bend_words(answer)
    if not said and not bend:
        return []
    blocks: list[Block] = [items(*said)] if said else []
    if bend:
        blocks.append(say(bend))
    return [Section("Do small shares slow it, and where does it bend?", tuple(blocks), "small-shares")]


def robustness_section(answer: Answer) -> list[Section]:
    """One line per other way of looking."""
    lines = [line for line in _rows(answer.more.get("robustness")) if line.get("ratio") is not None]
    if not lines:
        return []
    rows = tuple(
        (
            cell(capital(str(line["words"]))),
            cell(two_figures(line["ratio"])),
            cell(_twentieths(line.get("p_clears"))),
            cell(percent(line["enough"]) if line.get("enough") is not None else "none"),
        )
        for line in lines
    )
    headings = ("looked at with", "times as fast", "of 20 reach the line", "enough from")
    caption = f"The same pool, looked at otherwise; figures at {percent(lines[0]['share'])}"
    table = TableBlock(caption, headings, rows, frozenset({1, 2, 3}), stays=True)
    return [Section("Does it hold another way?", (table,), "robust")]


def _twentieths(chance: float | None) -> str:
    return "–" if chance is None else out_of_twenty(chance).removeprefix("about ").removesuffix(" of 20")


def agreement_words(answer: Answer) -> list[str]:
    """How far pots and growers lie apart, and how many growers stand apart; never who."""
    found = answer.more.get("agreement") or {}
    said = []
    if found.get("pots_within") is not None:
        said.append(
            f"Two pots of one mix by one grower lie within {two_figures(found['pots_within'])} times of each other, 19 times in 20."
        )
    if found.get("growers_within") is not None:
        said.append(
            f"One pot each by two growers: within {two_figures(found['growers_within'])} times, at {percent(found['share'])}."
        )
    if found.get("members_beyond_2") is not None:
        said.append(
            f"{capital(count(int(found['members_beyond_2']), 'grower'))} further from the rest than pots, growers and series explain in 19 of 20."
        )
    return said


def choice_lines(answer: Answer, target: float, assurance: float) -> list[str]:
    """The answer for other targets and assurances, with every check; empty where the results hold none."""
    said = []
    for line in _rows(answer.more.get("choices")):
        if (line["target_ratio"], line["assurance"]) == (target, assurance):
            continue
        asked = f"{setting_number(line['target_ratio'])} times as fast in {out_of_twenty(line['assurance']).removeprefix('about ')}"
        said.append(f"{asked}: {percent(line['share']) if line.get('share') is not None else 'not reached'}")
    return said


def _contrast_table(caption: str, lines: Sequence[Mapping[str, Any]], judged: bool) -> TableBlock:
    rows: list[tuple[Cell, ...]] = []
    for line in lines:
        row = [
            cell(capital(str(line["words"]))),
            cell(_ratio(line)),
            cell(f"{line['members']}; {line['members_with_both']}"),
        ]
        if judged:
            row.append(cell(_judgement(line)))
        rows.append(tuple(row))
    headings = (
        "what",
        "times the gain (range)",
        "counted apart; growers with both kinds",
        *(("what can be said",) if judged else ()),
    )
    return TableBlock(caption, headings, tuple(rows), note=COMPARED_NOTE)


def _judgement(line: Mapping[str, Any]) -> str:
    ratio, chance = line.get("ratio_of_ratios"), line.get("p")
    if ratio is None or chance is None:
        return str(line.get("why") or "too few growers to tell")
    if chance < SURE_ENOUGH:
        return "the gain is larger" if ratio > 1 else "the gain is smaller"
    ends = line.get("ci")
    ruled = f"; unlikely beyond {between(*ends)}" if ends else ""
    return f"we cannot tell yet{ruled}"


def _ratio(line: Mapping[str, Any]) -> str:
    if line.get("ratio_of_ratios") is None:
        return "–"
    ends = line.get("ci")
    span = f" ({between(*ends)})" if ends and None not in ends else ""
    return two_figures(line["ratio_of_ratios"]) + span


def _small_share_words(line: Mapping[str, Any]) -> str:
    said = f"{percent(line['share'])}: {two_figures(line['ratio'])} times as fast as {as_straight(BASE)} on average"
    if line.get("p_slower") is not None and line["p_slower"] < SURE_ENOUGH:
        return f"{said}: slower, sure enough."
    ruled = line.get("slower_than_ruled_out")
    return (
        f"{said}; on average under {two_figures(ruled)} times is unlikely."
        if ruled is not None
        else f"{said}; {line.get('why') or 'too few growers to tell'}"
    )


def _bend_words(answer: Answer) -> str:
    bend = answer.more.get("bend") or {}
    if not bend.get("knots") or not bend.get("interval"):
        return ""
    knots = " and ".join(percent(round(knot)) for knot in bend["knots"])
    low, high = (percent(round(end)) for end in bend["interval"])
    moves = f"stays near {low}" if low == high else f"moves between {low} and {high}"
    return (
        f"Drawn as straight pieces, {plain(answer.component)} bends near {knots}; with any one grower left out the first "
        f"bend {moves}. A description only; no verdict uses it."
    )


def _rows(value: Any) -> list[Mapping[str, Any]]:
    """A list of lines, or an empty one for anything else."""
    return [line for line in value if isinstance(line, Mapping)] if isinstance(value, (list, tuple)) else []
