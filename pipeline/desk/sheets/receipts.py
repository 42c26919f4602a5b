"""Receipts on disk: of sheets only checked, for 24 hours behind a link with a random token; of sheets sent, for good.

`DIR/desk/checked/` holds one JSON file and the sheet's bytes per check, under the hash of the link's token.
`DIR/desk/receipts/` holds one JSON file per sheet sent. Nothing here counts for the pool.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

from pipeline.atomic_write import OWNER_ONLY, write_whole
from schemas.receipt import FileReceipt, ReceiptProblem, SeriesResult
from schemas.rules.questions import QUESTIONS
from schemas.rules.series import COUNTED_ONCE
from schemas.trade.labels import label_key, same_label
from schemas.trade.moments import moment_text

LINK_LIVES = timedelta(hours=24)
MOST_WAITING_BYTES = 400_000_000
TOKEN_LENGTH = 32


@dataclass(frozen=True)
class KeptSheet:
    """One sheet as it was checked. `receipt`, `readings`, `in_pool`, `members`, `missing`, `own_columns`, `columns`, `proposed` as in `CheckedSheet`;
    `form`: the fields of the page’s own form, where that made the sheet; `leaving`: how many runs of the series leave
    without a successor when it is mended in the form; `owner`, `sent`: once it was sent, and by whom for whom."""

    name: str
    made: str
    receipt: FileReceipt
    readable: bool
    submission: str
    readings: list[list[str]]
    in_pool: list[str]
    members: list[str]
    form: dict[str, str] | None = None
    owner: str | None = None
    sent: str | None = None
    sent_by: str | None = None
    number: str = ""
    missing: list[str] = field(default_factory=list)
    own_columns: dict[str, list[str]] = field(default_factory=dict)
    columns: dict[str, str] = field(default_factory=dict)
    leaving: int = 0
    proposed: dict[str, str] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """What the sheet is called: its file's name, or the series that the form was about."""
        if self.form is None:
            return self.name
        mends = self.form.get("mends")
        return f"Series “{mends}”, mended" if mends else f"Series “{self.form.get('series', '')}”"

    @property
    def whole_series(self) -> bool:
        """Whether the sheet takes the place of its whole series: runs leave that have no successor in it."""
        return self.leaving > 0

    @property
    def results(self) -> list[SeriesResult]:
        """What the sheet itself says; nothing in a receipt that drainpool 0.1.0 kept."""
        return self.receipt.get("results", [])

    @property
    def questions(self) -> list[ReceiptProblem]:
        """What the check asks about accepted rows."""
        return [problem for problem in self.advice if problem["rule"] in QUESTIONS]

    @property
    def held(self) -> list[ReceiptProblem]:
        """Problems that hold a row or the file."""
        return [problem for problem in self.receipt["problems"] if problem["level"] == "held"]

    @property
    def advice(self) -> list[ReceiptProblem]:
        """Advice only, about rows that count."""
        return [
            problem
            for problem in self.receipt["problems"]
            if problem["level"] == "advice" and problem["rule"] != COUNTED_ONCE
        ]

    @property
    def counted_once(self) -> list[ReceiptProblem]:
        """Rows that repeat another row and are left out."""
        return [problem for problem in self.receipt["problems"] if problem["rule"] == COUNTED_ONCE]

    def foreign_to(self, code: str) -> list[str]:
        """Codes in the sheet that are not this member's."""
        return [one for one in self.members if not same_label(one, code)]


