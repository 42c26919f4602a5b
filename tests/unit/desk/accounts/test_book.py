"""The accounts file: invitations used once, sessions that end at once when revoked, no secret in plain sight."""

from __future__ import annotations

import json
import stat
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from pipeline.desk.accounts.book import AccountsFile
from pipeline.desk.accounts.passphrases import fits, hashed, unfit
from pipeline.desk.accounts.tokens import csrf_token, random_token, same, session_number, session_value

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


@pytest.fixture
def accounts(tmp_path: Path) -> AccountsFile:
    return AccountsFile(tmp_path, random_token)


def joined(accounts: AccountsFile, code: str = "fen-07") -> None:
    assert accounts.accept(accounts.invite(code, "member", "ada", NOON), "a hash", NOON) is not None


def test_an_invitation_is_good_once(accounts: AccountsFile) -> None:
    link = accounts.invite("fen-07", "member", "ada", NOON)
    assert accounts.accept(link, "hash 1", NOON) is not None
    assert accounts.accept(link, "hash 2", NOON) is None
    account = accounts.read().account("FEN-07")
    assert account is not None
    assert account.passphrase == "hash 1"  # noqa: S105


def test_an_invitation_ends_after_a_fortnight_and_by_a_newer_one(accounts: AccountsFile) -> None:
    old = accounts.invite("fen-07", "member", "ada", NOON)
    assert accounts.read().invitation(old, NOON + timedelta(days=14)) is None
    newer = accounts.invite("Fen-07", "member", "ada", NOON)
    assert accounts.read().invitation(old, NOON) is None
    assert accounts.read().invitation(newer, NOON) is not None


def test_a_new_passphrase_ends_the_sessions_of_the_old_one(accounts: AccountsFile) -> None:
    joined(accounts)
    number, _ = accounts.start_session("fen-07", NOON)
    assert accounts.read().signed_in(number, NOON) is not None
    joined(accounts)
    assert accounts.read().signed_in(number, NOON) is None


def test_revoking_ends_sessions_invitations_and_the_passphrase(accounts: AccountsFile) -> None:
    joined(accounts)
    number, _ = accounts.start_session("fen-07", NOON)
    link = accounts.invite("fen-07", "member", "ada", NOON)
    accounts.revoke("FEN-07")
    book = accounts.read()
    assert book.signed_in(number, NOON) is None
    assert book.invitation(link, NOON) is None
    account = book.account("fen-07")
    assert account is not None
    assert not account.open
    assert account.passphrase is None


def test_a_session_ends_after_thirty_days(accounts: AccountsFile) -> None:
    joined(accounts)
    number, until = accounts.start_session("fen-07", NOON)
    assert accounts.read().signed_in(number, until - timedelta(seconds=1)) is not None
    assert accounts.read().signed_in(number, until) is None


def test_another_process_sees_a_change_at_once(accounts: AccountsFile, tmp_path: Path) -> None:
    joined(accounts)
    other = AccountsFile(tmp_path, random_token)
    number, _ = other.start_session("fen-07", NOON)
    assert accounts.read().signed_in(number, NOON) is not None
    accounts.end_session(number)
    assert other.read().signed_in(number, NOON) is None


def test_many_changes_at_once_lose_none(accounts: AccountsFile) -> None:
    joined(accounts)
    with ThreadPoolExecutor(8) as threads:
        numbers = [one[0] for one in threads.map(lambda _: accounts.start_session("fen-07", NOON), range(40))]
    assert len(set(numbers)) == 40
    assert len(accounts.read().sessions) == 40


def test_the_file_holds_no_word_of_an_invitation_and_is_its_owners_alone(
    accounts: AccountsFile, tmp_path: Path
) -> None:
    link = accounts.invite("fen-07", "member", "ada", NOON)
    path = tmp_path / "accounts.json"
    assert link not in path.read_text()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert json.loads(path.read_text())["invitations"]


def test_a_session_cookie_changed_by_one_letter_is_nobody() -> None:
    secret, until = "ab" * 32, NOON + timedelta(days=1)
    value = session_value(secret, 7, until)
    assert session_number(secret, value, NOON) == 7
    assert session_number(secret, value, until) is None
    assert session_number(secret, "8" + value[1:], NOON) is None
    assert session_number("cd" * 32, value, NOON) is None


def test_a_csrf_token_fits_one_anonymous_session_and_one_session_only() -> None:
    secret = "ab" * 32
    token = csrf_token(secret, "browser", None)
    assert same(token, csrf_token(secret, "browser", None))
    assert not same(token, csrf_token(secret, "browser", 1))
    assert not same(token, csrf_token(secret, "other", None))
    assert not same("é", token)


def test_passphrases_are_argon2_hashes_and_fit_only_themselves() -> None:
    kept = hashed("four odd words here")
    assert kept.startswith("$argon2id$")
    assert fits(kept, " four odd words here ")
    assert not fits(kept, "four odd words her")
    assert not fits(None, "nobody signs in with this")
    assert not fits(kept, "x" * 201)


@pytest.mark.parametrize("poor", ["short", "aaaaaaaaaaaaaa", "x" * 201, "fen-07-fen-07"])
def test_poor_passphrases_are_refused_in_words(poor: str) -> None:
    assert unfit(poor, "fen-07-fen-07") is not None
