"""Minutes for the reader's own pot: the form that stands on every page that states minutes, and what they mean."""

from __future__ import annotations

from reports.page import Block, PotForm, say
from reports.words import count, setting_number, time_words
from schemas.trade.pots import StandardPot

ASK = "Your own pot? Type it once; every page then speaks in its minutes. Kept in this browser only."


def pot_form(pot: StandardPot) -> PotForm:
    """Width, depth and water poured; the page's script restates all minutes for them."""
    return PotForm(pot.area_cm2, pot.collected_ml, ASK)


def pot_words(pot: StandardPot, straight: float, pots: str) -> Block:
    """What the standard pot is, and whose straight peat its minutes rest on. `pots`: the pour state in words."""
    return say(
        f"The pool’s standard pot: {setting_number(pot.volume_l)} l of mix, until {setting_number(pot.collected_ml)} ml are out. "
        f"Straight peat takes {time_words(straight)} there in {pots}: the geometric mean of {count(pot.members, 'grower')}, "
        "each grower’s own straight-peat tests counted as one.",
        tone="small",
    )
