"""Grades on the pages: first whether a difference is shown, then the best guess, and what a grade says alone as description."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

import pytest

from reports.pages.front.limits import grade_line
from reports.render import as_html
from reports.steps import listed_page
from reports.view import MonthView
from schemas.results.component import ComponentValue
from schemas.trade.verdicts import CANNOT_TELL, RULED_OUT, SHOWN
from tests.unit.reports.invented_month import invented_view

BEST_GUESS = (
    "We cannot tell whether grade matters. The whole pool's 45 % is the best guess for fine perlite too."
)


def borrowing(view: MonthView, word: str) -> MonthView:
    """The month with every grade borrowing from the whole pool, and this word of its difference."""
    perlite = cast(dict[str, Any], view.results["components"]["perlite"])
    grades = {
        grade: {
            **table,
            "recommendation": {**table["recommendation"], "text": BEST_GUESS},
            "difference": {"ratio": 0.9, "ci": [0.7, 1.2], "word": word},
            "alone": table,
        }
        for grade, table in perlite["grades"].items()
    }
    component = cast(ComponentValue, {**perlite, "grades": grades})
    return replace(view, results={**view.results, "components": {"perlite": component}})


def test_the_page_says_whether_grades_differ_before_any_figure_of_one() -> None:
    view = borrowing(invented_view(30), CANNOT_TELL)
    page = as_html(listed_page(view, "depends.html"))
    guess = "is the best guess for fine perlite too"
    assert guess in page
    assert page.index(guess) < page.index("judged alone")


@pytest.mark.parametrize(
    ("word", "said"),
    [(CANNOT_TELL, "cannot tell"), (RULED_OUT, "no difference is left"), (SHOWN, "is shown")],
)
def test_the_line_on_grades_follows_the_difference(word: str, said: str) -> None:
    (answer,) = borrowing(invented_view(30), word).answers
    assert said in grade_line(answer)
    assert {table.difference for table in answer.grades} == {word}


def test_figures_of_a_grade_are_those_that_stand_under_alone() -> None:
    (answer,) = borrowing(invented_view(30), CANNOT_TELL).answers
    for table in answer.grades:
        assert table.path == ("components", "perlite", "grades", table.name, "alone")
        assert table.shares and table.borrowing is not None and table.borrowing.text == BEST_GUESS
    plain = invented_view(30).answers[0].grades[0]
    assert (plain.difference, plain.borrowing, plain.path[-1]) == ("", None, "fine")
