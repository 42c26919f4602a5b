"""The desk's own accounts file: who may sign in, open invitations, sessions in force.

`DIR/desk/accounts.json`, replaced whole under a lock at every change and readable by its owner only. It holds no
passphrase, no session cookie and no invitation: only hashes of them. A session or an account taken out of the
file is out at once.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Literal

from filelock import FileLock

from pipeline.atomic_write import OWNER_ONLY, write_whole
from schemas.trade.labels import label_key
from schemas.trade.moments import moment_text

Role = Literal["member", "coordinator"]
ACCOUNTS = "accounts.json"
SESSION_DAYS = 30
INVITATION_DAYS = 14
SECRET_LENGTH, INVITATION_LENGTH = 64, 32


@dataclass(frozen=True)
class Account:
    """One person who may sign in. `code` as first spelled; `passphrase` is its hash; `open` False once revoked.
    `columns`: own headings of their sheets, each with the column that it stands for."""

    code: str
    role: Role
    passphrase: str | None
    since: str
    open: bool = True
    nickname: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Invitation:
    """A link that makes an account or gives one a new passphrase, once. Kept under the hash of its token."""

    code: str
    role: Role
    until: str
    by: str


@dataclass(frozen=True)
class Session:
    """One browser signed in."""

    account: str
    until: str


@dataclass(frozen=True)
class Book:
    """The accounts file as a value. Accounts are found by their code in even letter case."""

    secret: str
    next_session: int = 1
    accounts: Mapping[str, Account] = field(default_factory=dict)
    invitations: Mapping[str, Invitation] = field(default_factory=dict)
    sessions: Mapping[str, Session] = field(default_factory=dict)

    def account(self, code: str) -> Account | None:
        """The account of a code, whatever its letter case; None where there is none."""
        return self.accounts.get(label_key(code))

    def signed_in(self, session: int, at: datetime) -> Account | None:
        """Whose session this is; None where it has ended or was revoked."""
        found = self.sessions.get(str(session))
        if found is None or at >= datetime.fromisoformat(found.until):
            return None
        account = self.accounts.get(found.account)
        return account if account is not None and account.open else None

    def invitation(self, token: str, at: datetime) -> Invitation | None:
        """The invitation of a link; None where it was used, has ended or never was."""
        found = self.invitations.get(_hash(token))
        return found if found is not None and at < datetime.fromisoformat(found.until) else None

    @property
    def has_coordinator(self) -> bool:
        """Whether somebody can sign in as coordinator."""
        return any(one.role == "coordinator" and one.open for one in self.accounts.values())


class AccountsFile:
    """Reads and changes the accounts file of one pool. `token` makes random tokens of a length."""

    def __init__(self, folder: Path, token: Callable[[int], str]) -> None:
        self._token = token
        self._path = folder / ACCOUNTS
        self._lock = FileLock(folder / f".{ACCOUNTS}.lock", fallback_to_soft=False)
        self._seen: tuple[int, int, int] | None = None
        self._book: Book | None = None

    def read(self) -> Book:
        """The file as it is now; made, with a secret of its own, where there is none."""
        try:
            seen = _stamp(self._path)
        except FileNotFoundError:
            return self.change(lambda book: book)
        if self._book is None or seen != self._seen:
            self._book, self._seen = _read(self._path), seen
        return self._book

    def change(self, how: Callable[[Book], Book]) -> Book:
        """Replaces the file by what `how` makes of it, whole and under the lock; answers the new book."""
        self._path.parent.mkdir(parents=True, exist_ok=True)
        with self._lock:
            book = _read(self._path) if self._path.exists() else Book(secret=self._token(SECRET_LENGTH))
            changed = how(book)
            _write(self._path, changed)
            self._book, self._seen = changed, _stamp(self._path)
        return changed

    def invite(self, code: str, role: Role, by: str, at: datetime) -> str:
        """A new invitation; answers the token that its link carries. Earlier ones for the same code end."""
        token = self._token(INVITATION_LENGTH)
        made = Invitation(code, role, moment_text(at + timedelta(days=INVITATION_DAYS)), by)
        self.change(lambda book: _with_invitation(book, token, made, at))
        return token

    def accept(self, token: str, passphrase: str, at: datetime) -> Account | None:
        """Uses an invitation up: its account is made, or gets this passphrase hash and loses its sessions.
        None where the invitation is not in force any more."""
        made: list[Account] = []

        def used(book: Book) -> Book:
            invitation = book.invitation(token, at)
            if invitation is None:
                return book
            before = book.account(invitation.code)
            account = Account(
                before.code if before else invitation.code,
                invitation.role,
                passphrase,
                before.since if before else moment_text(at),
                nickname=before.nickname if before else None,
                columns=before.columns if before else {},
            )
            made.append(account)
            left = {key: one for key, one in book.invitations.items() if key != _hash(token)}
            return replace(_without_sessions(_with_account(book, account), account.code), invitations=left)

        self.change(used)
        return made[0] if made else None

    def start_session(self, code: str, at: datetime) -> tuple[int, datetime]:
        """A new session of this account: its number and when it ends."""
        until = at + timedelta(days=SESSION_DAYS)
        started: list[int] = []

        def with_session(book: Book) -> Book:
            started.append(book.next_session)
            current = {n: one for n, one in book.sessions.items() if at < datetime.fromisoformat(one.until)}
            current[str(book.next_session)] = Session(label_key(code), moment_text(until))
            return replace(book, sessions=current, next_session=book.next_session + 1)

        self.change(with_session)
        return started[-1], until

    def end_session(self, number: int) -> None:
        """Signs one browser out."""
        self.change(
            lambda book: replace(book, sessions={n: s for n, s in book.sessions.items() if n != str(number)})
        )

    def revoke(self, code: str) -> None:
        """Closes an account: its sessions end at once, its invitations too."""

        def closed(book: Book) -> Book:
            account = book.account(code)
            if account is not None:
                book = _without_sessions(
                    _with_account(book, replace(account, open=False, passphrase=None)), code
                )
            left = {k: one for k, one in book.invitations.items() if label_key(one.code) != label_key(code)}
            return replace(book, invitations=left)

        self.change(closed)

    def forget(self, code: str) -> None:
        """Takes an account out of the file altogether."""
        self.revoke(code)
        self.change(
            lambda book: replace(
                book, accounts={k: a for k, a in book.accounts.items() if k != label_key(code)}
            )
        )

    def call(self, code: str, nickname: str | None) -> None:
        """Keeps the nickname that the desk greets this account by."""

        def named(book: Book) -> Book:
            account = book.account(code)
            return book if account is None else _with_account(book, replace(account, nickname=nickname))

        self.change(named)

    def keep_columns(self, code: str, columns: Mapping[str, str]) -> None:
        """Keeps what an account said of own headings for its next sheets; later answers go first."""

        def with_columns(book: Book) -> Book:
            account = book.account(code)
            if account is None:
                return book
            left = {own: column for own, column in account.columns.items() if column not in columns.values()}
            return _with_account(book, replace(account, columns={**left, **columns}))

        self.change(with_columns)


def _with_account(book: Book, account: Account) -> Book:
    return replace(book, accounts={**book.accounts, label_key(account.code): account})


def _without_sessions(book: Book, code: str) -> Book:
    return replace(book, sessions={n: s for n, s in book.sessions.items() if s.account != label_key(code)})


def _with_invitation(book: Book, token: str, made: Invitation, at: datetime) -> Book:
    left = {
        key: one
        for key, one in book.invitations.items()
        if label_key(one.code) != label_key(made.code) and at < datetime.fromisoformat(one.until)
    }
    return replace(book, invitations={**left, _hash(token): made})


def _hash(token: str) -> str:
    return sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def _stamp(path: Path) -> tuple[int, int, int]:
    found = path.stat()
    return found.st_mtime_ns, found.st_size, found.st_ino


def _read(path: Path) -> Book:
    value = json.loads(path.read_text(encoding="utf-8"))
    return Book(
        secret=value["secret"],
        next_session=value["next_session"],
        accounts={key: Account(**one) for key, one in value["accounts"].items()},
        invitations={key: Invitation(**one) for key, one in value["invitations"].items()},
        sessions={key: Session(**one) for key, one in value["sessions"].items()},
    )


def _write(path: Path, book: Book) -> None:
    text = json.dumps(asdict(book), ensure_ascii=False, indent=1, sort_keys=True) + "\n"
    write_whole(path, text.encode(), OWNER_ONLY)
