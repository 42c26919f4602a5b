"""The method page: what was computed, in words first and formulas after, with sources, settings and cautions."""

from __future__ import annotations

from reports.answer import Answer
from reports.frame import Content
from reports.page import Block, Gloss, Link, Section, Strong, TableBlock, cell, items, say
from reports.view import MonthView, Spread
from reports.words import (
    capital,
    count,
    newcomer,
    newcomers,
    out_of_twenty,
    percent,
    plain,
    setting_number,
    two_figures,
)
from schemas.trade.cautions import FULL


def method_content(view: MonthView) -> Content:
    """`method.html`."""
    known = view.answers
    sections = [
        Section("What was done, in words?", (items(*_in_words(view)),), "words"),
        Section("Which tests count?", (items(*WHICH_TESTS),), "tests"),
        Section("How are the words chosen?", _ladder_words(view), "ladder"),
        *(
            [Section("How much do growers differ?", tuple(_spread(known[0], view)), "spread")]
            if known
            else []
        ),
        Section(
            "The same in formulas",
            (items(*FORMULAS), say("Logs are natural throughout.", tone="small")),
            "formulas",
        ),
        Section("Where does it come from?", (items(*SOURCES, tone="small"),), "sources"),
        Section(
            "What has the club set?",
            (say(Link("All settings, with limits and sources", "dictionary.html#settings"), "."),),
            "settings",
        ),
        Section(
            "What to take care of",
            (items(*((Strong(f"{caution.title}. "), caution.text) for caution in FULL), tone="caution"),),
            "cautions",
        ),
    ]
    return Content(
        ("Each grower is compared with their own straight peat, then the growers are pooled",),
        (
            "No grower’s clock, cup or climate has to match another’s: only the ratio inside one series counts.",
        ),
        tuple(sections),
    )


def _in_words(view: MonthView) -> list[str]:
    target, assurance = view.settings.target_ratio, view.settings.assurance
    return [
        "Each run becomes a rate: water collected per minute and litre of mix.",
        "Each mix is set against the straight base of the same series: same grower, pot, holder and day. That ratio is all that is pooled.",
        "How far two pots of one mix differ is learned from all growers together, never from one grower’s two times, so two equal times by luck carry no extra weight.",
        "Each share tested has its own average; no shape of curve is assumed. A small share may drain slower than none.",
        "The pool reckons with three layers that differ: growers, a grower’s series, and single mixes. A grower with many series doesn’t outvote the others.",
        f"From that follows the range for {newcomer(view.results['scope'])}: wider than the range of the average, and the one that matters to a reader. Ranges hold 19 in 20 (95 %).",
        f"A share is enough when {out_of_twenty(assurance)} {newcomers(view.results['scope'])} would reach {setting_number(target)} times, at that share and every larger one tested, "
        "and when that stays so with any one grower (or club, or shared bag) left out.",
        "Drainage stands in for air: where water leaves quickly, pores are open and air follows it. Air itself, the water drawn up from the tray and the plants were not measured.",
        "Nothing is read off between the shares tested, and nothing beyond the largest.",
    ]


WHICH_TESTS = (
    "In the headline: first pours of freshly filled pots, moist or soaked at the start, unplanted, mixed within 30 days, with about half of the pour collected.",
    "Kept but not in the headline: dry starts (they time soaking up), settled pots (their own answer), aged or planted pots, pours unlike the rest of the series.",
    "A run that ran dry tells that the mix kept the water: it is counted, and has no rate. A run stopped before the end is known to have taken longer than its time: never dropped silently.",
    "A series without straight base tells how its own shares differ; such growers never count towards the number needed.",
)

FORMULAS = (
    "rate = collected / time / pot volume (ml per minute and litre); L = ln(rate)",
    "effect of a mix: y = mean L of its pots - mean L of the straight-base pots, same series and pour",
    "var(y) = s² (1/pots + 1/base pots); two mixes of a series share s²/base pots; s from all replicated cells together",
    "model: y = mean of the share + grower (intercept + slope × share) + series + mix + error; by restricted maximum likelihood",
    "interval of an average: cluster-robust by grower (CR2, Satterthwaite), never narrower than the model’s own",
    "new grower: mean ± t × √(standard error² + grower, series and mix variances); t on growers at that share less one (our own choice, by simulation)",
    "one pot beside one pot: add 2 s² inside that root",
    "minutes of the standard pot = water collected / (typical rate of straight peat × pot volume) / ratio; my own pot: scaled by the depth of water drained (volume / area)",
)

SOURCES = (
    "Ratio against a shared control: Hedges, Gurevitch & Curtis 1999; Lajeunesse 2011 (cited from memory).",
    "Repeatability: ISO 5725-2 (cited from memory).",
    "Layers within layers: Konstantopoulos 2011, Research Synthesis Methods.",
    "Intervals that hold with few growers: Bell & McCaffrey; Pustejovsky & Tipton 2018 (cited from memory).",
    "Range for a new grower: Higgins, Thompson & Spiegelhalter 2009; they take two degrees of freedom off (from memory), here one is taken off.",
    "Twenty dots: Kay et al. 2016; Fernandes et al. 2018. Ranges of the average oversell: Hofman et al. 2020. Minutes rather than speeds: Peer & Gamliel 2013.",
)


def _ladder_words(view: MonthView) -> tuple[Block, ...]:
    rows = (
        ("19 of 20 or more", "drains faster"),
        ("16 to 19 of 20", "probably drains faster"),
        ("13 to 16 of 20", "may drain faster"),
        ("7 to 13 of 20", "we cannot tell yet, with what is ruled out"),
        ("fewer", "the same words with slower"),
    )
    table = TableBlock(
        f"The words, by how many of 20 {newcomers(view.results['scope'])} would be faster",
        ("faster in", "words"),
        tuple((cell(often), cell(words)) for often, words in rows),
    )
    note = say(
        "With 5 to 7 growers at a share never stronger than “may”; under 5 growers no such word. Faster is no praise: a faster mix can ask for water sooner; that was not measured."
    )
    return (table, note)


def _spread(answer: Answer, view: MonthView) -> list[Block]:
    table = answer.overall
    where = f"at {percent(view.settings.reference_share)} {plain(answer.component)}"
    blocks: list[Block] = []
    spread = view.shown.spreads.get(answer.component, Spread(None, None))
    if spread.nineteen_in_twenty is not None:
        blocks.append(
            say(
                Gloss("Between growers", "how far true ratios of different growers lie apart"),
                f": 19 in 20 growers’ series lie within {two_figures(spread.nineteen_in_twenty)} times either way of the average {where}.",
            )
        )
    if spread.two_pots is not None:
        blocks.append(
            say(
                Gloss("Repeatability", "how far two pots of one mix, same grower, same day, lie apart"),
                f": 19 in 20 such pairs lie within {two_figures(spread.two_pots)} times of each other.",
            )
        )
    if table.members:
        blocks.append(
            say(f"{capital(count(table.members, 'grower'))} at the share most often tested.", tone="small")
        )
    return blocks
