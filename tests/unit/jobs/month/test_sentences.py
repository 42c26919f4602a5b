"""What a finished month says: counts, the finding, what waits; made of the results and nothing else."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, cast

import polars as pl
import pytest

from pipeline.jobs.month.figures import Figures
from pipeline.jobs.month.sentences import INVENTED, month_sentences
from pipeline.jobs.receiving.inbox import TakenIn
from pipeline.load.truth.records import Edition
from schemas.results.whole import ResultsValue

END = datetime(2026, 3, 31, 23, 59, 59, tzinfo=UTC)
ADVICE = {"perlite": {"recommendation": {"text": "40 % perlite is enough.", "verdict": "enough"}}}


def made(
    components: dict[str, Any] | None = None, invented: bool = False, held: int = 3, **edition: Any
) -> Figures:
    results: dict[str, Any] = {
        "counts": {"members": 6, "series": 7, "runs": 40, "held": held},
        "invented": invented,
        "components": ADVICE if components is None else components,
    }
    values = {"month": "2026-03", "number": 1, "as_of": END, "open": False, "line": 9, **edition}
    empty = pl.DataFrame()
    return Figures(
        Edition(**values), cast(ResultsValue, results), empty, empty, empty, empty, {}, empty, empty, known=9
    )


@pytest.mark.parametrize(
    ("edition", "state"),
    [
        ({"open": True, "line": None}, "open, figures so far"),
        ({}, "edition 1, draft until --publish"),
        ({"number": 3}, "edition 3, draft until --publish"),
        ({"number": 2, "published": True}, "edition 2"),
    ],
)
def test_the_first_line_says_month_state_and_whose_tests(edition: dict[str, Any], state: str) -> None:
    first = month_sentences(made(**edition), TakenIn())[0]
    assert first == f"March 2026 ({state}): 6 growers, 7 series, 40 runs."


def test_the_finding_is_the_results_own_sentence_and_verdict() -> None:
    assert "perlite: 40 % perlite is enough. [enough]" in month_sentences(made(), TakenIn())


def test_a_pool_that_compares_nothing_says_so() -> None:
    lines = month_sentences(made({}), TakenIn())
    assert any("nothing to pool" in line for line in lines)


def test_invented_data_are_named_as_such_and_others_are_not() -> None:
    assert INVENTED in month_sentences(made(invented=True), TakenIn())
    assert INVENTED not in month_sentences(made(), TakenIn())


@pytest.mark.parametrize(("held", "words"), [(0, "0 rows held"), (1, "1 row held"), (12, "12 rows held")])
def test_the_last_line_counts_what_is_held(held: int, words: str) -> None:
    assert month_sentences(made(held=held), TakenIn())[-1].startswith(f"{words};")


@pytest.mark.parametrize(
    ("taken", "words"),
    [
        (TakenIn(sheets=1, accepted=1), "From the inbox: 1 sheet, 1 row accepted, 0 held."),
        (
            TakenIn(2, 10, 3, 1, 2, 1),
            "From the inbox: 2 sheets, 10 rows accepted, 3 held; 1 file can't be read as a run sheet; "
            "1 request from the desk carried out; 2 files left in the inbox.",
        ),
        (
            TakenIn(requests=2),
            "From the inbox: 0 sheets, 0 rows accepted, 0 held; 2 requests from the desk carried out.",
        ),
    ],
)
def test_what_came_out_of_the_inbox(taken: TakenIn, words: str) -> None:
    assert words in month_sentences(made(), taken)


def test_an_empty_inbox_takes_no_line() -> None:
    assert not any("inbox" in line for line in month_sentences(made(), TakenIn()))
