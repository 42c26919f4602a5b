"""The answer of a month as sentences: what is enough, how sure, on whose tests it rests."""

from __future__ import annotations

from reports.answer import Answer, ClubSettings, Share, Table, club_settings
from reports.words import (
    Compared,
    as_straight,
    between,
    capital,
    count,
    month_name,
    newcomer,
    newcomers,
    out_of_twenty,
    parts_phrase,
    percent,
    plain,
    received_up_to,
    setting_number,
    times_as_fast,
    two_figures,
    who,
)
from schemas.results.whole import ResultsValue
from schemas.trade import verdicts

BASE = "sphagnum_peat"
MEMBERS_NEEDED = 5
MEMBERS_AT_SHARE = 4


def finding(table: Table, component: str, base: str = BASE) -> str:
    """The one thing to remember, for one table of shares."""
    recommendation = table.recommendation
    name = plain(component)
    match recommendation.verdict:
        case verdicts.ENOUGH if recommendation.share is not None:
            mix = f": {parts_phrase(recommendation.parts, base, component)}" if recommendation.parts else ""
            return f"{percent(recommendation.share)} {name} is enough{mix}."
        case verdicts.GRADES_DIFFER:
            return f"How much {name} is enough depends on its grade."
        case verdicts.HINGES_ON_ONE:
            return f"Not settled: how much {name} is enough hinges on one grower’s tests."
        case verdicts.NOT_REACHED:
            return f"No share of {name} tested so far is shown to be enough."
    if table.members == 0:
        return f"No grower has yet compared {name} with {as_straight(base)}."
    return f"Too few growers to say how much {name} is enough."


def how_sure(table: Table, settings: ClubSettings, scope: str, base: str = BASE) -> str:
    """How sure the finding is, as a frequency, with the single pot beside it; or what is missing."""
    target, assurance = settings.target_ratio, settings.assurance
    goal = f"at least {setting_number(target)} times as fast as their own {as_straight(base)}"
    row = table.deciding
    if table.recommendation.verdict == verdicts.ENOUGH and row is not None and row.p_clears is not None:
        single = f"; single pots vary more ({out_of_twenty(row.p_clears_pot)})" if row.p_clears_pot else ""
        pots = ", in settled pots" if table.decided_by_settled else ""
        return (
            f"In {out_of_twenty(row.p_clears)} {newcomers(scope)} this mix would drain {goal}{pots}, "
            f"averaged over several pots{single}."
        )
    best = best_share(table)
    if best is not None and best.p_clears is not None:
        return (
            f"The nearest, {percent(best.share)}, would drain {goal} in {out_of_twenty(best.p_clears)} {newcomers(scope)}; "
            f"the club asks for {out_of_twenty(assurance)}."
        )
    return _what_is_missing(table)


def best_share(table: Table) -> Share | None:
    """The supported share that most often reaches the club's line."""
    rows = [row for row in table.shares if row.p_clears is not None and row.verdict != verdicts.TOO_FEW]
    return max(rows, key=lambda row: (row.p_clears or 0.0, -row.share), default=None)


def how_often(table: Table, settings: ClubSettings, scope: str) -> str:
    """`how_sure` in a few words, for places that stand below the full sentence."""
    goal = f"at least {setting_number(settings.target_ratio)} times as fast"
    row = table.deciding
    if table.recommendation.verdict == verdicts.ENOUGH and row is not None and row.p_clears is not None:
        pots = " in settled pots" if table.decided_by_settled else ""
        return f"{capital(goal)} in {out_of_twenty(row.p_clears)} {newcomers(scope)}{pots}."
    best = best_share(table)
    if best is not None and best.p_clears is not None:
        return f"Nearest: {percent(best.share)}, {goal} in {out_of_twenty(best.p_clears)} {newcomers(scope)}."
    return _what_is_missing(table)


def smallest_clearing(table: Table) -> Share | None:
    """The smallest share from which every larger supported share of this table clears the club's line."""
    smallest = None
    for row in reversed([row for row in table.shares if row.verdict != verdicts.TOO_FEW]):
        if row.verdict != verdicts.CLEARS:
            break
        smallest = row
    return smallest


def share_in_focus(table: Table, reference_share: float) -> Share | None:
    """The share that pictures are drawn for: the recommended one, else the best, else the known share
    nearest to the reference share."""
    recommended = table.at(table.recommendation.share)
    if recommended is not None and recommended.has_new_series:
        return recommended
    known = [row for row in table.known if row.has_new_series] or list(table.known)
    return min(known, key=lambda row: (abs(row.share - reference_share), row.share), default=None)


def average_and_spread(row: Share, reference: str, scope: str) -> str:
    """Two facts of a share in freshly filled pots: the average over growers, and what one new grower may see."""
    if row.ratio is None:
        return f"{percent(row.share)}: {count(row.members, 'grower')}, too few for an average."
    average = f" (the average lies from {between(*row.ci)}, 19 in 20 sure)" if row.ci else ""
    sentence = f"Freshly filled, {percent(row.share)} drains {times_as_fast(row.ratio)} as {reference} on average{average}."
    if row.new_series:
        low, high = row.new_series
        sentence += f" {capital(newcomer(scope))} could see {two_figures(low)} to {two_figures(high)} times (19 in 20)."
    return sentence


def quotable(answer: Answer, results: ResultsValue) -> str:
    """A sentence that can't lose its counts and date."""
    settings, counts = club_settings(results), results["counts"]
    claim = (
        f"{finding(answer.overall, answer.component)} {how_sure(answer.overall, settings, results['scope'])}"
    )
    invented = "Invented data: not growing advice. " if results.get("invented") else ""
    return (
        f"{invented}{settings.pool_name}, {month_name(results['month'])}: {claim} "
        f"({who(counts['members'], counts['series'], counts['runs'])}, received up to {received_up_to(results)}, "
        f"edition {results['edition']}.)"
    )


def _what_is_missing(table: Table) -> str:
    if table.members == 0:
        return "The first series with a straight-base pot beside the mixes starts the comparison."
    if table.members < MEMBERS_NEEDED:
        return (
            f"{capital(count(table.members, 'grower'))} so far; a word on what is enough needs {MEMBERS_NEEDED}, "
            f"with {MEMBERS_AT_SHARE} at the share. Their own results stand below."
        )
    return f"No share has yet been measured by {MEMBERS_AT_SHARE} growers beside their own straight base."


def compared_in(answer: Answer) -> Compared:
    """What the pictures of an answer compare, in words."""
    return Compared(answer.component, as_straight(BASE), answer.overall.scope)
