"""The cautions say what the trade asks for in each length, with their sources beside the figures."""

from __future__ import annotations

import re

import pytest

from schemas.trade.cautions import FULL, ON_RECEIPTS, SHORT, Caution


@pytest.mark.parametrize("caution", FULL, ids=lambda caution: caution.title)
def test_a_source_that_is_named_stands_in_the_text(caution: Caution) -> None:
    assert [source for source in caution.sources if source not in caution.text] == []


def test_a_figure_has_a_source_beside_it() -> None:
    with_limits = [caution for caution in FULL if re.search(r"\d+ (mg|µg)/m³", caution.text)]
    assert with_limits and all(caution.sources for caution in with_limits)


@pytest.mark.parametrize("lines", [SHORT, ON_RECEIPTS, tuple(caution.text for caution in FULL)])
@pytest.mark.parametrize(
    "told",
    [r"dust mask \(P2, N95 or FFP2\)", "gloves", "[Ww]eigh", "drainage only", "not used for food", "doctor"],
)
def test_every_length_warns_of_the_same_dangers(lines: tuple[str, ...], told: str) -> None:
    assert re.search(told, " ".join(lines))
