"""The question about a waiting run, in a person's units and harmless."""

from __future__ import annotations

from pipeline.jobs.decisions.waiting import question_about

RUN = {
    "series": "bench A",
    "rule": "run_waits",
    "column": "drain_time",
    "drain_time_s": 12300.0,
    "collected_ml": 150.0,
    "times": 60.0,
    "too_fast": False,
    "factor": 60.0,
    "usual": 205.0,
}


def test_the_question_names_what_was_typed_and_what_the_series_gives() -> None:
    asked = question_about(RUN)
    assert (
        "“3 h 25 min” is about 60 times as long as the rest of series “bench A” gives, about 3 min 20 s"
        in asked
    )
    assert "60 times shorter" in asked
    volume = question_about({**RUN, "column": "collected", "too_fast": True, "usual": 2.5})
    assert "collected “150 ml” is about 60 times as much as" in volume and "60 times smaller" in volume


def test_an_equal_series_is_named_and_a_label_steers_no_terminal() -> None:
    equal = {"series": "b\x1b[2J", "rule": "series_waits", "earlier_member": "m2", "earlier_series": "bench"}
    asked = question_about(equal)
    assert "is that of series “bench” of member m2" in asked and "\x1b" not in asked
