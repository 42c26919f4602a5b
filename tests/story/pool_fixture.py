"""Running the tool as a person does, a demo pool made once for all tests, small pools of our own."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from contextlib import chdir, nullcontext, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock

from tests.story.sheets import BASELINE, PLAIN, sheet_text

PATIENCE_S = 1800
"""Against a command that hangs, not a measure of speed: other work may hold the machine's cores for minutes."""


def wait_for(happened: Callable[[], bool]) -> None:
    """Waits until something has happened, asking ten times a second."""
    deadline = time.monotonic() + PATIENCE_S
    while not happened():
        assert time.monotonic() < deadline, "it did not happen"
        time.sleep(0.1)


def drainpool(
    *words: str | Path, cwd: Path | None = None, env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """One command inside this process: exit code, standard output and standard error as a person sees them.

    A process of its own costs seconds and shows nothing more, but where exit, signals, locks or encodings are the
    point. Months share one server.
    """
    from pipeline.cli import main

    out, progress = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    before = dict(os.environ)
    try:
        os.environ.update(env or {})
        with chdir(cwd) if cwd else nullcontext(), redirect_stdout(out), redirect_stderr(progress):
            code = main([str(word) for word in words])
    finally:
        os.environ.clear()
        os.environ.update(before)
    texts = [stream.buffer.getvalue().decode() for stream in (out, progress)]
    return subprocess.CompletedProcess(words, code, *texts)


def drainpool_process(
    *words: str | Path, cwd: Path | None = None, env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """One command in a process of its own, as text."""
    return subprocess.run(
        [sys.executable, "-P", "-m", "pipeline.cli", *map(str, words)],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2]), **(env or {})},
        capture_output=True,
        encoding="utf-8",
        timeout=PATIENCE_S,
        check=False,
    )


@dataclass(frozen=True)
class DemoPool:
    """The pool that `drainpool demo` made, what it said, and how long it took."""

    folder: Path
    said: str
    progress: str
    seconds: float

    def results(self, month: str) -> dict[str, Any]:
        """`results.json` of a month."""
        return read_results(self.folder, month)


def read_results(pool: Path, month: str) -> dict[str, Any]:
    """`results.json` of a month of a pool."""
    value: dict[str, Any] = json.loads(
        (pool / "reports" / month / "results.json").read_text(encoding="utf-8")
    )
    return value


@pytest.fixture(scope="session")
def demo_pool(tmp_path_factory: pytest.TempPathFactory) -> DemoPool:
    """Made once, for all workers where tests run side by side; tests that change a pool copy it first."""
    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent
    folder, told = shared / "drainpool-demo", shared / "drainpool-demo.json"
    with FileLock(shared / "drainpool-demo.lock"):
        if not told.exists():
            began = time.monotonic()
            done = drainpool_process("demo", "--pool", folder)
            assert done.returncode == 0, done.stderr
            told.write_text(
                json.dumps([done.stdout, done.stderr, time.monotonic() - began]), encoding="utf-8"
            )
    said, progress, seconds = json.loads(told.read_text(encoding="utf-8"))
    return DemoPool(folder, said, progress, seconds)


def small_sheet(member: str = "fen-07", shares: tuple[str, ...] = ("40",), **changes: str) -> str:
    """A sheet of one member: straight base and one pot of each share, all accepted."""
    rows = [{**BASELINE, "member": member, **changes}]
    rows += [
        {**PLAIN, "member": member, "component_share": share, "drain_time": f"{4 - at}:10", **changes}
        for at, share in enumerate(shares)
    ]
    return sheet_text(rows)


def write(folder: Path, name: str, text: str) -> Path:
    """A sheet on disk, its line ends as written."""
    path = folder / name
    path.write_bytes(text.encode())
    return path
