"""What stands behind a headline is shown where the results hold it, and left out where they don't."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

import pytest

from reports.answer import Answer, Refits, answers
from reports.page import Section, Strong, text_of
from reports.pages.depends import asked, behind
from reports.pages.front.choices import choice_table
from reports.pages.growers import agreement_words
from reports.render import as_html
from reports.steps import listed_page
from schemas.results.details import DetailsValue
from tests.unit.reports.invented_month import invented_view

CONTRAST = {"contrast": "fine", "words": "fine grade beside others", "ratio_of_ratios": 0.8, "ci": [0.7, 0.9], "p": 0.01, "members": 11, "members_with_both": 8}  # fmt: skip
MORE: dict[str, Any] = {
    "contrasts": [CONTRAST, {**CONTRAST, "words": "screened", "p": 0.6, "ci": [0.9, 1.3], "ratio_of_ratios": 1.1},
                  {**CONTRAST, "words": "dry start", "ratio_of_ratios": None, "ci": None, "p": None, "why": "No test started on dry mix."}],
    "small_shares": {"shares": [{"share": 15.0, "ratio": 0.9, "p_slower": 0.01, "slower_than_ruled_out": 0.85, "members": 9},
                                {"share": 25.0, "ratio": 1.0, "p_slower": 0.4, "slower_than_ruled_out": 0.93, "members": 9}]},
    "robustness": [{"check": "headline", "words": "the headline", "share": 45.0, "ratio": 1.6, "p_clears": 0.9, "enough": 45.0}],
    "choices": [{"target_ratio": 1.25, "assurance": 0.8, "verdict": "enough", "share": 45.0}, {"target_ratio": 2.0, "assurance": 0.8, "verdict": "not_reached", "share": None}],
    "agreement": {"share": 40.0, "pots_within": 1.34, "growers_within": 1.87, "members_beyond_2": 1},
    "settling": {"pours": [{"pour": 2, "ratio_of_ratios": 0.88, "ci": [0.8, 0.97], "members": 12}]},
    "apart": {"dry": {"runs": 9, "shares": [{"share": 25.0, "members": 4, "ratio": 0.7, "ci": [0.5, 0.9]}, {"share": 45.0, "members": 2, "ratio": None, "ci": None}]}},
    "bend": {"knots": [22.75], "interval": [20.0, 26.0]},
}  # fmt: skip


def answer(details: dict[str, Any]) -> Answer:
    known = answers(invented_view(12).results)[0]
    refits = Refits(details.get("refits", {}).get("count", 0))
    overall = replace(known.overall, refits=refits)
    return replace(known, overall=overall, details=cast(DetailsValue, details))


def words_of(sections: list[Section]) -> str:
    page = replace(listed_page(invented_view(0), "depends.html"), sections=tuple(sections))
    return as_html(page).replace("\u00a0", " ")


def test_contrasts_say_what_can_be_said_and_no_p() -> None:
    html = words_of(asked.asked_section(answer(MORE)))
    assert "the gain is smaller" in html
    assert "we cannot tell yet; outside 0.90 to 1.3 is unlikely" in html
    assert "No test started on dry mix." in html
    assert "0.01" not in html


def test_small_shares_are_slower_or_say_what_is_ruled_out() -> None:
    html = words_of(behind.small_share_section(answer(MORE)))
    assert "15 %: 0.90 times as fast as straight peat on average: slower, sure enough." in html
    assert "on average under 0.93 times is unlikely" in html
    assert "moves between 20 % and 26 %" in html


def test_choices_set_the_clubs_own_strong() -> None:
    table = choice_table(answer(MORE), 1.25, 0.8)
    assert table is not None
    assert table.headings == ("as fast as straight", "in 16 of 20")
    assert [text_of(one.line) for row in table.rows for one in row] == [
        "at least 1.25 times", "45 %", "at least 2 times", "not reached",
    ]  # fmt: skip
    assert table.rows[0][1].line == (Strong("45 %"),)
    assert choice_table(answer({}), 1.25, 0.8) is None


def test_what_was_asked_beforehand_stands_apart_from_what_was_looked_at() -> None:
    more = {**MORE, "exploratory": [{**CONTRAST, "words": "volume within growers", "p": None}]}
    fixed, looked = (words_of(make(answer(more))) for make in (asked.asked_section, asked.looked_at_section))
    assert "Volume within growers" in looked and "Volume within growers" not in fixed
    assert "no more" in looked and "what can be said" not in looked


def test_tests_apart_of_too_few_growers_are_one_sentence() -> None:
    thin = {
        "dry": {
            "shares": [{"share": share, "members": 2, "ratio": None, "ci": None} for share in (25.0, 40.0)]
        }
    }
    html = words_of(behind.apart_section(answer({"apart": thin})))
    assert "Dry start: 2 growers so far." in html and "<table" not in html


def test_agreement_counts_and_never_names() -> None:
    said = " ".join(agreement_words(answer(MORE)))
    assert "within 1.3 times" in said and "1 grower lies further from the rest" in said
    assert "fen-" not in said


def test_nothing_held_nothing_shown() -> None:
    bare = answer({})
    makers = (
        asked.asked_section,
        asked.looked_at_section,
        behind.settling_section,
        behind.small_share_section,
        behind.robustness_section,
    )
    assert [maker(bare) for maker in makers] == [[], [], [], [], []]
    assert agreement_words(bare) == []
    assert words_of(behind.settling_section(answer(MORE))).count("pour 2") == 1
    assert behind.apart_section(bare) == []
    assert "dry start, 25 %" in words_of(behind.apart_section(answer(MORE)))
    assert "The headline" in words_of(behind.robustness_section(answer(MORE)))


@pytest.mark.parametrize(("growers", "said"), [(3, "too few (3 growers)"), (9, "none")])
def test_a_look_at_three_growers_is_too_few_and_never_none(growers: int, said: str) -> None:
    loose = {
        "check": "loose_only",
        "words": "only shares measured loose",
        "share": 45.0,
        "ratio": 1.5,
        "p_clears": 0.7,
        "enough": None,
    }
    html = words_of(
        behind.robustness_section(answer({**MORE, "robustness": [*MORE["robustness"], loose]}), growers)
    )
    assert said in html
