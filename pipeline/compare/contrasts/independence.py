"""Who counts as independent of whom: members who share rounds or bags count as one, and clubs stand for their members.

Rule: the project's methods note, section 2, "Independence".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from schemas.trade.verdicts import ANY_GROWER, THESE_CLUBS

CLUBS_FOR_ANY_GROWER = 5


@dataclass(frozen=True)
class Ties:
    """What each member shares with others: codes of clubs, of rounds (with their club), of lots."""

    clubs: Mapping[int, frozenset[str]]
    rounds: Mapping[int, frozenset[str]]
    lots: Mapping[int, frozenset[str]]


@dataclass(frozen=True)
class Independence:
    """Units that counts, floors, robust intervals and leave-one-out refits run on.

    unit: unit of each member (0, 1 …), clubs or groups; group: members who share rounds or lots, the count that is
    printed as members; scope: whom a prediction is for; block: club block of each member for a random
    club effect, or None where there is none; offsets: fixed club offset of each member, or None.
    left_out: kind and members of every set that a refit leaves out; clubs: label of each fixed club, "" for growers
    without one.
    """

    unit: dict[int, int]
    group: dict[int, int]
    scope: str
    block: dict[int, int] | None
    offsets: dict[int, int] | None
    left_out: tuple[tuple[str, tuple[int, ...]], ...]
    clubs: tuple[str, ...] = ()

    def without(self, members: Sequence[int]) -> Independence:
        """The same without these members; offsets of a club that has lost all its members go with it."""
        if self.offsets is None:
            return self
        left = sorted({club for member, club in self.offsets.items() if member not in members})
        offsets = {member: left.index(club) if club in left else 0 for member, club in self.offsets.items()}
        names = tuple(self.clubs[club] for club in left) if self.clubs else ()
        return replace(self, offsets=offsets if len(left) > 1 else None, clubs=names if len(left) > 1 else ())

    @property
    def units(self) -> int:
        """Number of independent growers (or clubs)."""
        return len(set(self.unit.values()))


def independence(members: Sequence[int], ties: Ties, counted: Sequence[int] | None = None) -> Independence:
    """Units, scope and sets to leave out for these members.

    Five or more clubs (a member without one is a club of one): clubs are the units. Fewer, one of them with two or
    more members: fixed club offsets, and a prediction is for another grower in these clubs only. Only `counted` members
    (those with a contrast to their own baseline; None: all) decide which of these holds.
    """
    chosen = sorted(set(members))
    deciding = chosen if counted is None else sorted(set(counted))
    clubs = _joined(chosen, [ties.clubs, ties.lots])
    groups = _joined(chosen, [ties.rounds, ties.lots])
    main_club = {member: min(ties.clubs.get(member, frozenset()), default="") for member in deciding}
    sizes: dict[str, int] = {}
    for club in main_club.values():
        sizes[club] = sizes.get(club, 0) + 1
    larger = [club for club, size in sizes.items() if club and size > 1]
    left_out = _sets_to_leave_out(chosen, groups, clubs, ties)
    if len({clubs[member] for member in deciding}) >= CLUBS_FOR_ANY_GROWER:
        block = clubs if len(larger) > 1 else None
        return Independence(clubs, groups, ANY_GROWER, block, None, left_out)
    if larger:
        order = sorted(set(main_club.values()))
        offsets = {member: order.index(main_club[member]) for member in deciding}
        if len(order) < 2:
            return Independence(groups, groups, THESE_CLUBS, None, None, left_out)
        return Independence(groups, groups, THESE_CLUBS, None, offsets, left_out, tuple(order))
    return Independence(groups, groups, ANY_GROWER, None, None, left_out)


def _joined(members: Sequence[int], shared: Sequence[Mapping[int, frozenset[str]]]) -> dict[int, int]:
    """Numbers 0, 1 … of the sets of members that hang together through any shared code."""
    leader = {member: member for member in members}

    def root(member: int) -> int:
        while leader[member] != member:
            leader[member] = leader[leader[member]]
            member = leader[member]
        return member

    for codes in shared:
        for holders in _holders(members, codes).values():
            for other in holders[1:]:
                first, second = sorted((root(holders[0]), root(other)))
                leader[second] = first
    roots = sorted({root(member) for member in members})
    return {member: roots.index(root(member)) for member in members}


def _holders(members: Iterable[int], codes: Mapping[int, frozenset[str]]) -> dict[str, list[int]]:
    holders: dict[str, list[int]] = {}
    for member in members:
        for code in sorted(codes.get(member, frozenset())):
            holders.setdefault(code, []).append(member)
    return {code: holders[code] for code in sorted(holders)}


def _sets_to_leave_out(
    members: Sequence[int], groups: Mapping[int, int], clubs: Mapping[int, int], ties: Ties
) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Every set to leave out, each once: members, groups of members, clubs, holders of a shared lot; never all."""
    sets: dict[tuple[int, ...], str] = {(member,): "member" for member in members}
    for kind, units in (("group", groups), ("club", clubs)):
        for unit in sorted(set(units.values())):
            sets.setdefault(tuple(member for member in members if units[member] == unit), kind)
    for kind, codes in (("club", ties.clubs), ("lot", ties.lots)):
        for holders in _holders(members, codes).values():
            sets.setdefault(tuple(holders), kind)
    return tuple((kind, chosen) for chosen, kind in sets.items() if len(chosen) < len(members))
