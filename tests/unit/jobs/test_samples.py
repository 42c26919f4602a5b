"""The samples that come with the tool, and how a pool made from them is known."""

from __future__ import annotations

import hashlib

from pipeline.jobs.samples import any_invented, demo_months, demo_sheets


def test_the_demo_has_three_months_of_sheets() -> None:
    assert demo_months() == ["2026-03", "2026-04", "2026-05"]
    for month in demo_months():
        sheets = demo_sheets(month)
        assert sheets and [name for name, _ in sheets] == sorted(name for name, _ in sheets)


def test_a_sample_is_known_by_its_content() -> None:
    _, content = demo_sheets("2026-03")[0]
    assert any_invented([hashlib.sha256(content).hexdigest()])
    assert not any_invented([hashlib.sha256(content + b" ").hexdigest()]) and not any_invented([])
