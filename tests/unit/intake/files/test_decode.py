"""Bytes to text."""

from __future__ import annotations

import codecs

import pytest

from pipeline.intake.files.decode import decode
from pipeline.intake.received import UnreadableError

TEXT = "member,notes\r\nfen-07,Hügel 18 °C\r\n"


@pytest.mark.parametrize(
    "content",
    [
        TEXT.encode(),
        codecs.BOM_UTF8 + TEXT.encode(),
        codecs.BOM_UTF16_LE + TEXT.encode("utf-16-le"),
        codecs.BOM_UTF16_BE + TEXT.encode("utf-16-be"),
        TEXT.encode("utf-16-le"),
        TEXT.encode("utf-16-be"),
    ],
)
def test_unicode_of_every_kind(content: bytes) -> None:
    assert decode(content) == (TEXT, False)


def test_windows_letters_are_guessed_and_said_so() -> None:
    assert decode(TEXT.encode("cp1252")) == (TEXT, True)
    assert decode(codecs.BOM_UTF8 + b"na\xefve") == ("naïve", True)


def test_plain_letters_need_no_guess() -> None:
    assert decode(b"member,series") == ("member,series", False)


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (b"", "file_empty"),
        (b" \r\n\t\r\n", "file_empty"),
        (codecs.BOM_UTF8, "file_empty"),
        (codecs.BOM_UTF16_LE, "file_empty"),
        (b"member\0,series", "nul_found"),
        (b"\0\0\0\0", "nul_found"),
        (TEXT.encode("utf-16-le") + b"x", "nul_found"),
        (codecs.BOM_UTF16_LE + "a\0b".encode("utf-16-le"), "nul_found"),
        (codecs.BOM_UTF16_LE + b"\x00\xd8\x41\x00", "not_text"),
        (b"abc \x81\x8d", "not_text"),
        (b"%PDF-1.7 ...", "not_text"),
        (b"\x89PNG\r\n\x1a\n", "not_text"),
        (b"\xff\xd8\xff\xe0", "not_text"),
        (b"{\\rtf1\\ansi", "not_text"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest", "old_workbook"),
        (b"<!DOCTYPE html><html></html>", "web_page"),
        (b"\n  <HTML><body>", "web_page"),
        (codecs.BOM_UTF8 + b"<table><tr>", "web_page"),
    ],
)
def test_refused(content: bytes, rule: str) -> None:
    with pytest.raises(UnreadableError) as refused:
        decode(content)
    assert refused.value.finding.rule == rule


def test_markup_in_a_cell_is_no_web_page() -> None:
    assert decode(b"member,notes\nfen-07,<html><table>\n").text.endswith("<html><table>\n")
