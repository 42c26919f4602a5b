"""A desk for the tests of its pages: members who stay signed in, and the requests that wait in its inbox."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import httpx

from pipeline.desk.accounts.book import Role
from pipeline.desk.web.desk import Desk
from pipeline.jobs.decisions.requests import Request, waiting_requests
from tests.story.desk_fixture import ServedDesk


@dataclass
class TestedDesk:
    """A served desk. Signing in is slow on purpose, so each member does it once; a test that signs somebody out takes
    a member of its own."""

    __test__ = False

    served: ServedDesk
    signed_in: dict[str, httpx.Client] = field(default_factory=dict)

    @property
    def pool(self) -> Path:
        """The pool's folder."""
        return self.served.pool

    @property
    def desk(self) -> Desk:
        """What the pages work with."""
        return self.served.desk

    @property
    def log(self) -> list[str]:
        """Every line that the desk said."""
        return self.served.log

    def visitor(self) -> httpx.Client:
        """A browser that is not signed in."""
        return self.served.visitor()

    def member(self, code: str, role: Role = "member") -> httpx.Client:
        """The browser of a member, signed in."""
        if code not in self.signed_in:
            self.signed_in[code] = self.served.member(code, role)
        return self.signed_in[code]

    def requests(self) -> list[Request]:
        """What waits in the inbox for the month."""
        return [request for _, request in waiting_requests(self.pool)]
