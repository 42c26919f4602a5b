"""Two hundred pairs of commands started together at seeded delays; run apart, about a quarter of an hour:
`python -m pytest -n 0 tests/bench/test_crossings.py`. Four pairs are in the quick round (tests/store/test_crossing.py).
"""

from __future__ import annotations

import random
from pathlib import Path

from tests.store.test_crossing import EVERY_PAIR, Crossing, begun

__all__ = ["begun"]
PAIRS = 200


def test_two_hundred_pairs_end_as_in_one_of_the_two_orders(begun: Path, tmp_path: Path) -> None:
    chance, crossing = random.Random(20260504), Crossing(begun, tmp_path)  # noqa: S311 moments, not secrets
    for at in range(PAIRS):
        crossing.cross(EVERY_PAIR[at % len(EVERY_PAIR)], chance)
