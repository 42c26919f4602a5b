"""The front door: typed words in, result on standard output, progress on standard error, exit code out.

No traceback ever reaches a person; standard output carries the result and nothing else.
"""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import TextIO

from pipeline.commands.line.result import CommandResult
from pipeline.errors import DrainpoolError

INTERRUPTED = 130


def main(typed: Sequence[str] | None = None) -> int:
    """Carries out one command and returns its exit code."""
    words = list(sys.argv[1:] if typed is None else typed)
    _one_thread_each()
    _utf8(sys.stdout, sys.stderr)
    try:
        return _put_out(_answer(words))
    except DrainpoolError as error:
        say(f"drainpool: {error}")
        return error.exit_code
    except BrokenPipeError:
        _close_quietly()
        return 0
    except KeyboardInterrupt:
        say("drainpool: stopped by you. What was finished before stands; run the command again to go on.")
        return INTERRUPTED
    except Exception as error:
        say(f"drainpool: {_unforeseen(error, words)}")
        return DrainpoolError.exit_code


def say(line: str) -> None:
    """One line of progress or of a worded failure, on standard error; lost quietly when nobody listens."""
    try:
        print(line, file=sys.stderr, flush=True)
    except OSError:
        return


def _answer(words: list[str]) -> CommandResult:
    from pipeline.commands.line.arguments import parse, run

    return run(parse(words), say)


def _put_out(answer: CommandResult) -> int:
    if isinstance(answer.result, bytes):
        sys.stdout.buffer.write(answer.result)
    elif answer.result:
        print(answer.result.removesuffix("\n"))
    sys.stdout.flush()
    return answer.exit_code


def _one_thread_each() -> None:
    """Sums are added in one order on every machine: results must be the same bytes."""
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[name] = "1"


def _utf8(*streams: TextIO) -> None:
    for stream in streams:
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(encoding="utf-8", errors="replace")


def _close_quietly() -> None:
    """The reader of standard output went away: leave without a second complaint at shutdown."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _unforeseen(error: Exception, words: list[str]) -> str:
    """A sentence for the person, the details in a file beside the pool where there is one."""
    if isinstance(error, OSError) and error.strerror:
        where = f" ({error.filename})" if error.filename else ""
        return f"the computer refused: {error.strerror}{where}. Nothing was half done; mend that and run it again."
    kept = _keep_details(error, words)
    place = (
        f" The details are in {kept}; please send that file to whoever looks after drainpool." if kept else ""
    )
    return f"something went wrong that was not foreseen. What was finished before stands.{place}"


def _keep_details(error: Exception, words: list[str]) -> Path | None:
    """Puts the details into `failures.log` of the pool that was named, or else into a file of their own in
    the computer's folder for temporary files; None where neither can be written."""
    import tempfile

    told = f"drainpool {' '.join(words)}\n{''.join(traceback.format_exception(error))}\n"
    pool = Path(words[words.index("--pool") + 1]) if "--pool" in words[:-1] else None
    try:
        if pool is not None and (pool / "journal.jsonl").is_file():
            with (pool / "failures.log").open("a", encoding="utf-8", errors="backslashreplace") as file:
                file.write(told)
            return pool / "failures.log"
        with tempfile.NamedTemporaryFile(
            "w",
            encoding="utf-8",
            errors="backslashreplace",
            prefix="drainpool-failure-",
            suffix=".log",
            delete=False,
        ) as apart:
            apart.write(told)
        return Path(apart.name)
    except OSError:
        return None


if __name__ == "__main__":
    sys.exit(main())
