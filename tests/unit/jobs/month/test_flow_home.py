"""The values that Prefect gets: what they must not become."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from pipeline.jobs.month.flow_home import QUIET, environment, home


def test_the_recorder_waits_between_two_looks() -> None:
    """It cuts its interval to whole seconds; at 0 it asks without pause and keeps a core busy all month."""
    assert int(float(QUIET["PREFECT_SERVER_SERVICES_TASK_RUN_RECORDER_FLUSH_INTERVAL"])) >= 1


def test_the_home_lies_inside_the_pool(tmp_path: Path) -> None:
    assert home(tmp_path).parent == tmp_path.resolve()
    assert environment(tmp_path)["PREFECT_HOME"] == str(home(tmp_path))


def test_no_value_is_unknown_to_prefect(tmp_path: Path) -> None:
    """A value under a wrong name would do nothing, without a word. In a process of its own: Prefect keeps the
    home that it was first imported with."""
    words = "from prefect.settings.legacy import _get_valid_setting_names as names, Settings; print(*names(Settings))"
    known = subprocess.run(
        [sys.executable, "-c", words], env=environment(tmp_path), capture_output=True, text=True, check=True
    )
    assert set(QUIET) - set(known.stdout.split()) == {"DO_NOT_TRACK"}
