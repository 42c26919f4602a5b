"""A label that a download guards is read back as it was."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.jobs.month.public_pool import RUNS_AS_FORMULA
from schemas.formula_guards import STARTS_A_FORMULA, guarded, unguarded

TEXTS = st.text(alphabet="'=+-@|\ta2 ", max_size=6) | st.text(max_size=6)


@given(TEXTS)
def test_what_is_guarded_reads_back_as_it_was(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert not guarded(text).startswith(STARTS_A_FORMULA)


@given(TEXTS, TEXTS)
def test_two_texts_are_never_guarded_alike(text: str, other: str) -> None:
    assert (guarded(text) == guarded(other)) == (text == other)


@pytest.mark.parametrize("text", ["'tis spring", "'94 bench", "bench", ""])
def test_an_apostrophe_of_its_own_stays(text: str) -> None:
    assert guarded(text) == text == unguarded(text)


@given(TEXTS)
def test_the_public_pool_guards_the_same_texts(text: str) -> None:
    assert bool(re.search(RUNS_AS_FORMULA, text)) == (guarded(text) != text)
