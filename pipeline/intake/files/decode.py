"""Bytes to text: byte order mark, then UTF-16 by its pattern of zeros, then strict UTF-8, then Windows-1252."""

from __future__ import annotations

import codecs
from typing import NamedTuple

from pipeline.intake.received import UnreadableError

_SIGNATURES: tuple[tuple[bytes, str], ...] = (
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"{\\rtf", "a formatted letter (RTF)"),
    (b"\x1f\x8b", "a packed file (gzip)"),
    (b"7z\xbc\xaf", "a packed file (7z)"),
)
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_MARKS: tuple[tuple[bytes, str], ...] = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_PAGE_TAGS = ("<!doctype", "<html", "<?xml", "<head", "<body", "<table", "<meta", "<script", "<div")
_SAMPLE_BYTES = 4096
_DOS_END = "\x1a"
"""Old programs end a text file with this mark; it is no row."""


class Decoded(NamedTuple):
    """The text of a file; `guessed` where it was read as Windows-1252 for want of anything better."""

    text: str
    guessed: bool


def decode(content: bytes) -> Decoded:
    """The text of a file that is no workbook. Raises UnreadableError where it is no text, or a web page."""
    _refuse_known_kinds(content)
    found = _by_mark(content) or _by_zeros(content) or _by_trial(content)
    if "\0" in found.text:
        raise UnreadableError("nul_found")
    text = found.text.lstrip("\ufeff").rstrip(_DOS_END)
    if not text.strip():
        raise UnreadableError("file_empty")
    start = text[:2000].lstrip().casefold()
    if start.startswith("<") and any(tag in start for tag in _PAGE_TAGS):
        raise UnreadableError("web_page")
    return Decoded(text, found.guessed)


def _refuse_known_kinds(content: bytes) -> None:
    for signature, what in _SIGNATURES:
        if content.startswith(signature):
            raise UnreadableError("not_text", what=what)
    if content.startswith(_OLD_WORKBOOK):
        raise UnreadableError("old_workbook")


def _by_mark(content: bytes) -> Decoded | None:
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            body = content[len(mark) :]
            try:
                return Decoded(body.decode(encoding), guessed=False)
            except UnicodeDecodeError:
                if encoding == "utf-8":
                    return _by_trial(body)
                raise UnreadableError("not_text", what="damaged text (UTF-16)") from None
    return None


def _by_zeros(content: bytes) -> Decoded | None:
    """UTF-16 without a mark: plain letters have a zero in every second byte. Zeros elsewhere are no text."""
    if b"\0" not in content:
        return None
    sample = content[:_SAMPLE_BYTES]
    first, second = sample[0::2].count(0), sample[1::2].count(0)
    half = max(1, len(sample) // 2)
    for many, few, encoding in ((second, first, "utf-16-le"), (first, second, "utf-16-be")):
        if many > 0.4 * half and few < 0.1 * half:
            try:
                return Decoded(content.decode(encoding), guessed=False)
            except UnicodeDecodeError:
                break
    raise UnreadableError("nul_found")


def _by_trial(content: bytes) -> Decoded:
    try:
        return Decoded(content.decode("utf-8"), guessed=False)
    except UnicodeDecodeError:
        pass
    try:
        return Decoded(content.decode("cp1252"), guessed=True)
    except UnicodeDecodeError:
        raise UnreadableError("not_text", what="data of a kind that drainpool does not know") from None
