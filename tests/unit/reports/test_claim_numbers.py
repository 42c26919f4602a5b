"""One case, argued once: every number of the front page is the figure under its key of `results.json`, in the same order:
same share, same pour state, same counts."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from pipeline.jobs.month.shown import MonthFrames, shown
from reports.charts.dots import counted, pot_dots
from reports.headline import POTS
from reports.mail import mail_texts
from reports.page import DrawingBlock, Items, Mini, Minutes, Page, Say, TableBlock, text_of
from reports.pages.months import MonthEntry
from reports.render import every_block
from reports.steps import listed_page
from reports.view import MonthView
from reports.words import (
    between,
    day,
    mix,
    month_name,
    out_of_twenty,
    percent,
    time_words,
    times_as_fast,
    two_figures,
)
from tests.unit.reports.invented_month import NOTHING, advised, invented_view
from tests.unit.reports.test_printed_numbers import with_settled

NUMBER = re.compile(r"\d+(?:\.\d+)?")
STATES = pytest.mark.parametrize("state", ["fresh", "settled", "none"])


def numbers(*sentences: str) -> list[str]:
    """Every number of some sentences, in order, as it is printed."""
    return NUMBER.findall(" ".join(sentences).replace("\u202f", ""))


def with_deciding(state: str) -> MonthView:
    """A month whose recommended share is that of fresh pots, that of settled ones, or none."""
    view = with_settled(invented_view(30))
    perlite: Any = view.results["components"]["perlite"]
    settled = perlite["settled"]
    settled["shares"] = [
        {**row, "p_clears": 0.83, "p_clears_pot": 0.74, "members": row["members"] - 3}
        for row in settled["shares"]
    ]
    if state == "none":
        perlite["recommendation"] = {**NOTHING, "verdict": "not_reached"}
        return with_shown(view)
    of_settled = state == "settled"
    settled["recommendation"] = advised(65.0 if of_settled else 55.0, "1:2", settled["shares"], "settled")
    perlite["recommendation"] = advised(65.0, "1:2", (settled if of_settled else perlite)["shares"], state)
    return with_shown(view)


def with_shown(view: MonthView) -> MonthView:
    """The month with its redrawn ranges made anew from its changed results."""
    return replace(view, shown=shown(view.results, MonthFrames(view.effects, view.members, view.runs)))


def deciding_row(view: MonthView, other: bool = False) -> dict[str, Any]:
    """The share in focus, from the keys alone: the recommended one, else the one that most often reaches the line; of the
    state that `deciding_state` names, or of the other."""
    block: Any = view.results["components"]["perlite"]
    advice = block["recommendation"]
    settled = (advice["deciding_state"] == "settled") != other
    shares = (block["settled"] if settled else block)["shares"]
    share = advice["share"]
    if share is None:
        share = max(block["shares"], key=lambda row: (row["p_clears"], -row["share"]))["share"]
    found: dict[str, Any] = next(row for row in shares if row["share"] == share)
    return found


def claim_numbers(view: MonthView, state: str) -> list[str]:
    """What title and first sentence print: share, parts, how many of 20, target."""
    results: Any = view.results
    block, settings = results["components"]["perlite"], results["settings"]
    target, advice, row = f"{settings['target_ratio']:g}", block["recommendation"], deciding_row(view)
    if state == "none":
        return numbers(
            percent(row["share"]),
            target,
            out_of_twenty(row["p_clears"]),
            out_of_twenty(settings["assurance"]),
        )
    assert [row[key] for key in ("ratio", "ci", "new_series", "p_clears")] == [
        advice[key] for key in ("ratio", "ci", "new_series", "p_clears")
    ]
    return numbers(
        percent(advice["share"]), *advice["parts"].split(":"), out_of_twenty(row["p_clears"]), target
    )


def average_numbers(view: MonthView) -> list[str]:
    """Share with its parts, average, where it lies."""
    row = deciding_row(view)
    return numbers(mix(row["share"]), two_figures(row["ratio"]), between(*row["ci"]))


def behind_numbers(view: MonthView, state: str) -> list[str]:
    """Growers, series, pots."""
    advice: Any = view.results["components"]["perlite"]["recommendation"]
    if state != "none":
        return [str(advice["behind"][name]) for name in ("members", "series", "pots")]
    row = deciding_row(view)
    return [str(row[name]) for name in ("members", "series")]


def front(view: MonthView) -> Page:
    return listed_page(view, "index.html")


@STATES
def test_title_and_first_sentence_are_the_deciding_state_s(state: str) -> None:
    view = with_deciding(state)
    page = front(view)
    assert numbers(text_of(page.headline), text_of(page.under_headline)) == claim_numbers(view, state)
    assert ("settled pots" in text_of(page.under_headline)) == (state == "settled")


@STATES
def test_the_figures_of_the_first_screen_are_the_deciding_state_s(state: str) -> None:
    view = with_deciding(state)
    (lines,) = [block for block in front(view).opening if isinstance(block, Items)]
    printed = [text_of(line) for line in lines.lines]
    row, other, target = deciding_row(view), deciding_row(view, other=True), "1.25"
    case_pots = POTS["settled" if state == "settled" else "fresh"]
    straight = view.pot_of("settled" if state == "settled" else "fresh").straight_minutes
    expected = [
        average_numbers(view),
        [*numbers(between(*row["new_series"])), "19", "20"],
        behind_numbers(view, state),
        numbers(times_as_fast(other["ratio"]), out_of_twenty(other["p_clears"]), target),
    ]
    if straight is not None:
        times = (
            straight,
            straight / row["ratio"],
            straight / row["new_series"][1],
            straight / row["new_series"][0],
        )
        expected.append(numbers(*map(time_words, times)))
    assert [numbers(line) for line in printed] == expected
    assert case_pots in printed[0] and case_pots not in printed[3]


@STATES
def test_the_twenty_dots_are_the_printed_chances(state: str) -> None:
    view = with_deciding(state)
    (dots,) = [
        block for block in front(view).opening if isinstance(block, DrawingBlock) and block.name == "dots"
    ]
    row = deciding_row(view)
    reached = round(20 * row["p_clears_pot"])
    assert numbers(dots.caption)[:5] == ["20", *numbers(percent(row["share"])), str(reached), "1.25"]
    assert dots.svg.count('fill="var(--newgrower)" stroke="var(--newgrower)"') == reached
    assert dots.svg.count("<circle") == 20


@STATES
def test_quote_mail_and_index_of_months_say_the_same(state: str) -> None:
    view = with_deciding(state)
    claim = [*claim_numbers(view, state), *average_numbers(view), *behind_numbers(view, state)]
    quotes = [block for block in every_block(front(view)) if isinstance(block, Say) and block.tone == "quote"]
    edition = str(view.results["edition"])
    received = numbers(day(view.results["as_of"]))
    assert [numbers(text_of(quote.line)) for quote in quotes] == [
        [*numbers(month_name(view.month)), *claim, *received, edition]
    ]
    assert numbers(MonthEntry(view.results).sentence) == claim
    for mail in mail_texts(view).values():
        pool = mail.split("\n\nThe pool together:\n")[1]
        assert numbers(pool.split("\n\n")[0]) == claim


@STATES
def test_mails_print_the_grower_s_own_figures(state: str) -> None:
    view = with_deciding(state)
    for member, mail in mail_texts(view).items():
        rows = view.members.filter(member=member, state="fresh").sort("component_share")
        printed = [
            numbers(mix(row["component_share"]), times_as_fast(row["ratio"]))
            for row in rows.iter_rows(named=True)
        ]
        own = mail.split("\n\nThe pool together:\n")[0]
        assert [numbers(line) for line in own.splitlines() if line.startswith("  ")] == printed


@STATES
def test_the_strip_of_shares_is_the_deciding_state_s(state: str) -> None:
    view = with_deciding(state)
    block: Any = view.results["components"]["perlite"]
    shares = (block["settled"] if state == "settled" else block)["shares"]
    straight = view.pot_of("settled" if state == "settled" else "fresh").straight_minutes
    (strip,) = [
        block
        for block in every_block(front(view))
        if isinstance(block, TableBlock) and block.caption.startswith("Every share")
    ]
    assert POTS["settled" if state == "settled" else "fresh"] in strip.caption
    for row, printed in zip(shares, strip.rows, strict=True):
        pieces = [piece for cell in printed for piece in cell.line]
        assert text_of(printed[0].line) == mix(row["share"])
        assert text_of(printed[-1].line) == str(row["members"])
        (dots,) = [piece for piece in pieces if isinstance(piece, Mini)]
        assert numbers(dots.text)[1] == str(round(20 * row["p_clears_pot"]))
        if straight is not None:
            (timed,) = [piece for piece in pieces if isinstance(piece, Minutes)]
            assert timed.text == time_words(straight / row["ratio"])


@STATES
def test_the_curve_draws_the_deciding_state_strong_and_the_other_beside_it(state: str) -> None:
    view = with_deciding(state)
    (curve,) = [
        block
        for block in every_block(front(view))
        if isinstance(block, DrawingBlock) and block.name == "curve"
    ]
    block: Any = view.results["components"]["perlite"]
    shares = (block["settled"] if state == "settled" else block)["shares"]
    spoken = [numbers(mix(row["share"]), two_figures(row["ratio"]), between(*row["ci"])) for row in shares]
    said = curve.description.split(". ", 1)[1].split("; ")
    assert [numbers(line)[: len(want)] for line, want in zip(said, spoken, strict=True)] == spoken
    assert curve.svg.count('class="average"') == len(shares)
    assert curve.svg.count('class="beside"') == len(
        (block if state == "settled" else block["settled"])["shares"]
    )
    assert curve.svg.count('class="chosen"') == 1


def test_a_figure_that_moves_in_the_results_moves_everywhere() -> None:
    view = with_deciding("settled")
    row = deciding_row(view)
    row["ratio"] = view.results["components"]["perlite"]["recommendation"]["ratio"] = 7.7
    page = front(view)
    said = [text_of(line) for block in page.opening if isinstance(block, Items) for line in block.lines]
    assert "7.7" in said[0]
    (quote,) = [block for block in every_block(page) if isinstance(block, Say) and block.tone == "quote"]
    assert "7.7 times as fast" in text_of(quote.line)
    assert "7.7 times as fast" in " ".join(next(iter(mail_texts(view).values())).split())


@pytest.mark.parametrize(("p_faster", "p_clears"), [(0.99, 0.95), (0.6, 0.3), (0.1, 0.02)])
def test_dots_lie_on_the_sides_of_the_printed_chances(p_faster: float, p_clears: float) -> None:
    row = with_deciding("fresh").answers[0].overall.shares[3]
    dots = pot_dots(replace(row, p_faster_pot=p_faster, p_clears_pot=p_clears), 1.25)
    counts = counted(dots, 1.25)
    assert dots == sorted(dots)
    assert (counts.reached, counts.slower) == (round(20 * p_clears), 20 - round(20 * p_faster))
