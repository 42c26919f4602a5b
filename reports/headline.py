"""The answer of a month as sentences: what is enough, how sure, on whose tests it rests."""

from __future__ import annotations

from dataclasses import dataclass

from reports.answer import FRESH, SETTLED, Answer, Share, Table
from reports.club import ClubSettings, club_settings
from reports.words import (
    Compared,
    as_straight,
    between,
    capital,
    count,
    mix,
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
    who,
)
from schemas.results.whole import ResultsValue
from schemas.trade import verdicts

BASE = "sphagnum_peat"
MEMBERS_NEEDED = 5
MEMBERS_AT_SHARE = 4

POTS = {FRESH: "freshly filled pots", SETTLED: "settled pots"}
"""The pour states as pages call them."""


@dataclass(frozen=True)
class Case:
    """What a month argues of one component, once: the pour state whose answer it is, its shares, and the share in focus.
    Title, pictures, minutes and quote speak of these. `other`: the other state, which stands beside it."""

    state: str
    table: Table
    row: Share | None
    other: Table | None

    @property
    def pots(self) -> str:
        """`freshly filled pots` or `settled pots`."""
        return POTS[self.state]

    @property
    def other_state(self) -> str:
        """The state that stands beside it."""
        return FRESH if self.state == SETTLED else SETTLED

    @property
    def other_row(self) -> Share | None:
        """The same share in the other state, where it has an average there."""
        row = self.other.at(self.row.share) if self.other is not None and self.row is not None else None
        return row if row is not None and row.ratio is not None else None


def case_of(answer: Answer, reference_share: float) -> Case:
    """The case of a component: the deciding state, and the recommended share, else the best, else the one nearest to the
    reference share (percent)."""
    overall = answer.overall
    row = share_in_focus(overall, reference_share)
    if overall.decided_by_settled:
        return Case(SETTLED, overall.deciding_table, row, overall)
    return Case(FRESH, overall, row, overall.settled)


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
        pots = ", in settled pots" if table.decided_by_settled else ""
        return (
            f"In {out_of_twenty(row.p_clears)} {newcomers(scope)} this mix would drain {goal}{pots}, "
            f"averaged over several pots."
        )
    best = best_share(table)
    if best is not None and best.p_clears is not None:
        pots = ", in settled pots," if table.decided_by_settled else ""
        return (
            f"The nearest, {percent(best.share)}{pots} would drain {goal} in {out_of_twenty(best.p_clears)} {newcomers(scope)}; "
            f"the club asks for {out_of_twenty(assurance)}."
        )
    return _what_is_missing(table)


def best_share(table: Table) -> Share | None:
    """The supported share that most often reaches the club's line, in the state whose answer it is."""
    rows = [
        row
        for row in table.deciding_table.shares
        if row.p_clears is not None and row.verdict != verdicts.TOO_FEW
    ]
    return max(rows, key=lambda row: (row.p_clears or 0.0, -row.share), default=None)


def smallest_clearing(table: Table) -> Share | None:
    """The smallest share from which every larger supported share of this table clears the club's line."""
    smallest = None
    for row in reversed([row for row in table.shares if row.verdict != verdicts.TOO_FEW]):
        if row.verdict != verdicts.CLEARS:
            break
        smallest = row
    return smallest


def share_in_focus(table: Table, reference_share: float) -> Share | None:
    """The share that pictures are drawn for, in the state whose answer it is: the recommended one, else the nearest to
    the club's line, else the known share nearest to the reference share."""
    decided = table.deciding_table
    recommended = decided.at(table.recommendation.share)
    if recommended is not None and recommended.has_new_series:
        return recommended
    best = best_share(table)
    if best is not None and best.has_new_series:
        return best
    known = [row for row in decided.known if row.has_new_series] or list(decided.known)
    return min(known, key=lambda row: (abs(row.share - reference_share), row.share), default=None)


def average_line(row: Share, pots: str, reference: str) -> str:
    """The average over growers and where it lies. `pots`: the state in words."""
    if row.ratio is None:
        return f"{mix(row.share)}: {count(row.members, 'grower')}, too few for an average."
    where = f" ({between(*row.ci)})" if row.ci else ""
    side = ""
    if row.ci and row.ci[1] < 1:
        side = ": slower"
    elif row.ci and row.ci[0] <= 1:
        side = ": the average could lie on either side"
    return f"In {pots}, {mix(row.share)} drains {times_as_fast(row.ratio)} as {reference} on average{where}{side}."


def spread_line(row: Share, scope: str) -> str:
    """What one new grower may see; nothing where no range is known or it rests on fewer growers than words need."""
    if row.new_series is None or row.members < MEMBERS_NEEDED:
        return ""
    return f"{capital(newcomer(scope))} could see {between(*row.new_series)} times."


def average_and_spread(row: Share, pots: str, reference: str, scope: str) -> str:
    """Both facts of a share in one line."""
    return " ".join(filter(None, (average_line(row, pots, reference), spread_line(row, scope))))


def behind_line(answer: Answer, case: Case) -> str:
    """Whose tests the share in focus rests on: 27 growers, 41 series, 80 pots."""
    if case.row is None:
        return ""
    pots = answer.overall.recommendation.pots or case.row.pots
    counted = who(case.row.members, case.row.series)
    return f"{counted}, {count(pots, 'pot')}" if pots else counted


def claim(answer: Answer, results: ResultsValue) -> str:
    """The finding, how sure it is, the average and whose tests: what title, quote, mails and the index of months say."""
    settings = club_settings(results)
    case = case_of(answer, settings.reference_share)
    sentences = [
        finding(answer.overall, answer.component),
        how_sure(answer.overall, settings, results["scope"]),
    ]
    if case.row is not None and case.row.ratio is not None and case.row.members >= MEMBERS_NEEDED:
        sentences.append(average_line(case.row, case.pots, as_straight(BASE)))
        sentences.append(f"From {behind_line(answer, case)}.")
    return " ".join(sentences)


def _where_and_how(settings: ClubSettings) -> str:
    """Address and licence, as far as the club has said them."""
    said = [settings.report_address, f"Licence: {settings.licence}" if settings.licence else ""]
    return "".join(f" {words}." for words in said if words)


def quotable(answer: Answer, results: ResultsValue) -> str:
    """A sentence that can't lose its counts, date, address and licence."""
    settings = club_settings(results)
    invented = "Invented data: not growing advice. " if results.get("invented") else ""
    return (
        f"{invented}{settings.pool_name}, {month_name(results['month'])}: {claim(answer, results)} "
        f"(Received up to {received_up_to(results)}, edition {results['edition']}.{_where_and_how(settings)})"
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
