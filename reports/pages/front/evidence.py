"""Front page, middle part: dots, curve, every share in words, the growers behind it."""

from __future__ import annotations

from reports.answer import Answer
from reports.charts.curve import curve, target_words
from reports.charts.dots import counted, dots_drawing
from reports.charts.growers import growers_chart
from reports.headline import BASE, average_and_spread, compared_in, share_in_focus
from reports.page import Block, Link, Section, say
from reports.pages.shared.own_pot import pot_form, pot_words
from reports.tables import shares_to_avoid, verdict_table
from reports.view import MonthView
from reports.words import (
    MEMBERS_FOR_WORDS,
    as_straight,
    listed,
    newcomers,
    number_word,
    percent,
    plain,
    setting_number,
    who,
)
from schemas.trade.pots import StandardPot

GROWERS_ON_FRONT = 40


def dots_section(view: MonthView, answer: Answer) -> Section | None:
    """ "What might I get?": twenty dots and the sentence that counts them."""
    table = answer.overall
    row = share_in_focus(table, view.settings.reference_share)
    if row is None or row.members < MEMBERS_FOR_WORDS:
        return None
    target = view.settings.target_ratio
    picture = dots_drawing("dots", row, target, compared_in(answer))
    if picture is None:
        return None
    counts = counted(row.pot_dots(), target)
    sentence = (
        f"Of 20 {newcomers(view.results['scope'])} with one freshly filled pot of {percent(row.share)} {plain(answer.component)} beside one of "
        f"{as_straight(BASE)}, expect about {counts.reached} to see at least {setting_number(target)} times as fast, "
        f"{number_word(counts.between)} faster by less, and {number_word(counts.slower)} to see it slower."
    )
    spread = average_and_spread(row, as_straight(BASE), view.results["scope"])
    return Section("What might I get?", (say(sentence, tone="lead"), picture, say(spread)), "dots")


def curve_section(view: MonthView, answer: Answer) -> Section | None:
    """The picture of all shares, with every series behind it."""
    target = view.settings.target_ratio
    effects = view.effects_of(answer.component)
    drawn = curve("curve", answer.overall, effects, target, compared_in(answer))
    if drawn is None:
        return None
    before = say(
        f"Times as fast as {as_straight(BASE)} of the same grower, freshly filled pots, all grades. {target_words(target)}",
        tone="small",
    )
    return Section("How does it change with the share?", (before, drawn), "curve")


def shares_section(view: MonthView, answer: Answer, pot: StandardPot) -> Section:
    """Every share in the fixed words, with minutes, and the shares to avoid."""
    target = view.settings.target_ratio
    straight = pot.straight_minutes if answer.overall.known else None
    blocks: list[Block] = []
    avoid = shares_to_avoid(answer.overall)
    if avoid:
        shares = listed(percent(row.share) for row in avoid)
        blocks.append(
            say(
                f"To avoid: {shares} {plain(answer.component)}. It falls short, and most {newcomers(answer.overall.scope)} would show no gain or a slowing.",
                tone="lead",
            )
        )
    blocks.append(verdict_table(answer.overall, target, answer.component, straight))
    if any(row.growers != row.members for row in answer.overall.shares):
        blocks.append(say("Growers who shared a test day or a bag count once.", tone="small"))
    if straight is not None:
        blocks += [pot_words(pot, straight), pot_form(pot)]
    return Section("What does each share do?", tuple(blocks), "shares")


def growers_section(view: MonthView, answer: Answer) -> Section | None:
    """Each grower's own range, where there is room for all of them."""
    row = share_in_focus(answer.overall, view.settings.reference_share)
    if row is None:
        row = max(answer.overall.shares, key=lambda share: share.members, default=None)
    if row is None or view.members.is_empty():
        return None
    kept = view.members_at(answer.component, row.share)
    if kept.is_empty():
        return None
    sentence = say(
        f"{percent(row.share)} {plain(answer.component)}: {who(kept['member'].n_unique(), row.series)}. Each against their own {as_straight(BASE)}. ",
        Link("All growers", "growers.html"),
    )
    if kept.height > GROWERS_ON_FRONT:
        return Section("Who is behind it?", (sentence,), "who", paper=False)
    drawn = growers_chart("growers", kept, row, compared_in(answer))
    return Section("Who is behind it?", (sentence, *([drawn] if drawn else [])), "who", paper=False)
