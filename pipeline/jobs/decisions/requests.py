"""What people asked of the pool from the desk: small request files in the inbox, carried out by the month's run.

`20260314T092653123456Z-1a2b3c4d.request.json` holds one request: its kind, who made it, when, and the series, sheet
or words it is about. Its name holds no code: the journal keeps it, and codes may have to be erased. A run sheet from the desk lies there as a file of its own, with a
`.received` file beside it. Names begin with the moment, so the inbox in order of names is in order of time.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from pipeline.atomic_write import write_whole
from pipeline.errors import DrainpoolError
from pipeline.jobs.receiving.sheets import INBOX, REQUEST_ENDING, is_request, moment_file
from pipeline.jobs.receiving.steps import pool_writer
from pipeline.load.changes.decisions import ask, keep, restore, set_aside, withdraw
from pipeline.load.database.writer import Writer, commit
from pipeline.load.truth.journal import Change
from pipeline.load.truth.records import Selection
from schemas.trade.labels import label_key
from schemas.trade.moments import moment_text
from schemas.trade.public_reasons import OTHER, PUBLIC_REASONS

KINDS = {
    "withdraw": "asked to withdraw",
    "restore": "asked to put back",
    "leave": "leaves, and takes all runs out of later months",
    "set_aside": "set aside",
    "keep": "looked at, stays in",
    "ask": "a question to the member",
    "answer": "a member's answer",
    "nickname": "how a member wants to be named",
    "invited": "was invited to the desk",
    "joined": "can sign in now",
    "revoked": "can’t sign in any more",
}
DECISIONS = {
    "withdraw": withdraw,
    "leave": withdraw,
    "restore": restore,
    "set_aside": set_aside,
    "keep": keep,
    "ask": ask,
}
NOTED = {
    "answer": "answered",
    "nickname": "named",
    "leave": "left",
    "invited": "invited",
    "joined": "joined",
    "revoked": "revoked",
}
LONGEST_WORDS = 1000
THE_MEMBER = "the member, at the desk"


@dataclass(frozen=True)
class Request:
    """One request. `by`: the account that made it. `words`: the reason, question, answer or name. `why`: of what
    is set aside, the public kind of reason."""

    kind: str
    by: str
    received: datetime
    words: str = ""
    member: str | None = None
    series: str | None = None
    submission: str | None = None
    sheet_row: int | None = None
    why: str = OTHER

    @property
    def by_whom(self) -> str:
        """Who the journal says made the change: a coordinator by name, a member not (their code may be erased)."""
        own = self.member is not None and label_key(self.member) == label_key(self.by)
        return THE_MEMBER if own else self.by

    @property
    def selection(self) -> Selection:
        """The runs that it is about."""
        if self.submission is not None:
            return Selection(submission=self.submission, sheet_row=self.sheet_row)
        return Selection(member=self.member, series=self.series)


def leave_request(pool: Path, request: Request, word: str) -> str:
    """Puts a request into the inbox; answers its file name. `word` keeps two of one moment apart."""
    name = f"{_moment(request.received)}-{word}{REQUEST_ENDING}"
    value = {**asdict(request), "received": moment_text(request.received)}
    _put(pool / INBOX / name, (json.dumps(value, ensure_ascii=False, sort_keys=True) + "\n").encode())
    return name


def leave_sheet(
    pool: Path,
    content: bytes,
    typed_name: str,
    by: str,
    received: datetime,
    word: str,
    columns: Mapping[str, str] | None = None,
    whole_series: bool = False,
) -> str:
    """Puts a run sheet into the inbox, its moment, sender and own headings beside it, and whether it takes the place of
    its whole series; answers its file name there."""
    ending = Path(typed_name).suffix.lower()
    plain = re.sub(r"[^A-Za-z0-9]+", "_", Path(typed_name).stem).strip("_")[:40] or "sheet"
    path = pool / INBOX / f"{_stem(received, by, word)}-{plain}{ending}"
    beside = {
        "by": by,
        "file": typed_name,
        **({"columns": dict(columns)} if columns else {}),
        **({"whole_series": True} if whole_series else {}),
    }
    _put(moment_file(path), f"{moment_text(received)}\n{json.dumps(beside, ensure_ascii=False)}\n".encode())
    _put(path, content)
    return path.name


def requests_waiting(pool: Path) -> list[str]:
    """Names of the request files in the inbox, oldest first."""
    folder = pool / INBOX
    if not folder.is_dir():
        return []
    return sorted(
        path.name for path in folder.iterdir() if is_request(path.name) and not path.name.startswith(".")
    )


def waiting_requests(pool: Path) -> list[tuple[str, Request]]:
    """The requests in the inbox with their file names, oldest first; what can't be read is passed over."""
    requests = []
    for name in requests_waiting(pool):
        try:
            requests.append((name, read_request(pool / INBOX / name)))
        except DrainpoolError:
            continue
    return requests


