"""Three invented growers' own sheets, in their own words and habits: right within one round of mending, never wrong in silence.

Each is checked as it came, mended by what its receipt says and nothing else, and checked again.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from tests.story.sheets import check

GERMAN = """Mitglied;Versuchsreihe;Datum;Klimazone;Aufbau;Topfvolumen;Zuschlag;Körnung;Anteil in %;Topf Nr.;Guss Nr.;Gegossen (ml);Aufgefangen (ml);Ablaufzeit
heide-4;Küche Mai;3.5.26;Dfb;sieve;1,2 l;perlite;medium;0;1;1;360;180;5:40
heide-4;Küche Mai;3.5.26;Dfb;sieve;1,2 l;perlite;medium;25;1;1;360;180;4:55
heide-4;Küche Mai;3.5.26;Dfb;sieve;1,2 l;perlite;medium;50;1;1;360;180;3,25
Mittelwert;;;;;;;;;;;360;180;
"""
AMERICAN = """My drain tests on the porch
Member,Series,Date,Climate,Setup,Pot volume,Component,Grade,Parts,Pot #,Pour #,Poured,Collected,Drain time,Water temp
mesa-22,porch,5/13/2026,Csb,rack,1 quart,perlite,coarse,1:0,1,1,1 1/2 cups,3/4 cup,4:10,68 F
mesa-22,porch,5/13/2026,Csb,rack,1 quart,perlite,coarse,3:01,1,1,1 1/2 cups,3/4 cup,3:30,68 F
mesa-22,porch,5/13/2026,Csb,rack,1 quart,perlite,coarse,1:1,1,1,1 1/2 cups,3/4 cup,2:15:00,68 F
"""
BRITISH = """member,series,tested on,climate zone,setup,pot volume,component,grade,parts,pot no.,pour no.,poured,collected / ml,drain time
moor-9,glasshouse,2026-05-14,8b,jug rim,1 imp pint,silica sand,medium,1+0,1,1,200 ml,100,3m10s
moor-9,glasshouse,2026-05-14,8b,jug rim,1 imp pint,silica sand,medium,2+1,1,1,200 ml,100,2m05s
moor-9,glasshouse,2026-05-14,8b,jug rim,1 imp pint,silica sand,medium,1/3,1,1,200 ml,100,2.5
"""


@dataclass(frozen=True)
class Grower:
    """A sheet as it came, what its receipt leads them to change, and what is true."""

    sheet: str
    held: int
    mended: tuple[tuple[str, str], ...]
    shares: list[float]
    times_s: list[float]
    pot_ml: float
    collected_ml: float


GROWERS = {
    "german": Grower(
        GERMAN,
        3,
        ((";3.5.26;", ";3.5.2026;"), (";3,25\n", ";3:25\n")),
        [0.0, 25.0, 50.0],
        [340.0, 295.0, 205.0],
        1200.0,
        180.0,
    ),
    "american": Grower(
        AMERICAN,
        2,
        ((",3:01,", ",3+1,"), (",2:15:00,", ",2 min 15 s,")),
        [0.0, 25.0, 50.0],
        [250.0, 210.0, 135.0],
        946.352946,
        177.441177375,
    ),
    "british": Grower(
        BRITISH,
        3,
        ((",8b,", ",Cfb,"), (",1/3,", ",2+1,"), (",2+1,1,1,200 ml,100,2.5", ",1+1,1,1,200 ml,100,2.5 min")),
        [0.0, 33.3, 50.0],
        [190.0, 125.0, 150.0],
        568.26125,
        100.0,
    ),
}


@pytest.mark.parametrize("name", GROWERS)
def test_right_within_one_round(name: str) -> None:
    grower = GROWERS[name]
    first = check(grower.sheet)
    assert first.counts == (3, 3 - grower.held, grower.held)
    told = " ".join(f"{problem['message']} {problem['fix']}" for problem in first.problems("held"))
    mended = grower.sheet
    for before, after in grower.mended:
        assert before in mended
        mended = mended.replace(before, after)
    second = check(mended)
    assert second.counts == (3, 3, 0) and second.problems("held") == [], told
    accepted = second.accepted
    assert accepted["component_share"].to_list() == grower.shares
    assert accepted["drain_time_s"].to_list() == grower.times_s
    assert accepted["pot_volume_ml"].to_list() == pytest.approx([grower.pot_ml] * 3)
    assert accepted["collected_ml"].to_list() == pytest.approx([grower.collected_ml] * 3)


@pytest.mark.parametrize(
    ("name", "offers"),
    [
        ("german", ("four digits", "3:25")),
        ("american", ("3+1", "2 min 15 s")),
        ("british", ("hardiness", "2+1", "2.5 min")),
    ],
)
def test_the_first_receipt_offers_what_to_write(name: str, offers: tuple[str, ...]) -> None:
    problems = check(GROWERS[name].sheet).problems("held")
    told = " ".join(f"{problem['message']} {problem['fix']}" for problem in problems)
    assert [offer for offer in offers if offer not in told] == []