class KeptSheets:
    """The kept sheets of one desk. `token` makes random tokens."""

    def __init__(self, folder: Path, token: Callable[[int], str]) -> None:
        self._checked, self._receipts, self._token = folder / "checked", folder / "receipts", token

    def keep_check(self, kept: KeptSheet, content: bytes, at: datetime) -> str | None:
        """Keeps a check and the sheet's bytes for 24 hours; answers the link's token. None when too much waits."""
        self._checked.mkdir(parents=True, exist_ok=True)
        if self._waiting_bytes(at) + len(content) > MOST_WAITING_BYTES:
            return None
        token = self._token(TOKEN_LENGTH)
        # a check lives for a day and can be made again: nobody waits for the folder's flush
        write_whole(self._sheet_file(token), content, OWNER_ONLY, lasting=False)
        write_whole(self._receipt_file(token), _as_bytes(kept), OWNER_ONLY, lasting=False)
        return token

    def check(self, token: str, at: datetime) -> KeptSheet | None:
        """The kept sheet behind a link; None where there is none or its 24 hours are over."""
        if not (len(token) == TOKEN_LENGTH and token.isascii() and token.isalnum()):
            return None
        return _read(self._receipt_file(token), at)

    def content(self, token: str) -> bytes:
        """The bytes of a checked sheet."""
        return self._sheet_file(token).read_bytes()

    def keep_receipt(self, kept: KeptSheet, owner: str, by: str, at: datetime) -> KeptSheet:
        """Keeps the receipt of a sheet that was sent, for its owner; answers it with its number."""
        number = f"{at:%Y%m%d}-{self._token(8).lower()}"
        sent = replace(kept, owner=owner, sent=moment_text(at), sent_by=by, number=number)
        folder = self._receipts / label_key(owner)
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(folder / f"{number}.json", _as_bytes(sent), OWNER_ONLY)
        return sent

    def receipt(self, number: str) -> KeptSheet | None:
        """A receipt by its number; its `owner` says whose it is."""
        if not re.fullmatch(r"[0-9]{8}-[a-z0-9]{8}", number):
            return None
        return next((_read(path) for path in self._receipts.glob(f"*/{number}.json")), None)

    def receipts(self, owner: str | None = None) -> list[KeptSheet]:
        """All receipts of a member, or of everybody; newest first."""
        paths = self._receipts.glob(f"{label_key(owner) if owner else '*'}/*.json")
        found = [kept for path in paths if (kept := _read(path)) is not None]
        return sorted(found, key=lambda kept: (kept.sent or "", kept.number), reverse=True)

    def drop_check(self, token: str) -> None:
        """Takes a check away once it was sent."""
        self._receipt_file(token).unlink(missing_ok=True)
        self._sheet_file(token).unlink(missing_ok=True)

    def forget(self, member: str) -> None:
        """Takes away every receipt of a member, and every checked sheet that names them."""
        for path in self._receipts.glob("*/*.json"):
            kept = _read(path)
            if kept is not None and (same_label(kept.owner, member) or not kept.foreign_to(member)):
                path.unlink(missing_ok=True)
        for folder in self._receipts.glob("*"):
            if same_label(folder.name, member) and not any(folder.iterdir()):
                folder.rmdir()
        for path in self._checked.glob("*.json"):
            kept = _read(path)
            if kept is not None and any(same_label(one, member) for one in kept.members):
                path.unlink(missing_ok=True)
                path.with_suffix(".sheet").unlink(missing_ok=True)

    def _waiting_bytes(self, at: datetime) -> int:
        """How much waits; what waits longer than its time is taken away first. A file that another request moves or
        takes away meanwhile counts for nothing."""
        size = 0
        for path in self._checked.iterdir():
            try:
                facts = path.stat()
            except FileNotFoundError:
                continue
            if at.timestamp() - facts.st_mtime > LINK_LIVES.total_seconds():
                path.unlink(missing_ok=True)
            else:
                size += facts.st_size
        return size

    def _receipt_file(self, token: str) -> Path:
        return self._checked / f"{sha256(token.encode()).hexdigest()}.json"

    def _sheet_file(self, token: str) -> Path:
        return self._checked / f"{sha256(token.encode()).hexdigest()}.sheet"


def _read(path: Path, at: datetime | None = None) -> KeptSheet | None:
    try:
        kept = KeptSheet(**json.loads(path.read_text(encoding="utf-8")))
    except FileNotFoundError:
        return None
    if at is not None and at > datetime.fromisoformat(kept.made) + LINK_LIVES:
        return None
    return kept


def _as_bytes(kept: KeptSheet) -> bytes:
    return json.dumps(vars(kept), ensure_ascii=False).encode("utf-8", "surrogatepass")
