"""What may be typed behind the options of `query`, and which runs it leaves."""

from __future__ import annotations

from datetime import date

import polars as pl
import pytest

from pipeline.errors import WrongUseError
from pipeline.jobs.query.part import read_part, read_share

RUNS = pl.DataFrame(
    {
        "climate_zone": ["Cfb", "Csb", "Dfb", "unknown"],
        "setup_type": ["rack", "sieve", "rack", "jug_rim"],
        "component_grade": ["medium", "fine", None, "coarse"],
        "component": ["perlite", "pumice", None, "perlite"],
        "base": ["sphagnum_peat", "coir", "sphagnum_peat", "sphagnum_peat"],
        "pot_volume_ml": [500.0, 1000.0, 2000.0, 3785.411784],
        "tested_on": [date(2026, 3, 1), date(2026, 3, 31), date(2026, 4, 1), date(2026, 5, 2)],
    }
)


def kept(**typed: str) -> list[str]:
    return read_part(typed).of(RUNS)["climate_zone"].to_list()


def test_nothing_typed_is_everything() -> None:
    assert read_part({}).of(RUNS).equals(RUNS) and read_part({}).as_value() == {}


@pytest.mark.parametrize(
    ("typed", "left"),
    [
        ({"climate": "cfb"}, ["Cfb"]),
        ({"climate": "Cfb, Dfb"}, ["Cfb", "Dfb"]),
        ({"climate": "C"}, ["Cfb", "Csb"]),
        ({"climate": "d,unknown"}, ["Dfb", "unknown"]),
        ({"setup": "rack"}, ["Cfb", "Dfb"]),
        ({"setup": "jug rim"}, ["unknown"]),
        ({"grade": "fine,coarse"}, ["Csb", "unknown"]),
        ({"component": "pumice"}, ["Csb"]),
        ({"base": "coir"}, ["Csb"]),
        ({"pot_volume": "0.5l..2l"}, ["Cfb", "Csb", "Dfb"]),
        ({"pot_volume": "..1 litre"}, ["Cfb", "Csb"]),
        ({"pot_volume": "1l.."}, ["Csb", "Dfb", "unknown"]),
        ({"pot_volume": "1 gal.."}, ["unknown"]),
        ({"since": "2026-03-31", "until": "2026-04-01"}, ["Csb", "Dfb"]),
        ({"climate": "C", "setup": "sieve"}, ["Csb"]),
    ],
)
def test_parts(typed: dict[str, str], left: list[str]) -> None:
    assert kept(**typed) == left


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"climate": "Xyz"}, "“Xyz”"),
        ({"climate": "As"}, "“As”"),
        ({"climate": ","}, "--climate needs a value"),
        ({"setup": "table"}, "rack, strainer"),
        ({"grade": "rough"}, "fine, medium, coarse"),
        ({"component": "gravel"}, "perlite"),
        ({"base": "soil"}, "sphagnum_peat"),
        ({"pot_volume": "1l"}, "not a range"),
        ({"pot_volume": ".."}, "not a range"),
        ({"pot_volume": "0.5..2l"}, "never guessed"),
        ({"pot_volume": "2l..1l"}, "smaller volume comes first"),
        ({"pot_volume": "1 oz.."}, "fl oz"),
        ({"pot_volume": "1 pot.."}, "ml"),
        ({"since": "March"}, "--since"),
        ({"since": "2026-04-02", "until": "2026-04-01"}, "is later than"),
    ],
)
def test_what_cannot_be_read_is_wrong_use(typed: dict[str, str], words: str) -> None:
    with pytest.raises(WrongUseError) as failure:
        read_part(typed)
    assert words in str(failure.value)


def test_where_holds_only_what_was_asked() -> None:
    part = read_part({"climate": "Csb,Cfb", "pot_volume": "..2l", "since": "2026-03-01"})
    assert part.as_value() == {
        "climate": ["Csb", "Cfb"],
        "pot_volume_ml": [None, 2000.0],
        "since": "2026-03-01",
    }


@pytest.mark.parametrize(
    ("typed", "share"), [(None, 0.0), ("30", 30.0), ("33.3 %", 33.3), ("0", 0.0), ("100%", 100.0)]
)
def test_a_share_to_compare_with(typed: str | None, share: float) -> None:
    assert read_share(typed) == share


@pytest.mark.parametrize("typed", ["0.3", "101", "-5", "a third", "3:1", "nan"])
def test_what_is_no_share_is_wrong_use(typed: str) -> None:
    with pytest.raises(WrongUseError, match="--against"):
        read_share(typed)
