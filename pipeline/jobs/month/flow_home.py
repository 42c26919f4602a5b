"""Where Prefect keeps its records, and how it is kept quiet: values for the environment, set before it is imported.

The home lies inside the pool, so nothing is written to the person's own home and two pools never mix. The
recorder's values keep task records from being lost (its own defaults lose some when tasks are many and short);
its interval is cut to whole seconds, and at 0 it would keep a core busy. Blocks, which nothing here uses, are not
registered and nothing is vacuumed: a month starts sooner.
The flow works in that folder: Prefect would read settings, and its server load modules, from the folder that a
command happened to be typed in.
"""

from __future__ import annotations

from pathlib import Path

HOME = ".prefect"
LOG = "month.log"
SERVER_START_LIMIT_S = 1800

QUIET: dict[str, str] = {
    "PREFECT_SERVER_EPHEMERAL_ENABLED": "true",
    "PREFECT_SERVER_EPHEMERAL_STARTUP_TIMEOUT_SECONDS": str(SERVER_START_LIMIT_S),
    "PREFECT_SERVER_ANALYTICS_ENABLED": "false",
    "PREFECT_SERVER_LOGGING_LEVEL": "CRITICAL",
    "PREFECT_SERVER_REGISTER_BLOCKS_ON_START": "false",
    "PREFECT_SERVER_SERVICES_DB_VACUUM_ENABLED": "false",
    "PREFECT_SERVER_SERVICES_TASK_RUN_RECORDER_BATCH_SIZE": "200",
    "PREFECT_SERVER_SERVICES_TASK_RUN_RECORDER_FLUSH_INTERVAL": "1",
    "PREFECT_CLOUD_ENABLE_ORCHESTRATION_TELEMETRY": "false",
    "PREFECT_TELEMETRY_ENABLE_RESOURCE_METRICS": "false",
    "PREFECT_LOGGING_TO_API_ENABLED": "false",
    "PREFECT_LOGGING_LEVEL": "WARNING",
    "PREFECT_LOGGING_COLORS": "false",
    "DO_NOT_TRACK": "1",
}


def environment(pool: Path) -> dict[str, str]:
    """Every environment value that the month's flow needs, for the pool in this folder."""
    return {**QUIET, "PREFECT_HOME": str(home(pool))}


def home(pool: Path) -> Path:
    """Prefect's own folder inside the pool."""
    return pool.resolve() / HOME


def log_file(pool: Path) -> Path:
    """Where the flow's log lines go; only worded sentences reach the person."""
    return home(pool) / LOG
