"""Pages say how many runs wait, in words and in the counts below; nothing where none does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reports.steps import month_pages
from tests.unit.reports.invented_month import invented_view


@pytest.mark.parametrize(
    ("waits", "words"), [(0, ""), (1, "1 run waits for an answer"), (3, "3 runs wait for an answer")]
)
def test_front_page_and_what_came_in_say_how_many_runs_wait(waits: int, words: str) -> None:
    view = invented_view(8)
    pages = {
        page.path: repr(page) for page in month_pages(replace(view, results={**view.results, "waits": waits}))
    }
    for path in ("index.html", "quality.html"):
        said = pages[path].count("for an answer")
        assert (words in pages[path] and said == 2) if words else said == 0
