"""A helper process that ends another one when this process is gone, however it ended.

The month's flow starts a server as a child. Ended by a kill signal, this process can't stop it any more; the
watchman sees its own standard input close and does.
"""

from __future__ import annotations

import subprocess
import sys

WATCH = (
    "import os, signal, sys\n"
    "signal.signal(signal.SIGINT, signal.SIG_IGN)\n"
    "sys.stdin.buffer.read()\n"
    "try:\n"
    "    os.kill(int(sys.argv[1]), signal.SIGTERM)\n"
    "except OSError:\n"
    "    pass\n"
)


_started: list[subprocess.Popen[bytes]] = []
"""Kept, so that their standard input stays open for as long as this process lives."""


def end_with_us(process: int) -> None:
    """Starts the watchman over the process with this number; it ends by itself once it has acted."""
    watchman = subprocess.Popen(  # noqa: S603 our own words and a number
        [sys.executable, "-I", "-S", "-c", WATCH, str(process)],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _started.append(watchman)
