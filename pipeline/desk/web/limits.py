"""How often something may be tried: counts inside a sliding window, by account and by address.

Kept in memory: a desk that is started again begins with empty counts.
"""

from __future__ import annotations

from collections import OrderedDict, deque
from dataclasses import dataclass, field
from datetime import datetime, timedelta

KEYS_KEPT = 20_000
"""Different accounts or addresses remembered at once; the one seen longest ago is forgotten first."""


@dataclass
class Window:
    """At most `most` tries of one key within `within`."""

    most: int
    within: timedelta
    tries: OrderedDict[str, deque[datetime]] = field(default_factory=OrderedDict)

    def full(self, key: str, at: datetime) -> bool:
        """Whether this key has no try left at this moment."""
        return len(self._recent(key, at)) >= self.most

    def count(self, key: str, at: datetime) -> None:
        """Counts one try of this key."""
        self._recent(key, at).append(at)
        self.tries.move_to_end(key)
        while len(self.tries) > KEYS_KEPT:
            self.tries.popitem(last=False)

    def take_back(self, key: str) -> None:
        """Takes back the newest try of this key: it was no offence."""
        if self.tries.get(key):
            self.tries[key].pop()

    def forget(self, key: str) -> None:
        """Clears what was counted for this key."""
        self.tries.pop(key, None)

    def _recent(self, key: str, at: datetime) -> deque[datetime]:
        recent = self.tries.setdefault(key, deque(maxlen=self.most))
        while recent and recent[0] <= at - self.within:
            recent.popleft()
        return recent


@dataclass
class Limits:
    """The desk's limits: wrong sign-ins by account and by address, sheets sent or checked by sender, queries."""

    wrong_by_account: Window = field(default_factory=lambda: Window(5, timedelta(minutes=15)))
    wrong_by_address: Window = field(default_factory=lambda: Window(20, timedelta(minutes=15)))
    uploads: Window = field(default_factory=lambda: Window(30, timedelta(hours=1)))
    queries: Window = field(default_factory=lambda: Window(60, timedelta(minutes=10)))
