"""The month as a Prefect flow: the order of the steps, another try where one can help, links to the pages.

Nothing is computed here; every task calls one job. Prefect keeps its records inside the pool, starts a server
of its own for as long as the command runs, and needs no network. Its settings come from the environment
values of `pipeline.jobs.month.flow_home`, which must be set before this module is first imported.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from prefect import flow, task
from prefect.artifacts import create_link_artifact, create_markdown_artifact, create_table_artifact
from prefect.cache_policies import NO_CACHE
from prefect.settings import (
    PREFECT_API_KEY,
    PREFECT_API_URL,
    PREFECT_FLOWS_HEARTBEAT_FREQUENCY,
    temporary_settings,
)

from pipeline.jobs.decisions.requests import carry_out, in_turn, requests_waiting
from pipeline.jobs.month.figures import Figures, figures
from pipeline.jobs.month.flow_home import log_file
from pipeline.jobs.month.server import ready_server
from pipeline.jobs.month.steps import MonthOrder, next_edition, until_in_place, write_month
from pipeline.jobs.receiving.inbox import TakenIn, take_in, waiting
from pipeline.load.truth.records import Edition

FILES_A_TASK = 50
WAITS_S = [1.0, 4.0]
Say = Callable[[str], None]


@dataclass(frozen=True)
class MonthMade:
    """What a run of the month leaves: the page to open, the figures behind it, what came out of the inbox."""

    index: Path
    figures: Figures
    taken_in: TakenIn


def _may_pass(_task: Any, _run: Any, state: Any) -> bool:
    """Another try can help against a busy disk, never against what stands in a sheet or was typed."""
    return isinstance(state.result(raise_on_failure=False), OSError)


@task(
    name="take in sheets",
    cache_policy=NO_CACHE,
    retries=len(WAITS_S),
    retry_delay_seconds=WAITS_S,
    retry_condition_fn=_may_pass,
)
def take_in_some(pool: str, names: list[str], month: str, by_whom: str) -> TakenIn:
    """About 50 files of the inbox: checked and loaded in one transaction."""
    return take_in(Path(pool), names, month, by_whom, _say.get())


@task(name="carry out a request", cache_policy=NO_CACHE)
def carry_out_one(pool: str, name: str) -> TakenIn:
    """One wish from the desk: a withdrawal, a decision, an answer."""
    done = carry_out(Path(pool), name, _say.get())
    return TakenIn(requests=int(done), left=int(not done))


@task(name="settle the edition", cache_policy=NO_CACHE)
def settle_edition(order: dict[str, Any], again: bool) -> Edition:
    """Which edition is made; a new one is written into the journal. The reason typed does not go through the flow, whose
    records are not private."""
    return next_edition(replace(_order(order), reason=_reason.get()), _say.get(), again)


@task(name="compare", cache_policy=NO_CACHE)
def compare(pool: str, edition: Edition) -> Figures:
    """Rates, comparison and results of that edition."""
    return figures(Path(pool), edition)


@task(
    name="write the pages",
    cache_policy=NO_CACHE,
    retries=len(WAITS_S),
    retry_delay_seconds=WAITS_S,
    retry_condition_fn=_may_pass,
)
def write_pages(pool: str, made: Figures, patient: bool) -> Path | None:
    """The month's folder, put in place whole; None where another command has overtaken the figures."""
    return write_month(Path(pool), made, _say.get(), patient)


@flow(name="drainpool month", flow_run_name="{month}", validate_parameters=False)
def month_flow(month: str, order: dict[str, Any]) -> MonthMade:
    """Inbox → check → load → normalise → compare → pages, for one month."""
    pool = order["pool"]
    taken = TakenIn()
    for names, request in in_turn(waiting(Path(pool), _say.get()), requests_waiting(Path(pool))):
        for start in range(0, len(names), FILES_A_TASK):
            taken += take_in_some(pool, names[start : start + FILES_A_TASK], month, order["by_whom"])
        if request is not None:
            taken += carry_out_one(pool, request)
    made, index = until_in_place(
        lambda again: settle_edition(order, again),
        lambda edition: compare(pool, edition),
        lambda made, patient: write_pages(pool, made, patient),
    )
    _leave_artifacts(month, index, made, taken)
    return MonthMade(index, made, taken)


def run_month(order: MonthOrder, say: Say) -> MonthMade:
    """Runs the flow of one month. Raises the DrainpoolError of a job that could not be done; the month's
    earlier pages then stand as they were. Further months in one process share the flow's server."""
    api = ready_server(order.pool, os.environ).api
    token, reason = _say.set(say), _reason.set(order.reason)
    try:
        with (
            temporary_settings(
                {PREFECT_API_URL: api, PREFECT_FLOWS_HEARTBEAT_FREQUENCY: None},
                restore_defaults={PREFECT_API_KEY},
            ),
            _logs_into(log_file(order.pool)),
        ):
            made: MonthMade = month_flow(
                order.month, {**asdict(order), "pool": str(order.pool), "reason": None}
            )
            return made
    finally:
        _say.reset(token)
        _reason.reset(reason)


_say: ContextVar[Say] = ContextVar("say")
_reason: ContextVar[str | None] = ContextVar("reason", default=None)


def _order(values: dict[str, Any]) -> MonthOrder:
    return MonthOrder(**{**values, "pool": Path(values["pool"])})


def _leave_artifacts(month: str, index: Path, made: Figures, taken: TakenIn) -> None:
    """Links from the flow's own records to the pages."""
    link = index.resolve().as_uri()
    counts = made.results["counts"]
    create_link_artifact(link=link, link_text=f"Report of {month}", key=f"report-{month}")
    create_table_artifact(table=[asdict(taken)], key=f"inbox-{month}", description="Taken out of the inbox")
    create_markdown_artifact(
        f"# {month}, edition {made.edition.number}\n\n"
        f"{counts['members']} members, {counts['series']} series, {counts['runs']} runs in force; "
        f"{counts['held']} rows held.\n\n[Open the report]({link})\n",
        key=f"month-{month}",
    )


@contextmanager
def _logs_into(path: Path) -> Iterator[None]:
    """Sends every log line into one file, so that people meet worded sentences only."""
    path.parent.mkdir(parents=True, exist_ok=True)
    into = logging.FileHandler(path, encoding="utf-8")
    into.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s %(message)s"))
    loggers = [logging.getLogger(name) for name in (None, "prefect._internal", "uvicorn", "fastapi")]
    before = [logger.handlers[:] for logger in loggers]
    try:
        for logger in loggers:
            logger.handlers[:] = [into]
        yield
    finally:
        for logger, handlers in zip(loggers, before, strict=True):
            logger.handlers[:] = handlers
        into.close()
