"""The growers: everyone's own result beside the pool, by code, ordered by ratio; and how well pots repeat."""

from __future__ import annotations

from reports.answer import Answer
from reports.charts.growers import growers_chart
from reports.frame import Content
from reports.headline import BASE, average_and_spread, compared_in
from reports.page import Block, Chooser, Inline, Link, Section, TableBlock, cell, items, say
from reports.pages.shared.growers import Grower, growers
from reports.view import MonthView
from reports.words import as_straight, capital, count, mix, percent, plain, two_figures, who

SHARES_DRAWN = 4
MANY_GROWERS = 120


def growers_content(view: MonthView) -> Content:
    """`growers.html`."""
    known, everyone = view.answers, growers(view)
    counts = view.results["counts"]
    sections: list[Section] = []
    if known:
        sections += _forest(view, known[0])
        spread = _spread_words(known[0], view)
        if spread:
            sections.append(
                Section(
                    "How far apart are growers?", (say(spread), items(*agreement_words(known[0]))), "spread"
                )
            )
    sections.append(
        Section(
            "Who has sent tests?", (_everyone(everyone),) if everyone else (say("No one yet."),), "everyone"
        )
    )
    return Content(
        (f"{who(counts['members'], counts['series'], counts['runs'])}",),
        ("By code only. Places with fewer than three growers are written more widely, or not at all.",),
        tuple(sections),
    )


def _forest(view: MonthView, answer: Answer) -> list[Section]:
    """Everyone's own result at the share in focus; the other shares that most growers measured by a picker."""
    case = view.case_of(answer)
    shares_drawn = SHARES_DRAWN if case.table.members <= MANY_GROWERS else 1
    rows = sorted(case.table.shares, key=lambda row: (row is not case.row, -row.members, row.share))
    options, panels = [], []
    for row in rows[:shares_drawn]:
        kept = view.members_at(answer.component, row.share, case.state)
        name = f"growers-at-{row.share:g}".replace(".", "-")
        drawn = None if kept.is_empty() else growers_chart(name, kept, row, compared_in(answer))
        if drawn is None:
            continue
        words = say(average_and_spread(row, case.pots, as_straight(BASE), view.results["scope"]))
        options.append((f"{row.share:g}", mix(row.share)))
        panels.append((f"{row.share:g}", (words, drawn)))
    if not panels:
        return []
    order = sorted(options, key=lambda option: (option != options[0], float(option[0])))
    chooser = Chooser("share", ("Share",), (tuple(order),), tuple(panels), "Nobody has tested it yet.")
    question = f"Who found what, in {case.pots}?"
    return [Section(question, (chooser,), "forest")]


def _spread_words(answer: Answer, view: MonthView) -> str:
    spread = view.shown.spreads.get(answer.component)
    if spread is None or spread.nineteen_in_twenty is None:
        return ""
    return (
        f"At {percent(view.settings.reference_share)} {plain(answer.component)}, 19 in 20 growers’ series lie within "
        f"{two_figures(spread.nineteen_in_twenty)} times either way of the average."
    )


def _everyone(everyone: list[Grower]) -> Block:
    rows = []
    for grower in everyone:
        name: Inline = Link(grower.member, grower.page) if grower.page else grower.member
        within = (
            f"{two_figures(grower.two_pots_within)} times"
            if grower.two_pots_within is not None
            else "not known"
        )
        rows.append(
            (
                cell(name),
                cell(str(grower.series)),
                cell(str(grower.runs)),
                cell(grower.climate),
                cell(", ".join(plain(setup) for setup in grower.setups)),
                cell(within),
            )
        )
    note = (
        "Two pots within: how far apart two fillings of one mix by this grower lie, 19 times in 20. "
        f"{count(sum(grower.two_pots_within is not None for grower in everyone), 'grower')} filled a mix more than once."
    )
    headings = ("grower", "series", "runs", "climate class", "held on", "two pots within")
    return TableBlock("Everyone, by code", headings, tuple(rows), frozenset({1, 2}), note)


def agreement_words(answer: Answer) -> list[str]:
    """How far pots and growers lie apart, and how many growers stand apart; never who."""
    agreement = answer.details.get("agreement")
    if agreement is None:
        return []
    sentences = []
    if agreement["pots_within"] is not None:
        sentences.append(
            f"Two pots of one mix by one grower lie within {two_figures(agreement['pots_within'])} times of each other, 19 times in 20."
        )
    if agreement["growers_within"] is not None:
        sentences.append(
            f"One pot beside straight base each, by two growers: ratios within {two_figures(agreement['growers_within'])} times of each other, 19 times in 20."
        )
    if agreement["members_beyond_2"] is not None:
        sentences.append(
            f"{capital(count(agreement['members_beyond_2'], 'grower'))} {'lies' if agreement['members_beyond_2'] == 1 else 'lie'} further from the rest than pots, growers and series explain in 19 of 20."
        )
    return sentences
