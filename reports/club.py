"""What a club chose and says of itself: the settings that pages speak of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from schemas.results.whole import ResultsValue

WORDS_OF_THE_CLUB = ("run_by", "paid_by", "contact", "licence", "report_address")


@dataclass(frozen=True)
class ClubSettings:
    """The club's own numbers and words that pages speak of. `reference_share` in percent, `assurance` 0-1; words are
    blank where the club has not said them."""

    target_ratio: float
    assurance: float
    reference_share: float
    pool_name: str
    run_by: str = ""
    paid_by: str = ""
    contact: str = ""
    licence: str = ""
    report_address: str = ""


def club_settings(results: ResultsValue) -> ClubSettings:
    """The club's numbers as the results hold them."""
    settings: Mapping[str, Any] = results["settings"]
    return ClubSettings(
        target_ratio=float(settings["target_ratio"]),
        assurance=float(settings["assurance"]),
        reference_share=float(settings["reference_share"]),
        pool_name=str(settings.get("pool_name", "The pool")),
        **{name: str(settings.get(name) or "") for name in WORDS_OF_THE_CLUB},
    )
