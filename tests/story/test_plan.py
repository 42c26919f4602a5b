"""plan → fill in times → check → load → plan again, as typed."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest

from tests.story.pool_fixture import drainpool, small_sheet, write

SECONDS = {"0 %": 300, "25 %": 260, "40 %": 190}


def filled(text: str, member: str = "fen-07") -> str:
    """The plan's sheet as it comes back from the bench: day, time and what a first test lacks are filled in."""
    rows = list(csv.DictReader(io.StringIO(text)))
    for number, row in enumerate(rows):
        row |= {
            "member": member,
            "tested_on": "2026-04-18",
            "drain_time": f"{SECONDS[row['component_share']] + number} s",
        }
        row["climate_zone"] = row["climate_zone"] or "Cfb"
        row["setup_type"] = row["setup_type"] or "rack"
        row["component_grade"] = row["component_grade"] or "medium"
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def test_from_plan_to_pool_and_back(tmp_path: Path) -> None:
    pool, folder = tmp_path / "pool", tmp_path / "plan"
    assert drainpool("load", write(tmp_path, "first.csv", small_sheet()), "--pool", pool).returncode == 0
    planned = drainpool("plan", "--pool", pool, "--member", "FEN-07", "--shares", "0,25,40", "--out", folder)
    assert planned.returncode == 0, planned.stderr
    assert "A test for FEN-07: straight base beside 25 % and 40 % perlite." in planned.stdout
    cards = [f"bench-card-{number}-{paper}.html" for number in (1, 2) for paper in ("a4", "letter")]
    names = ["bench-card.css", "plan.txt", "run_sheet.csv", "run_sheet.xlsx", *cards]
    assert sorted(path.name for path in folder.iterdir()) == sorted(names)
    assert planned.stdout.startswith((folder / "plan.txt").read_text(encoding="utf-8"))

    sheet = write(tmp_path, "back.csv", filled((folder / "run_sheet.csv").read_text(encoding="utf-8")))
    checked = drainpool("check", sheet, "--pool", pool)
    assert checked.returncode == 0, checked.stdout
    assert "Held back" not in checked.stdout
    assert drainpool("load", sheet, "--pool", pool).returncode == 0

    again = drainpool("plan", "--pool", pool, "--member", "fen-07", "--shares", "0,25,40")
    assert again.returncode == 0
    assert "as the pool's own repeats scatter" in again.stdout


def test_the_spreadsheet_holds_the_same_lines(tmp_path: Path) -> None:
    import polars as pl

    folder = tmp_path / "plan"
    assert drainpool("plan", "--shares", "25,40", "--out", folder).returncode == 0
    rows = list(csv.DictReader((folder / "run_sheet.csv").open(encoding="utf-8")))
    frame = pl.read_excel(folder / "run_sheet.xlsx", infer_schema_length=0)
    kept = ["component_share", "pot_no", "pour_no", "poured", "collected", "run_order"]
    assert frame.select(kept).rows() == [tuple(row[name] for name in kept) for row in rows]


def test_the_same_words_give_the_same_plan_and_another_seed_another() -> None:
    one, two = (drainpool("plan", "--shares", "25,40").stdout for _ in range(2))
    assert one == two
    assert drainpool("plan", "--shares", "25,40", "--seed", "1").stdout != one


def test_nothing_is_written_over(tmp_path: Path) -> None:
    (tmp_path / "run_sheet.csv").write_text("mine", encoding="utf-8")
    refused = drainpool("plan", "--out", tmp_path)
    assert refused.returncode == 3 and "run_sheet.csv already" in refused.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["run_sheet.csv"]


@pytest.mark.parametrize(
    ("words", "code", "sentence"),
    [
        (["--pool", "nowhere"], 3, "holds no pool"),
        (["--shares", "100"], 64, "100 %"),
        (["--pots", "1", "--shares", "40"], 64, "one pot a mix"),
        (["--pots", "10000"], 64, "from 1 to 50"),
        (["--component", "gravel"], 64, "Write one of"),
        (["--chance", "2"], 64, "from 0.5 to 0.99"),
    ],
)
def test_bad_wishes_get_a_sentence(words: list[str], code: int, sentence: str, tmp_path: Path) -> None:
    refused = drainpool("plan", *words, cwd=tmp_path)
    assert refused.returncode == code and sentence in refused.stderr
    assert not refused.stdout


def test_cards_carry_every_pour_once_in_order(tmp_path: Path) -> None:
    folder = tmp_path / "plan"
    assert drainpool("plan", "--shares", "25,40", "--out", folder).returncode == 0
    rows = list(csv.DictReader((folder / "run_sheet.csv").open(encoding="utf-8")))
    cards = [(folder / f"bench-card-{number}-a4.html").read_text(encoding="utf-8") for number in (1, 2)]
    printed = [
        re.findall(r"<td>(.*?)</td>", line)[:4]
        for card in cards
        for line in re.findall(r"<tr>(<td>.*?)</tr>", card)
    ]
    expected = [[row[name] for name in ("run_order", "component_share", "pot_no", "pour_no")] for row in rows]
    assert [line for line in printed if any(line)] == expected
    assert all(f"<b>{rows[0]['series']}</b>" in card for card in cards)
