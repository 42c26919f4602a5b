"""A child that is watched ends when its parent is killed outright."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

from tests.story.pool_fixture import PATIENCE_S, wait_for

PARENT = """
import subprocess, sys, time
from pipeline.jobs.month.server_end import end_with_us
child = subprocess.Popen([sys.executable, "-S", "-c", "import time; time.sleep(600)"])
end_with_us(child.pid)
print(child.pid, flush=True)
time.sleep(600)
"""


def running(process: int) -> bool:
    """Whether the process is there and is no zombie."""
    state = Path(f"/proc/{process}/stat")
    return state.exists() and state.read_text().rsplit(")", 1)[1].split()[0] != "Z"


def test_a_killed_parent_takes_its_child_along() -> None:
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[3])},
    )
    assert parent.stdout is not None
    child = int(parent.stdout.readline())
    assert running(child)
    parent.send_signal(signal.SIGKILL)
    parent.wait(PATIENCE_S)
    parent.stdout.close()
    wait_for(lambda: not running(child))
