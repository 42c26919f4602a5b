"""A plan in words: what it can see, what to mix, the order of the pots, and what the pool wants most."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from pipeline.jobs.planning.sheet import poured_ml
from pipeline.jobs.planning.steps import TestPlan
from pipeline.plan.recipe import MIXING_LOSS, MixLine
from pipeline.plan.wanted import Gain
from reports.words import between, count, listed, out_of_twenty, percent, plain, two_figures
from schemas.trade.amounts import amount_in_words
from schemas.trade.cautions import ON_RECEIPTS
from schemas.trade.verdicts import CLEARS, FALLS_SHORT

INVENTED = "Invented data: not growing advice."
MOST_GAINS = 4
OPEN_WORDS = {CLEARS: "enough already", FALLS_SHORT: "falls short already"}
TEACHES_NOT = "What no test of yours can teach: how far growers differ from one another. That takes more growers, not more pots."


def plan_text(planned: TestPlan) -> str:
    """The whole plan, to read or to print."""
    lines = [*_head(planned), "", *_power(planned), "", *_mixes(planned), "", *_order(planned), ""]
    lines += [*_wanted(planned), "", "Cautions", *(f"  {caution}" for caution in ON_RECEIPTS)]
    return "\n".join(lines) + "\n"


def _head(planned: TestPlan) -> Iterator[str]:
    if planned.invented:
        yield INVENTED
    plan, who = planned.plan, f" for {planned.member}" if planned.member else ""
    shares = listed(percent(share) for share in plan.shares)
    yield f"A test{who}: straight base beside {shares} {plain(planned.component)}."
    yield (
        f"{count(plan.layout.pots, 'pot')} of each mix and {plan.layout.baseline_pots} of straight base, each poured twice, "
        f"{amount_in_words(plan.wish.pot_volume_l * 1000, 'ml')} of mix a pot."
    )
    if plan.chosen_by_pool:
        yield (
            "These shares were chosen because the pool knows least about them (below)."
            if plan.gains
            else "These shares are a first test's: the pool knows too little yet to ask for others."
        )
    yield f"Seed of the order: {plan.wish.seed}. The same seed gives the same plan (--seed {plan.wish.seed})."


def _power(planned: TestPlan) -> Iterator[str]:
    plan, known = planned.plan, planned.plan.known
    source = (
        "as the pool's own repeats scatter" if known.measured else "as a new pool assumes until repeats tell"
    )
    yield "What it can see"
    yield (
        f"  If a mix truly drains {plan.wish.ratio:g} times as fast, {out_of_twenty(plan.chance)} such tests see it: "
        f"their own 95 % interval lies above 1."
    )
    if plan.smallest_ratio is None:
        yield "  It sees no ratio below 10 in 16 of 20 such tests. Plan more pots."
    else:
        yield f"  What 16 of 20 such tests see: {plan.smallest_ratio:g} times as fast, and more."
    yield f"  Single pots of one mix are taken to scatter by {100 * known.pot_sd:.0f} %, {source}."


def _mixes(planned: TestPlan) -> Iterator[str]:
    made = planned.plan.recipe
    yield "What to mix, loose and level, measured before mixing"
    yield from (f"  {_mix_line(mix, planned.component)}" for mix in made.mixes)
    yield (
        f"  In all: {_litres(made.base_l)} of base and {_litres(made.component_l)} of {plain(planned.component)}; about "
        f"{two_figures(made.dry_kg)} kg dry, {two_figures(made.wet_kg)} kg wet in the pots. Weigh a wet tub before lifting it."
    )
    yield (
        f"  A mix has less volume than its parts: {100 * MIXING_LOSS:.0f} % is allowed for, and a little to spare. Loss and "
        "weights are rough, from memory; wet all parts before mixing, sieve or rinse the component wet."
    )


def _mix_line(mix: MixLine, component: str) -> str:
    pots = count(mix.pots, "pot")
    if mix.share == 0:
        return f"straight base, {pots}: {_litres(mix.base_l)}"
    parts = f" ({mix.parts})" if mix.parts else ""
    return f"{percent(mix.share)}{parts}, {pots}: {_litres(mix.base_l)} base + {_litres(mix.component_l)} {plain(component)}"


def _litres(volume_l: float) -> str:
    """To a twentieth of a litre, up: what a jug can measure."""
    steps = -int(-volume_l * 20 // 1)
    return f"{steps / 20:g} l"


def _order(planned: TestPlan) -> Iterator[str]:
    poured = poured_ml(planned.plan.wish.pot_volume_l)
    yield f"In this order, {poured} ml a pour; stop the clock when {poured // 2} ml are through"
    for pour_no, pours in groupby(planned.plan.pours, key=lambda pour: pour.pour_no):
        title = "first pours, freshly filled" if pour_no == 1 else "second pours, the same pots"
        places = ", ".join(f"{pour.share:g}% pot {pour.pot_no}" for pour in pours)
        yield f"  {title}: {places}"


def _wanted(planned: TestPlan) -> Iterator[str]:
    yield "What the pool wants most"
    gains = planned.plan.gains
    if not gains:
        yield "  It can't say yet: it takes 3 growers at a share to foretell what one more would add."
        return
    yield from (f"  {_gain_line(gain)}" for gain in gains[:MOST_GAINS])
    yield f"  {TEACHES_NOT}"


def _gain_line(gain: Gain) -> str:
    state = OPEN_WORDS.get(gain.verdict, "still open")
    if gain.factor < 1.01:
        return f"{percent(gain.share)} ({state}, {count(gain.members, 'grower')}): one more series would change next to nothing."
    return (
        f"{percent(gain.share)} ({state}, {count(gain.members, 'grower')}): a new grower's range goes from "
        f"{between(*gain.before)} to about {between(*gain.after)} with one more grower's series."
    )
