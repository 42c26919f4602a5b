"""The growers: everyone's own result beside the pool, by code, ordered by ratio; and how well pots repeat."""

from __future__ import annotations

from reports.answer import Answer
from reports.charts.growers import growers_chart
from reports.frame import Content
from reports.headline import BASE, average_and_spread, compared_in, share_in_focus
from reports.page import Block, Inline, Link, Section, TableBlock, cell, items, say
from reports.pages.shared.growers import Grower, growers
from reports.view import MonthView
from reports.words import as_straight, capital, count, percent, plain, two_figures, who

SHARES_DRAWN = 4
MANY_GROWERS = 120


def growers_content(view: MonthView) -> Content:
    """`growers.html`."""
    known, everyone = view.answers, growers(view)
    counts = view.results["counts"]
    sections: list[Section] = []
    if known:
        sections += _charts(view, known[0])
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


def _charts(view: MonthView, answer: Answer) -> list[Section]:
    """The share in focus first, then the other shares that most growers measured, folded by share."""
    focus = share_in_focus(answer.overall, view.settings.reference_share)
    drawn_shares = SHARES_DRAWN if answer.overall.members <= MANY_GROWERS else 1
    rows = sorted(answer.overall.shares, key=lambda row: (row is not focus, -row.members, row.share))[
        :drawn_shares
    ]
    sections = []
    for row in rows:
        kept = view.members_at(answer.component, row.share)
        if kept.is_empty():
            continue
        name = f"growers-at-{row.share:g}".replace(".", "-")
        drawn = growers_chart(name, kept, row, compared_in(answer))
        if drawn is None:
            continue
        words = say(average_and_spread(row, as_straight(BASE), view.results["scope"]))
        question = f"Who found what at {percent(row.share)} {plain(answer.component)}?"
        sections.append(Section(question, (words, drawn), f"at-{row.share:g}".replace(".", "-")))
    return sections


def _spread_words(answer: Answer, view: MonthView) -> str:
    spread = view.shown.spreads.get(answer.component)
    if spread is None or spread.eight_in_ten is None:
        return ""
    return (
        f"At {percent(view.settings.reference_share)} {plain(answer.component)}, 8 in 10 growers’ series lie within "
        f"{two_figures(spread.eight_in_ten)} times either way of the average."
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
    if agreement["growers_within"] is not None and agreement["share"] is not None:
        sentences.append(
            f"One pot each by two growers: within {two_figures(agreement['growers_within'])} times, at {percent(agreement['share'])}."
        )
    if agreement["members_beyond_2"] is not None:
        sentences.append(
            f"{capital(count(agreement['members_beyond_2'], 'grower'))} {'lies' if agreement['members_beyond_2'] == 1 else 'lie'} further from the rest than pots, growers and series explain in 19 of 20."
        )
    return sentences
