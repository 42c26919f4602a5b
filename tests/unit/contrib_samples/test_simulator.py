"""The committed demo is what the program draws, and its README says what it holds."""

from __future__ import annotations

import json
import re
from math import exp
from pathlib import Path
from typing import Any

import pytest

from contrib_samples import simulator, truth
from contrib_samples.federation import CLUBS
from contrib_samples.sheets import draw_sheets

FOLDER = Path(simulator.__file__).parent
README = (FOLDER / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def told() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((simulator.DEMO / "truth.json").read_text(encoding="utf-8"))
    return loaded


def test_the_committed_demo_is_drawn_again_byte_for_byte() -> None:
    drawn = simulator.demo_files()
    committed = {
        path.relative_to(simulator.DEMO).as_posix(): path.read_bytes()
        for path in simulator.DEMO.rglob("*")
        if path.is_file()
    }
    assert sorted(drawn) == sorted(committed)
    assert [path for path in drawn if drawn[path] != committed[path]] == []


def test_another_seed_draws_other_times_and_the_same_plan() -> None:
    ours, other = draw_sheets(simulator.SEED), draw_sheets(simulator.SEED + 1)
    plans = [
        [(sheet.path, sheet.rows, {(row.spot, row.why) for row in sheet.held}) for sheet in drawn]
        for drawn in (ours, other)
    ]
    assert plans[0] == plans[1]
    assert all(ours[at].content != other[at].content for at in range(len(ours)))


def test_the_demo_is_written_in_place_of_what_stood_there(tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    (folder / "2026-02").mkdir(parents=True)
    (folder / "2026-02" / "stale.csv").write_text("member\n")
    simulator.write_demo(folder)
    assert not (folder / "2026-02").exists()
    assert (folder / "truth.json").read_bytes() == (simulator.DEMO / "truth.json").read_bytes()


def test_the_demo_has_the_breadth_that_was_asked_for(told: dict[str, Any]) -> None:
    counts = told["counts"]
    assert 26 <= counts["members"] <= 32
    assert counts["clubs"] >= 5
    assert sum(counts["rows"].values()) < 2500
    assert all(held > 0 for held in counts["held"].values())
    assert list(counts["members_by_then"].values()) == [6, 16, 30]
    assert told["seed"] == 20260301


@pytest.mark.parametrize(("state", "enough", "short_of_it"), [("fresh", 40.0, 33.3), ("settled", 50.0, 40.0)])
@pytest.mark.parametrize("grade", ["pooled", "fine", "medium", "coarse"])
def test_by_the_truth_enough_is_one_tested_share_later_when_settled(
    told: dict[str, Any], state: str, enough: float, short_of_it: float, grade: str
) -> None:
    table = {row["share"]: row for row in told["as_sampled"]["2026-05"][state][grade]}
    assert table[enough]["p_clears"] > told["assurance"] + 0.08
    assert all(row["p_clears"] > told["assurance"] for share, row in table.items() if share >= enough)
    assert all(
        row["p_clears"] < told["assurance"] - 0.08 for share, row in table.items() if share <= short_of_it
    )
    assert table[enough]["members"] >= 5


def test_a_share_just_beside_a_commoner_one_is_counted_there(told: dict[str, Any]) -> None:
    shares = [row["share"] for row in told["as_sampled"]["2026-05"]["fresh"]["pooled"]]
    assert shares == [15.0, 25.0, 33.3, 40.0, 50.0, 60.0, 65.0]


def test_members_who_never_tested_a_share_are_not_counted_at_it(told: dict[str, Any]) -> None:
    rows = {row["share"]: row["members"] for row in told["as_sampled"]["2026-05"]["fresh"]["pooled"]}
    assert rows[40.0] == 30
    assert rows[65.0] == 2


def test_readme_counts_are_the_demo_s(told: dict[str, Any]) -> None:
    counts = told["counts"]
    assert f"{counts['series']} series in {sum(counts['sheets'].values())} sheets" in README
    assert f"{sum(counts['held'].values())} of the {sum(counts['rows'].values())} rows" in README
    assert str(told["seed"]) in README
    for club in CLUBS:
        assert f"`{club}`" in README


@pytest.mark.parametrize(("state", "pour"), [("Fresh", 1), ("Settled", 2)])
def test_readme_states_the_truth(state: str, pour: int) -> None:
    table = README.split(f"| {state}: ratio |")[1].split("\n\n")[0]
    for grade in truth.FRESH:
        found = re.search(rf"^\| {grade} \| (.+) \|$", table, re.MULTILINE)
        assert found
        stated = [float(cell) for cell in found.group(1).split(" | ")]
        assert stated == pytest.approx(
            [exp(truth.ln_ratio(grade, share, pour)) for share in truth.SHARES], abs=0.0051
        )


def test_readme_says_that_everything_is_invented() -> None:
    assert "Invented data: not growing advice" in README
    assert "made up" in README
