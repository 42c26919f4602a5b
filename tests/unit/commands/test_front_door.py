"""The front door: exit codes, who speaks on which stream, and failures that nobody foresaw."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from pipeline import cli
from pipeline.commands.line import arguments
from pipeline.commands.line.result import CommandResult
from pipeline.errors import DrainpoolError, WrongUseError


@pytest.fixture
def answering(
    monkeypatch: pytest.MonkeyPatch,
) -> Callable[[BaseException | CommandResult], tuple[int, str, str]]:
    """Runs `held --pool P` with a command that raises or returns what is given: exit code and both streams."""

    def answer(outcome: BaseException | CommandResult) -> tuple[int, str, str]:
        def run(_arguments: object, _say: object) -> CommandResult:
            if isinstance(outcome, BaseException):
                raise outcome
            return outcome

        monkeypatch.setattr(arguments, "run", run)
        out, error = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
        with redirect_stdout(out), redirect_stderr(error):
            code = cli.main(["held", "--pool", "nowhere"])
            for stream in (out, error):
                stream.flush()
        texts = [stream.buffer.getvalue().decode() for stream in (out, error)]
        return code, texts[0], texts[1]

    return answer


Answering = Callable[[BaseException | CommandResult], tuple[int, str, str]]


@pytest.mark.parametrize("code", [0, 1, 2, 3])
def test_the_result_goes_to_standard_output_with_one_line_end(code: int, answering: Answering) -> None:
    assert answering(CommandResult(code, "text\n")) == (code, "text\n", "")
    assert answering(CommandResult(code, "text")) == (code, "text\n", "")


def test_bytes_go_out_as_they_are(answering: Answering) -> None:
    assert answering(CommandResult(0, b"a\r\nb")) == (0, "a\r\nb", "")


def test_nothing_to_say_prints_nothing(answering: Answering) -> None:
    assert answering(CommandResult(0)) == (0, "", "")


@pytest.mark.parametrize(
    ("error", "code"), [(DrainpoolError("It is so."), 3), (WrongUseError("Not so."), 64)]
)
def test_worded_failures_are_said_once(error: DrainpoolError, code: int, answering: Answering) -> None:
    assert answering(error) == (code, "", f"drainpool: {error}\n")


def test_an_interruption_says_that_what_was_done_stands(answering: Answering) -> None:
    code, out, said = answering(KeyboardInterrupt())
    assert (code, out) == (130, "") and "What was finished before stands" in said


def test_the_computers_refusal_is_worded_with_its_file(answering: Answering) -> None:
    code, out, said = answering(OSError(28, "No space left on device", "/pool/x"))
    assert (code, out) == (3, "")
    assert "No space left on device (/pool/x)" in said and "Traceback" not in said


def test_what_nobody_foresaw_leaves_its_details_in_a_file(
    answering: Answering, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    code, out, said = answering(ZeroDivisionError("private words"))
    assert (code, out) == (3, "")
    assert "private words" not in said and "ZeroDivisionError" not in said
    (kept,) = tmp_path.iterdir()
    assert str(kept) in said
    assert "ZeroDivisionError: private words" in kept.read_text(encoding="utf-8")


def test_inside_a_pool_the_details_are_added_to_its_log(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def run(_arguments: object, _say: object) -> CommandResult:
        raise LookupError("\ud800 odd")

    monkeypatch.setattr(arguments, "run", run)
    (tmp_path / "journal.jsonl").write_text("", encoding="utf-8")
    for _ in range(2):
        with redirect_stderr(io.StringIO()) as said:
            assert cli.main(["held", "--pool", str(tmp_path)]) == 3
    assert str(tmp_path / "failures.log") in said.getvalue()
    text = (tmp_path / "failures.log").read_text(encoding="utf-8")
    assert text.count("LookupError: ") == 2 and text.startswith(f"drainpool held --pool {tmp_path}")


def test_progress_that_nobody_hears_is_no_failure(monkeypatch: pytest.MonkeyPatch) -> None:
    class Closed(io.StringIO):
        def write(self, _text: str) -> int:
            raise BrokenPipeError

    monkeypatch.setattr(sys, "stderr", Closed())
    cli.say("anybody there?")
