"""The shield: counts what streams in, in bytes and lines, and reads on for a while before it says no."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence

import pytest
from starlette.types import Message

from pipeline.desk.web.refusals import RefusedError
from pipeline.desk.web.shield import (
    FORM_BYTES,
    LINES_AROUND_ROWS,
    READ_AND_DROPPED_BYTES,
    SHEET_BYTES,
    SHEET_ROWS,
    Measured,
    has_too_many_rows,
)


class Pieces:
    """A body in pieces; remembers how many were taken."""

    def __init__(self, pieces: Sequence[bytes]) -> None:
        self.pieces, self.taken = list(pieces), 0

    async def __call__(self) -> Message:
        self.taken += 1
        more = self.taken < len(self.pieces)
        return {"type": "http.request", "body": self.pieces[self.taken - 1], "more_body": more}


def read_all(pieces: Pieces, is_sheet: bool) -> int:
    async def reading() -> int:
        measured, size = Measured(pieces, is_sheet), 0
        while True:
            message = await measured()
            size += len(message["body"])
            if not message["more_body"]:
                return size

    return asyncio.run(reading())


def test_a_sheet_of_twenty_megabytes_passes_and_one_more_does_not() -> None:
    megabyte = b"x" * 1_000_000
    assert read_all(Pieces([megabyte] * 20), is_sheet=True) == SHEET_BYTES
    over = Pieces([megabyte] * 25)
    with pytest.raises(RefusedError, match="20 MB"):
        read_all(over, is_sheet=True)
    assert over.taken == 25


def test_an_endless_body_is_not_read_to_its_end() -> None:
    endless = Pieces([b"x" * 1_000_000] * 500)
    with pytest.raises(RefusedError):
        read_all(endless, is_sheet=True)
    assert endless.taken <= READ_AND_DROPPED_BYTES // 1_000_000 + 1


@pytest.mark.parametrize("end", [b"\n", b"\r", b"\r\n"])
def test_rows_are_counted_whatever_ends_them(end: bytes) -> None:
    piece = (b"a" + end) * 50_000
    around = (b"-" + end) * LINES_AROUND_ROWS
    assert read_all(Pieces([piece] * 4 + [around]), is_sheet=True) == len(piece) * 4 + len(around)
    with pytest.raises(RefusedError, match=f"{SHEET_ROWS // 1000} 000 rows"):
        read_all(Pieces([piece] * 4 + [around, b"a" + end]), is_sheet=True)


@pytest.mark.parametrize("end", [b"\n", b"\r", b"\r\n"])
def test_exactly_as_many_rows_as_are_allowed_pass(end: bytes) -> None:
    heading, rows = b"member" + end, (b"a" + end) * SHEET_ROWS
    assert not has_too_many_rows(heading + rows)
    assert not has_too_many_rows((heading + rows).removesuffix(end))
    assert has_too_many_rows(heading + rows + b"a")


def test_other_forms_are_small() -> None:
    assert read_all(Pieces([b"x" * FORM_BYTES]), is_sheet=False) == FORM_BYTES
    with pytest.raises(RefusedError, match="can’t be read"):
        read_all(Pieces([b"x" * FORM_BYTES, b"x"]), is_sheet=False)
