"""Every number of the headline, the quote and the mails is the figure that stands in `results.json`, in the same order."""

from __future__ import annotations

import re
from typing import Any

import pytest

from reports.mail import mail_texts
from reports.page import Say, text_of
from reports.render import every_block
from reports.steps import month_pages
from reports.view import MonthView
from reports.words import day, month_name, out_of_twenty, percent, times_as_fast
from tests.unit.reports.invented_month import invented_view
from tests.unit.reports.test_printed_numbers import with_settled

NUMBER = re.compile(r"\d+(?:\.\d+)?")


def numbers(sentence: str) -> list[str]:
    """Every number of a sentence, in order, as it is printed."""
    return NUMBER.findall(sentence.replace("\u202f", ""))


def with_deciding(state: str) -> MonthView:
    """A month whose recommended share is that of fresh pots, that of settled ones, or none."""
    view = with_settled(invented_view(30))
    perlite: Any = view.results["components"]["perlite"]
    if state == "none":
        perlite["recommendation"] = {"share": None, "parts": None, "verdict": "not_reached", "text": ""}
    else:
        settled = perlite["settled"]
        enough = {"share": 65.0, "parts": "1:2", "verdict": "enough", "text": ""}
        perlite["recommendation"] = enough
        settled["recommendation"] = {**enough, "share": 65.0 if state == "settled" else 55.0}
        settled["shares"] = [{**row, "p_clears": 0.83, "p_clears_pot": 0.74} for row in settled["shares"]]
    return view


def claim_numbers(view: MonthView, state: str) -> list[str]:
    """What the claim prints, read from the keys of `results.json` alone: share, parts, how many of 20, target."""
    results: Any = view.results
    block, settings = results["components"]["perlite"], results["settings"]
    target, advice = f"{settings['target_ratio']:g}", block["recommendation"]
    if state == "none":
        best = max(block["shares"], key=lambda row: (row["p_clears"], -row["share"]))
        often = [out_of_twenty(best["p_clears"]), out_of_twenty(settings["assurance"])]
        return numbers(" ".join([percent(best["share"]), target, *often]))
    deciding = (block["settled"] if state == "settled" else block)["shares"]
    row = next(row for row in deciding if row["share"] == advice["share"])
    often = [out_of_twenty(row["p_clears"]), target, out_of_twenty(row["p_clears_pot"])]
    return numbers(" ".join([percent(advice["share"]), *advice["parts"].split(":"), *often]))


STATES = pytest.mark.parametrize("state", ["fresh", "settled", "none"])


@STATES
def test_headline_and_quote_print_the_figures_of_the_state_that_decides(state: str) -> None:
    view = with_deciding(state)
    front = month_pages(view)[0]
    claim = claim_numbers(view, state)
    assert numbers(f"{text_of(front.headline)} {text_of(front.under_headline)}") == claim
    (quote,) = [block for block in every_block(front) if isinstance(block, Say) and block.tone == "quote"]
    counts = view.results["counts"]
    counted = [str(counts[name]) for name in ("members", "series", "runs")]
    month, end = numbers(month_name(view.month)), numbers(day(view.results["as_of"]))
    edition = str(view.results["edition"])
    assert numbers(text_of(quote.line)) == [*month, *claim, *counted, *end, edition]


@STATES
def test_mails_print_the_grower_s_own_figures_and_the_claim(state: str) -> None:
    view = with_deciding(state)
    for member, mail in mail_texts(view).items():
        own, pool = mail.split("\n\nThe pool together:\n")
        rows = view.members.filter(member=member, state="fresh").sort("component_share")
        printed = [
            [*numbers(percent(row["component_share"])), *numbers(times_as_fast(row["ratio"]))]
            for row in rows.iter_rows(named=True)
        ]
        lines = [numbers(line) for line in own.splitlines() if line.startswith("  ")]
        assert lines == printed
        assert numbers(pool.split("\n\n")[0]) == claim_numbers(view, state)
