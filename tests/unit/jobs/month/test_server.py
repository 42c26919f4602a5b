"""The flow's server: one per process, its own environment, a worded end where it can't start."""

from __future__ import annotations

import atexit
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from pipeline.errors import DrainpoolError
from pipeline.jobs.month import server
from pipeline.jobs.month.flow_home import home


@pytest.fixture
def alone(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """As in a process where no server runs yet."""
    monkeypatch.setattr(server, "_running", [])
    return monkeypatch


def test_a_server_that_ends_at_once_is_worded(alone: pytest.MonkeyPatch, tmp_path: Path) -> None:
    alone.setattr(sys, "executable", "/bin/false")
    with pytest.raises(DrainpoolError, match="did not start") as error:
        server.ready_server(tmp_path, {})
    assert "month.log" in str(error.value)


def test_two_months_share_one_that_knows_nothing_of_other_servers(
    alone: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    starts: list[dict[str, Any]] = []

    class Process:
        pid = 1

        def __init__(self, words: list[str], **options: Any) -> None:
            starts.append(options)

        def poll(self) -> None:
            return None

    alone.setattr(server, "end_with_us", lambda pid: None)
    alone.setattr(atexit, "register", lambda *_: None)
    alone.setattr(subprocess, "Popen", Process)
    surroundings = {"PATH": "/bin", "PREFECT_API_URL": "http://127.0.0.1:9/api"}
    first = server.started_server(tmp_path / "one", surroundings)
    assert server.started_server(tmp_path / "other", surroundings) is first
    (options,) = starts
    assert options["env"]["PATH"] == "/bin" and "PREFECT_API_URL" not in options["env"]
    assert options["env"]["PREFECT_HOME"] == str(home(tmp_path / "one"))
    assert first.api == f"http://127.0.0.1:{first.port}/api"
