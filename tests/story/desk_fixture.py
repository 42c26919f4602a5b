"""A desk served for real: uvicorn in a thread, a small pool behind it, browsers and clients in front."""

from __future__ import annotations

import re
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import uvicorn

from pipeline.desk.accounts.book import Role
from pipeline.desk.accounts.passphrases import hashed
from pipeline.desk.serve import open_desk
from pipeline.desk.steps import application
from pipeline.desk.web.desk import Desk
from pipeline.jobs.receiving.sheets import Sheet
from pipeline.jobs.receiving.steps import Moment, load_batch
from tests.story.pool_fixture import PATIENCE_S, small_sheet, wait_for

PASSPHRASE = "four odd words here"  # noqa: S105 - of invented members
CSRF_TOKEN = re.compile(r'name="csrf_token" value="([0-9a-f]{64})"')
GROWERS = ("heron-12", "otter-3", "plover-9", "snipe-4", "teal-21", "fen-07")


@dataclass
class ServedDesk:
    """A desk that answers at `address`. `log` holds every line it said."""

    pool: Path
    desk: Desk
    address: str
    log: list[str] = field(default_factory=list)

    def visitor(self) -> httpx.Client:
        """A browser without scripts, not signed in."""
        return httpx.Client(base_url=self.address, follow_redirects=True, timeout=PATIENCE_S, trust_env=False)

    def account(self, code: str, role: Role = "member") -> None:
        """An account whose passphrase is PASSPHRASE."""
        word = self.desk.accounts.invite(code, role, "tests", self.desk.clock())
        assert self.desk.accounts.accept(word, hashed(PASSPHRASE), self.desk.clock()) is not None

    def member(self, code: str, role: Role = "member") -> httpx.Client:
        """A browser signed in."""
        self.account(code, role)
        client = self.visitor()
        answer = post(client, "/sign-in", "/sign-in", code=code, passphrase=PASSPHRASE)
        assert answer.status_code == 200, answer.text
        return client

    def logged(self, words: str) -> bool:
        """Whether a line of the log holds these words."""
        return any(words in line for line in self.log)

    def state(self) -> dict[str, bytes]:
        """Every file of the pool but the accounts and the checks that wait: what a refused request must not touch."""
        return {
            str(path.relative_to(self.pool)): path.read_bytes()
            for path in sorted(self.pool.rglob("*"))
            if path.is_file()
            and path.relative_to(self.pool).parts[:2] not in (("desk", "checked"),)
            and "accounts" not in path.name
        }


def csrf_token_in(text: str) -> str:
    """The CSRF token that a page's forms carry."""
    found = CSRF_TOKEN.search(text)
    assert found is not None, text[:2000]
    return found[1]


def post(client: httpx.Client, page: str, action: str, **fields: str) -> httpx.Response:
    """Opens a page and sends a form of it."""
    return client.post(action, data={"csrf_token": csrf_token_in(client.get(page).text), **fields})


def send(client: httpx.Client, name: str, content: bytes | str) -> httpx.Response:
    """Chooses a file on the page for sheets and sends it."""
    raw = content.encode() if isinstance(content, str) else content
    return client.post(
        "/send", data={"csrf_token": csrf_token_in(client.get("/send").text)}, files={"sheet": (name, raw)}
    )


def small_pool(folder: Path, growers: tuple[str, ...] = GROWERS) -> Path:
    """A pool with one series of each grower, each a little different; the last one is far off."""
    sheets = []
    for at, code in enumerate(growers):
        time_at_40 = "0:20" if at == len(growers) - 1 else f"{2 + at // 3}:{10 + 7 * at:02d}"
        text = small_sheet(code).replace("4:10", time_at_40)
        sheets.append(Sheet(f"{code}.csv", text.encode()))
    load_batch(folder, sheets, [Moment()] * len(sheets), "tests", lambda _line: None)
    return folder


@contextmanager
def served(pool: Path, behind: str | None = None) -> Iterator[ServedDesk]:
    """The desk of a pool, open until the block ends; `behind` a proxy at that address."""
    log: list[str] = []
    desk = open_desk(pool, log.append)
    desk.accounts.read()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = uvicorn.Server(
        uvicorn.Config(
            application(desk),
            host="127.0.0.1",
            port=port,
            log_level="error",
            access_log=False,
            proxy_headers=behind is not None,
            forwarded_allow_ips=behind or "",
        )
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    wait_for(lambda: server.started)
    try:
        yield ServedDesk(pool, desk, f"http://127.0.0.1:{port}", log)
    finally:
        server.should_exit = True
        thread.join(timeout=PATIENCE_S)
