"""Runs one drainpool command that stops for good at a named point inside a load, so that it can be killed there.

python -m tests.store.paused POINT MARKER load FILE … --pool DIR: makes the file MARKER on arriving at POINT.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

POINTS: dict[str, tuple[str, str, str]] = {
    # name: (module, function, before or after it or halfway through)
    "first sheet archived": ("pipeline.load.truth.archive", "_put_one", "after"),
    "all sheets archived": ("pipeline.load.truth.archive", "put", "after"),
    "transaction begun": ("pipeline.load.database.store", "insert_lines", "before"),
    "journal lines in the store": ("pipeline.load.database.store", "insert_lines", "after"),
    "receipts to go in": ("pipeline.load.changes.receiving", "receipt_rows", "before"),
    "receipts made": ("pipeline.load.changes.receiving", "receipt_rows", "after"),
    "first rows to go in": ("pipeline.load.database.store", "insert", "before"),
    "first rows gone in": ("pipeline.load.database.store", "insert", "after"),
    "before the journal": ("pipeline.load.truth.journal", "append", "before"),
    "journal torn": ("pipeline.load.truth.journal", "os.write", "halfway"),
    "journal torn again": ("pipeline.load.truth.journal", "os.write", "nine tenths"),
    "journal not flushed": ("pipeline.load.truth.journal", "os.fsync", "before"),
    "journal written": ("pipeline.load.truth.journal", "append", "after"),
    "store to be published": ("pipeline.load.database.store", "publish", "before"),
    "copy made": ("pipeline.load.database.store", "shutil.copyfile", "after"),
}
IN_TRANSACTION = tuple(POINTS)[2:13]


def main() -> int:
    """Arms the point, then carries out the command."""
    point, marker, *words = sys.argv[1:]
    import importlib

    from pipeline.cli import main as drainpool

    importlib.import_module("pipeline.load.changes.receiving")
    module_name, name, when = POINTS[point]
    owner: Any = importlib.import_module(module_name)
    *path, last = name.split(".")
    for part in path:
        owner = getattr(owner, part)
    setattr(owner, last, armed(getattr(owner, last), when, Path(marker), module_name))
    return drainpool(words)


def armed(real: Callable[..., Any], when: str, marker: Path, module: str) -> Callable[..., Any]:
    """The function with a stop before, behind or inside it. Making a pool passes unharmed: only a change that
    receives sheets stops."""

    def stop() -> None:
        marker.touch()
        while True:  # until it is killed
            time.sleep(60)

    def called(*words: Any, **named: Any) -> Any:
        if not receiving():
            return real(*words, **named)
        if when == "before":
            stop()
        if when in ("halfway", "nine tenths"):
            handle, content = words
            real(handle, content[: len(content) // 2 if when == "halfway" else len(content) * 9 // 10])
            stop()
        answer = real(*words, **named)
        stop()
        return answer

    return called


def receiving() -> bool:
    """Whether a sheet is just being received (or laid into the archive, or its pool published after it)."""
    if threading.current_thread() is not threading.main_thread():
        return True
    frame: Any = sys._getframe()
    while frame is not None:
        if frame.f_code.co_name in ("_receive_new", "_close"):
            return True
        frame = frame.f_back
    return False


if __name__ == "__main__":
    sys.exit(os.EX_SOFTWARE if main() else 0)
