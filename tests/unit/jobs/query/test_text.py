"""The answer of `query` as text, as rows, and as a passage for a mail."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.jobs.query.steps import QueryResult
from pipeline.jobs.query.text import CSV_COLUMNS, as_csv, as_table, sentences, where_text
from pipeline.settings import Settings

COUNTS = {"members": 6, "series": 7, "runs": 40}
ADVICE = {"verdict": "enough", "text": "40 % perlite is enough."}
BLANK: dict[str, Any] = dict.fromkeys(
    ("ratio", "ci", "new_series", "p_faster", "p_clears", "p_faster_pot", "p_clears_pot")
)


def row(share: float, **known: object) -> dict[str, Any]:
    """One share of a component; what is not known is blank."""
    return {**BLANK, "share": share, "members": 2, "series": 2, "verdict": "too_few", **known}


def answered(*rows: dict[str, Any], **more: object) -> QueryResult:
    """An answer about perlite in the whole pool."""
    components = {"perlite": {"recommendation": ADVICE, "shares": list(rows)}} if rows else {}
    value = {
        "invented": False,
        "where": {},
        "as_of": "2026-06-01T00:00:00Z",
        "components": components,
        "groups": [],
        **more,
    }
    return QueryResult(value, COUNTS, (), Settings())


def cells(result: QueryResult) -> list[dict[str, str]]:
    """The rows of the answer's CSV."""
    return list(csv.DictReader(io.StringIO(as_csv(result))))


@given(st.lists(st.tuples(st.integers(1, 100), st.floats(0.1, 9), st.booleans()), max_size=6))
def test_every_share_is_one_csv_row_and_what_is_not_known_stays_blank(
    shares: list[tuple[int, float, bool]],
) -> None:
    rows = [
        row(share, ratio=ratio, ci=[ratio / 2, ratio * 2]) if known else row(share)
        for share, ratio, known in shares
    ]
    written = cells(answered(*rows))
    assert [tuple(line) for line in written] == [CSV_COLUMNS] * len(rows)
    for line, (share, ratio, known) in zip(written, shares, strict=True):
        assert float(line["share"]) == share
        wanted = [ratio, ratio / 2, ratio * 2] if known else []
        assert [float(line[name]) for name in ("ratio", "ci_low", "ci_high") if line[name]] == wanted
        assert line["new_series_low"] == line["p_clears"] == ""


def test_a_table_says_whose_tests_and_the_mail_keeps_filter_counts_and_date() -> None:
    result = answered(row(40, ratio=1.5, ci=[1.2, 1.9]), where={"climate": ["Csb"]}, invented=True)
    text = as_table(result)
    assert text.startswith("Invented data: not growing advice.\nClimate Csb: 6 growers")
    assert "1.2 to 1.9" in text and "None" not in text
    assert list(sentences(result)) == ["perlite"]
    mail = sentences(result)["perlite"]
    assert mail.startswith("Invented data: not growing advice. Climate Csb, 6 growers")
    assert "as of 2026-06-01:" in mail and mail.endswith(ADVICE["text"])


def test_beside_another_share_there_is_no_verdict_but_each_ratio_with_its_growers() -> None:
    result = answered(row(60, ratio=1.3, ci=[1.1, 1.6], members=5, verdict="clears"), against=30.0)
    assert "verdict" not in as_table(result)
    assert (
        "times as fast as with 30 % on average: 60 % 1.3 (1.1 to 1.6; 5 growers)."
        in sentences(result)["perlite"]
    )
    assert "too few growers" in sentences(answered(row(60), against=30.0))["perlite"]


def test_a_part_without_a_comparison_says_so() -> None:
    assert "straight base yet" in as_table(answered())
    assert "straight base yet" in sentences(answered())[""]
    assert cells(answered()) == []


def test_groups_follow_the_whole_and_prove_nothing() -> None:
    component = {"perlite": {"recommendation": ADVICE, "shares": [row(40)]}}
    group = {"by": "grade", "level": "fine", "components": component}
    result = QueryResult(answered(row(40), groups=[group]).value, COUNTS, (COUNTS,), Settings())
    assert [(line["by"], line["level"]) for line in cells(result)] == [("", ""), ("grade", "fine")]
    assert "grade: fine: 6 growers" in as_table(result)
    assert "proves nothing" in as_table(result)


@pytest.mark.parametrize(
    ("where", "words"),
    [
        ({}, "The whole pool"),
        ({"climate": ["Csb", "Cfb"]}, "Climate Csb, Cfb"),
        ({"pot_volume_ml": (1000.0, None)}, "Pots from 1000 ml"),
        (
            {"pot_volume_ml": (500.0, 2000.0), "since": "2026-01-01"},
            "Pots from 500 ml to 2000 ml; tested from 2026-01-01",
        ),
        ({"until": "2026-05-31"}, "Tested up to 2026-05-31"),
    ],
)
def test_the_part_is_named_in_words(where: dict[str, Any], words: str) -> None:
    assert where_text(where) == words
