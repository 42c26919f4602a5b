"""The journal: `journal.jsonl`, one line per change of the pool, each carrying the hash of the one before.

Lines are only ever added, by one write and one flush to disk per batch: that write is the moment at which a
change has happened. What may one day have to be erased (member codes, file names, reasons) stands in the
line's `private` part. The chain covers the private part's hash, not the part itself, so erasing can blank
it and leave the chain whole. A line torn by a crash has no newline at its end and never happened.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from pipeline.atomic_write import write_whole
from pipeline.errors import DrainpoolError
from schemas.trade.labels import label_key
from schemas.trade.moments import moment_of, moment_text

JOURNAL = "journal.jsonl"
FIRST_PREVIOUS = "0" * 64


@dataclass(frozen=True)
class Change:
    """A change about to be written down: what happened, what everyone may know, what may be erased."""

    event: str
    payload: Mapping[str, Any]
    private: Mapping[str, Any] | None = None


@dataclass(frozen=True)
class Line:
    """One journal line as read. `private` is None where there was none, or where it has been erased. `at`: its moment as
    it counts; `stamped`: as it was written, where a later line put it right (None: the same)."""

    n: int
    at: datetime
    by: str
    event: str
    payload: Mapping[str, Any]
    private: Mapping[str, Any] | None
    private_sha256: str | None
    previous: str
    hash: str
    stamped: datetime | None = None

    @property
    def written_at(self) -> datetime:
        """The moment that stands in the line."""
        return self.stamped or self.at

    @property
    def erased(self) -> bool:
        """The line had a private part, and it is gone."""
        return self.private is None and self.private_sha256 is not None

    def key(self, of: Literal["member", "series"]) -> str | None:
        """The key of the member or the series that the line is about; None where it names none, or is erased.
        Lines of older versions hold keys that were folded less: they are compared by today's key."""
        key = (self.private or {}).get(f"{of}_key")
        return None if key is None else label_key(str(key))


class JournalDamagedError(DrainpoolError):
    """The journal does not agree with itself. `line` is the number of the line that does not."""

    def __init__(self, line: int, what: str) -> None:
        self.line = line
        self.what = what
        super().__init__(
            f"{JOURNAL} line {line}: {what}. Nothing was changed. "
            "Keep the folder as it is and restore the newest backup into another folder."
        )


def canonical(value: Any) -> str:
    """The one spelling of a value in the journal: keys sorted, no spare spaces."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def digest(text: str) -> str:
    """SHA-256 of a text, hex."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def written(changes: Sequence[Change], after: Line | None, at: datetime, by: str) -> list[Line]:
    """The journal lines that would record `changes` after line `after`. Moments never run backwards."""
    moment = at.replace(microsecond=0)
    if after is not None:
        moment = max(moment, after.at)
    number, previous = (after.n, after.hash) if after else (0, FIRST_PREVIOUS)
    lines = []
    for change in changes:
        number += 1
        private = None
        if change.private is not None:
            # a salt keeps the hash of a short code from being guessed after the code is erased
            private = {**change.private, "salt": os.urandom(16).hex()}
        line = Line(
            n=number,
            at=moment,
            by=by,
            event=change.event,
            payload=json.loads(canonical(change.payload)),
            private=private,
            private_sha256=digest(canonical(private)) if private is not None else None,
            previous=previous,
            hash="",
        )
        line = replace(line, hash=line_hash(line))
        lines.append(line)
        previous = line.hash
    return lines


def line_hash(line: Line) -> str:
    """Hash of a line without its private part: what the next line carries."""
    return digest(canonical(_public(line)))


def _public(line: Line) -> dict[str, Any]:
    return {
        "n": line.n,
        "at": moment_text(line.written_at),
        "by": line.by,
        "event": line.event,
        "payload": line.payload,
        "private_sha256": line.private_sha256,
        "previous": line.previous,
    }


def line_text(line: Line) -> str:
    """The line as it stands in the file, with its newline."""
    return canonical({**_public(line), "private": line.private, "hash": line.hash}) + "\n"


