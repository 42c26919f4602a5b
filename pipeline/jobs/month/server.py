"""The server that keeps the flow's records: one for all months of this process, in the pool's own home.

It is started as soon as a month is asked for and gets ready beside the other work. Started here and not by Prefect
because Prefect would first load the whole server into this process too, which costs seconds.
"""

from __future__ import annotations

import atexit
import socket
import subprocess
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path

from pipeline.errors import DrainpoolError
from pipeline.jobs.month.flow_home import SERVER_START_LIMIT_S, environment, home, log_file
from pipeline.jobs.month.server_end import end_with_us

HOST = "127.0.0.1"
BETWEEN_LOOKS_S = 0.05
END_LIMIT_S = 60


@dataclass(frozen=True)
class Server:
    """A server's process and the port where it answers."""

    process: subprocess.Popen[bytes]
    port: int

    @property
    def api(self) -> str:
        """The address that Prefect's client needs."""
        return f"http://{HOST}:{self.port}/api"


_running: list[Server] = []


def started_server(pool: Path, surroundings: Mapping[str, str]) -> Server:
    """The server of this process; started in the pool's home where none runs yet, with the
    command's environment less what others told Prefect. It may not answer at once."""
    if not _running or _running[-1].process.poll() is not None:
        _running[:] = [_start(pool, surroundings)]
    return _running[-1]


def ready_server(pool: Path, surroundings: Mapping[str, str]) -> Server:
    """The same, once it answers. Raises a DrainpoolError where it ended or stays silent for too long."""
    server = started_server(pool, surroundings)
    deadline = time.monotonic() + SERVER_START_LIMIT_S
    while not _answers(server.port):
        if server.process.poll() is not None or time.monotonic() > deadline:
            raise DrainpoolError(
                f"The server that keeps the month's records did not start. Its lines are in {log_file(pool)}. "
                "Nothing was taken in; run the command again."
            )
        time.sleep(BETWEEN_LOOKS_S)
    return server


def _start(pool: Path, surroundings: Mapping[str, str]) -> Server:
    with socket.socket() as free:
        free.bind((HOST, 0))
        port = int(free.getsockname()[1])
    values = {name: value for name, value in surroundings.items() if not name.startswith("PREFECT_")}
    home(pool).mkdir(parents=True, exist_ok=True)
    application = ["--factory", "prefect.server.api.server:create_app", "--app-dir", str(home(pool))]
    address = ["--host", HOST, "--port", str(port), "--log-level", "error", "--lifespan", "on"]
    with log_file(pool).open("ab") as log:
        process = subprocess.Popen(  # noqa: S603 our own words, a folder and a number
            [sys.executable, "-m", "uvicorn", *application, *address],
            cwd=home(pool),
            env={**values, **environment(pool), **SERVER_ONLY},
            stdout=log,
            stderr=log,
        )
    end_with_us(process.pid)
    atexit.register(_end, process)
    return Server(process, port)


SERVER_ONLY = {"PREFECT_UI_ENABLED": "0", "PREFECT__SERVER_EPHEMERAL": "1", "PREFECT__SERVER_FINAL": "1"}
"""As Prefect starts a server of its own: no pages, and only the services that a flow needs."""


def _answers(port: int) -> bool:
    connection = HTTPConnection(HOST, port, timeout=10)
    try:
        connection.request("GET", "/api/health")
        return connection.getresponse().status == 200
    except (OSError, HTTPException):
        return False
    finally:
        connection.close()


def _end(process: subprocess.Popen[bytes]) -> None:
    """Asks the server to end; it writes down what it still holds first."""
    process.terminate()
    try:
        process.wait(END_LIMIT_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
