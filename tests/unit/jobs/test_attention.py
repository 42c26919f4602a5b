"""What needs a human: odd series and waiting rows, the largest effect first, each with a question."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import polars as pl

from pipeline.jobs.attention import Matter, _shortened, letter, matters, odd_series, waiting_rows


def contrasts(*ratios: float, share: float = 40.0) -> pl.DataFrame:
    return pl.DataFrame(
        [
            ("perlite", "medium", f"m-{at}", f"m-{at}", "sill", share, math.log(ratio), ratio)
            for at, ratio in enumerate(ratios)
        ],
        schema=["component", "grade", "member", "member_key", "series", "component_share", "effect", "ratio"],
        orient="row",
    )


def held(*rows: tuple[str | None, str | None, int, bool]) -> pl.DataFrame:
    return pl.DataFrame(
        [
            (member, series, "a.csv", row, waits, "drain_time “205”: which unit?")
            for member, series, row, waits in rows
        ],
        schema={
            "member": pl.String,
            "series": pl.String,
            "file": pl.String,
            "sheet_row": pl.Int64,
            "waits": pl.Boolean,
            "message": pl.String,
        },
        orient="row",
    )


def test_a_series_sixty_times_off_is_found_and_its_slip_is_named() -> None:
    (one,) = odd_series(contrasts(1.5, 1.6, 1.4, 1.55, 1.5 * 60))
    assert (one.member, one.kind) == ("m-4", "odd")
    assert "60 times (minutes for seconds) larger" in one.question
    assert "We may well be the ones who are wrong" in one.question
    assert one.effect > 0.5


def test_growers_who_agree_and_growers_too_few_are_left_alone() -> None:
    assert odd_series(contrasts(1.5, 1.6, 1.4, 1.55, 1.45)) == []
    assert odd_series(contrasts(1.5, 90.0, 1.4)) == []
    assert odd_series(contrasts()) == []


def test_the_pull_is_the_change_of_the_plain_average() -> None:
    """Worked by hand: logs 0, 0, 0, ln 16; the average ln 2, without the last 0: the answer moves by 2 - 1."""
    (one,) = odd_series(contrasts(1.0, 1.0, 1.0, 16.0))
    assert math.isclose(one.effect, 1.0)


def test_held_rows_come_by_member_and_series_and_repeats_need_nobody() -> None:
    found = waiting_rows(
        held(
            ("fen-07", "sill", 3, True),
            ("fen-07", "sill", 4, True),
            ("fen-07", "sill", 5, False),
            (None, None, 6, True),
        ),
        97,
    )
    assert [(one.member, one.series, one.title) for one in found] == [
        ("fen-07", "sill", "2 held: row 3, 4"),
        ("", "", "1 held: row 6"),
    ]
    assert "which unit?" in found[0].question
    assert math.isclose(found[0].effect, 2 / 99)


def test_a_long_message_is_cut_behind_a_whole_word() -> None:
    short = _shortened("a sentence of words " * 40)
    assert len(short) <= 300 and short.endswith(" …")
    assert set(short.removesuffix(" …").split()) == {"a", "sentence", "of", "words"}
    assert _shortened("short enough") == "short enough"


def test_the_largest_effect_stands_first() -> None:
    found = matters(contrasts(1.5, 1.6, 1.4, 1.55, 15.0), held(("fen-07", "sill", 3, True)), 1000)
    assert found[0].kind == "odd"
    assert [one.effect for one in found] == sorted((one.effect for one in found), reverse=True)


def test_a_letter_is_whole_and_says_the_day_to_answer_by_and_what_silence_means() -> None:
    odd = Matter("odd", "fen-07", "bench A", "40 %", "", "Did it really happen like that?", 0.2)
    text = letter(odd, date(2026, 12, 14))
    assert text.startswith(
        "Hello fen-07,\n\nDid it really happen like that?\n\nPlease answer by 14 December 2026"
    )
    assert "Without an answer the runs stay in for now" in text.replace("\n", " ")
    assert max(map(len, text.splitlines())) <= 72
    waiting = letter(replace(odd, kind="held", member=""), date(2026, 12, 14)).replace("\n", " ")
    assert waiting.startswith("Hello there,") and "these rows stay out" in waiting