def append(pool: Path, lines: Sequence[Line]) -> int:
    """Writes the lines at the end of the journal and flushes them to disk. Answers the file's length
    before, for `take_back`. On failure the file is as it was, and the OSError goes on."""
    path = pool / JOURNAL
    text = "".join(line_text(line) for line in lines).encode("utf-8", "surrogatepass")
    handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
    length = os.fstat(handle).st_size
    try:
        left = memoryview(text)
        while left:
            left = left[os.write(handle, left) :]
        os.fsync(handle)
    except OSError:
        os.ftruncate(handle, length)
        raise
    finally:
        os.close(handle)
    return length


def journal_length(pool: Path) -> int:
    """Length of the journal in bytes."""
    return (pool / JOURNAL).stat().st_size


def take_back(pool: Path, length: int) -> None:
    """Cuts the journal to `length` bytes: undoes an `append` whose change could not be carried out."""
    handle = os.open(pool / JOURNAL, os.O_WRONLY)
    try:
        os.ftruncate(handle, length)
        os.fsync(handle)
    finally:
        os.close(handle)


def read(pool: Path) -> tuple[list[Line], int]:
    """Every whole line of the journal, and how many bytes of a torn last line stand behind them.
    Raises JournalDamagedError where a line does not agree with its own hash or with the line before."""
    content = (pool / JOURNAL).read_bytes()
    whole = content.rfind(b"\n") + 1
    lines: list[Line] = []
    previous = FIRST_PREVIOUS
    for number, raw in enumerate(content[:whole].split(b"\n")[:-1], start=1):
        line = parsed(raw, number)
        if line.previous != previous:
            raise JournalDamagedError(number, "it does not carry the hash of the line before it")
        previous = line.hash
        lines.append(line)
    return put_right(lines), len(content) - whole


def put_right(lines: Sequence[Line]) -> list[Line]:
    """The lines with the moments that later lines gave to those stamped by a wrong clock."""
    right = list(lines)
    for line in lines:
        if line.event == "restamped":
            moment = moment_of(line.payload["to"])
            for place in range(line.payload["first"] - 1, line.payload["last"]):
                wrong = right[place]
                right[place] = replace(wrong, at=moment, stamped=wrong.written_at)
    return right


def parsed(raw: bytes, number: int) -> Line:
    """One line of the file as a Line; JournalDamagedError where any byte of it is not what was written."""
    try:
        text = raw.decode("utf-8", "surrogatepass")
        value = json.loads(text)
        line = Line(**{**value, "at": moment_of(value["at"])})
    except (ValueError, TypeError, KeyError, RecursionError):
        raise JournalDamagedError(number, "it can't be read as a journal line") from None
    if line.n != number:
        raise JournalDamagedError(number, f"it says it is line {line.n}")
    if canonical(value) != text or line_hash(line) != line.hash:
        raise JournalDamagedError(number, "its words do not agree with its own hash")
    if line.private is not None and digest(canonical(line.private)) != line.private_sha256:
        raise JournalDamagedError(number, "its private part does not agree with its hash")
    return line


def mend_end(pool: Path, torn_bytes: int, lines: Sequence[Line]) -> Line | None:
    """Puts a last line without its newline right, as `read` found it behind `lines`: a line that is whole but for
    the newline is kept (and answered), a torn one is cut off. Raises JournalDamagedError where a whole line ends in
    another character: that is no interrupted write."""
    tail = (pool / JOURNAL).read_bytes()[-torn_bytes:]
    number = len(lines) + 1
    if _whole(tail, number) is not None:
        with (pool / JOURNAL).open("ab") as file:
            file.write(b"\n")
            file.flush()
            os.fsync(file.fileno())
        return _whole(tail, number)
    refuse_changed_end(tail, number)
    take_back(pool, journal_length(pool) - torn_bytes)
    return None


def refuse_changed_end(tail: bytes, number: int) -> None:
    """Raises JournalDamagedError where `tail` is a whole line whose newline has been changed."""
    if _whole(tail[:-1], number) is not None:
        raise JournalDamagedError(number, "the character at its end was changed")


def _whole(tail: bytes, number: int) -> Line | None:
    try:
        return parsed(tail, number)
    except JournalDamagedError:
        return None


def rewrite(pool: Path, lines: Sequence[Line]) -> None:
    """Puts the same lines back with some private parts blanked (erasing): whole or not at all."""
    text = "".join(line_text(line) for line in lines)
    write_whole(pool / JOURNAL, text.encode("utf-8", "surrogatepass"))