def drop_request(pool: Path, name: str) -> bool:
    """Takes one request out of the inbox, undone; False where there is none of that name."""
    if name not in requests_waiting(pool):
        return False
    (pool / INBOX / name).unlink(missing_ok=True)
    return True


def drop_requests(pool: Path, member: str) -> None:
    """Takes the requests by or about a member out of the inbox, undone."""
    for name, request in waiting_requests(pool):
        if label_key(member) in (label_key(request.by), label_key(request.member or "")):
            (pool / INBOX / name).unlink(missing_ok=True)


def read_request(path: Path) -> Request:
    """The request in a file. DrainpoolError, worded, where it holds none."""
    try:
        value = json.loads(path.read_text(encoding="utf-8"))
        request = Request(**{**value, "received": datetime.fromisoformat(value["received"])})
    except (OSError, ValueError, TypeError, KeyError):
        request = None
    if request is None or request.kind not in KINDS or not _sound(request):
        raise DrainpoolError(
            f"{path.name} holds no request that drainpool can read. Nothing was changed by it; "
            "take it out of the inbox and look at it."
        )
    return request


def in_turn(sheets: Sequence[str], requests: Sequence[str]) -> list[tuple[list[str], str | None]]:
    """The inbox in order of names: each request behind the sheets that came before it; the last part has none."""
    parts: list[tuple[list[str], str | None]] = []
    left = sorted(sheets)
    for request in sorted(requests):
        before = [name for name in left if name < request]
        left = left[len(before) :]
        parts.append((before, request))
    return [*parts, (left, None)]


def carry_out(pool: Path, name: str, say: Callable[[str], None]) -> bool:
    """Carries one request of the inbox out and takes it away; False, and said why, where it has to stay."""
    return carry_out_file(pool, pool / INBOX / name, say)


def carry_out_file(pool: Path, path: Path, say: Callable[[str], None]) -> bool:
    """Carries the request in a file out and takes the file away; False, and said why, where it has to stay."""
    name = path.name
    if not path.exists():
        return True  # another run carried it out, or its member was erased
    try:
        request = read_request(path)
        with pool_writer(pool, request.by_whom, say) as writer:
            if not path.exists():
                return True
            _carry_out(writer, request, name)
    except DrainpoolError as error:
        say(f"Left where it was: {name}: {error}")
        return False
    path.unlink(missing_ok=True)
    return True


def _carry_out(writer: Writer, request: Request, name: str) -> None:
    """Its lines in the journal; none where the journal has them already (a run that was cut short)."""
    event = NOTED.get(request.kind)
    if any(line.payload.get("request") == name for line in writer.lines if line.event in NOTED.values()):
        return
    decision = DECISIONS.get(request.kind)
    if decision is not None:
        try:
            words = request.words or KINDS[request.kind]
            if request.kind == "set_aside":
                set_aside(writer, request.selection, words, request.why)
            else:
                decision(writer, request.selection, words)
        except DrainpoolError:
            if request.kind != "leave":  # somebody who never sent a run can leave all the same
                raise
    if event is not None:
        commit(writer, [Change(event, _payload(request, name), _private(request))])


def _payload(request: Request, name: str) -> dict[str, str | int]:
    """What everyone may know: the kind, the request's file, the sheet's hash and row; no code, no words."""
    about = {"submission": request.submission, "sheet_row": request.sheet_row}
    return {"request": name, **{key: value for key, value in about.items() if value is not None}}


def _private(request: Request) -> dict[str, str]:
    """What may one day be erased: codes, series, words."""
    about: dict[str, str] = {"words": request.words}
    for key, text in (("member", request.member), ("series", request.series)):
        if text is not None:
            about |= {key: text, f"{key}_key": label_key(text)}
    return about


def _sound(request: Request) -> bool:
    texts = (request.by, request.words, request.member, request.series, request.submission)
    return (
        all(text is None or (isinstance(text, str) and len(text) <= LONGEST_WORDS) for text in texts)
        and isinstance(request.sheet_row, int | None)
        and request.why in PUBLIC_REASONS
        and request.received.tzinfo is not None
        and bool(request.by)
        and (request.kind not in DECISIONS or (request.member or request.submission) is not None)
    )


def _stem(received: datetime, by: str, word: str) -> str:
    return f"{_moment(received)}-{re.sub(r'[^A-Za-z0-9-]', '', by)[:32]}-{word}"


def _moment(received: datetime) -> str:
    return f"{received.astimezone(UTC):%Y%m%dT%H%M%S%fZ}"


def _put(path: Path, content: bytes) -> None:
    """Whole or not at all: the month never meets half a file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, content)
