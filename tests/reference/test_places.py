"""Climate classes and hardiness zones against outside tables.

Sources: `zones/koppen_classes.csv`, the 30 classes of Beck et al. 2018 (Scientific Data 5:180214), and
`zones/usda_half_zones.csv`, the 26 half zones of the USDA Plant Hardiness Zone Map.
"""

from __future__ import annotations

import csv
from pathlib import Path

from schemas.vocabulary import CHOICES, CLIMATE_CLASSES

HERE = Path(__file__).parent / "zones"


def table(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_climate_classes_in_their_order_with_their_names() -> None:
    theirs = [(row["code"], row["name"]) for row in table("koppen_classes.csv")]
    assert [(choice.value, choice.meaning) for choice in CLIMATE_CLASSES] == theirs
    assert len(theirs) == 30


def test_hardiness_half_zones_with_their_limits() -> None:
    theirs = table("usda_half_zones.csv")
    ours = CHOICES["hardiness_zone"]
    assert [choice.value for choice in ours] == [row["zone"] for row in theirs]
    for choice, row in zip(ours, theirs, strict=True):
        assert choice.meaning.endswith(f"{row['min_f']} to {row['max_f']} °F")
