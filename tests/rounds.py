"""The two rounds of tests. Quick is what a plain `pytest` runs: minutes. Deep is what `pytest --deep` adds: the
tests marked `deep` (kill moments, browser walks, every command of README) and more examples of every property.

`pytest --deep -m deep` runs only what the quick round left. Both leave out what needs a browser or the oracle
libraries where these are missing (tests/needs.py), and both say in their closing lines what was left out, and why.
"""

from __future__ import annotations

import os
from collections import Counter

import pytest
from hypothesis import HealthCheck, settings

from tests.needs import missing, why_left_out

QUICK_EXAMPLES = 40
DEEP_EXAMPLES = 400
LEFT = pytest.StashKey[Counter[str]]()
FOR_DEEP = "tests left for the deep round: pytest --deep -m deep"

settings.register_profile(
    "quick",
    max_examples=QUICK_EXAMPLES,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "deep",
    max_examples=DEEP_EXAMPLES,
    deadline=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)


def examples(part: float = 1.0) -> int:
    """How many examples a property gets in this round: a part of the usual, where one example takes long."""
    return max(5, round(settings.get_profile(settings.get_current_profile_name()).max_examples * part))


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--deep`."""
    parser.addoption(
        "--deep",
        action="store_true",
        help="also run the tests marked deep, and more examples of every property (about half an hour)",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Chooses the number of examples before any test is read."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # as the command line does: sums in one order, the same bytes
    settings.load_profile("deep" if config.getoption("--deep") else "quick")
    config.stash[LEFT] = Counter()


def pytest_report_header(config: pytest.Config) -> str:
    """Which round this is."""
    if config.getoption("--deep"):
        return f"round: deep, {DEEP_EXAMPLES} examples of every property"
    return (
        f"round: quick, {QUICK_EXAMPLES} examples of every property; what --deep adds is counted at the end"
    )


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leaves out what the round or the machine does not allow, and counts it by its reason. Deep: every property
    counts as deep, since it runs with more examples."""
    deep = bool(config.getoption("--deep"))
    try:
        lacking = missing(os.environ)
    except ValueError as error:
        raise pytest.UsageError(str(error)) from error
    left: dict[pytest.Item, str] = {}
    for item in items:
        if deep and getattr(getattr(item, "obj", None), "is_hypothesis_test", False):
            item.add_marker("deep")
        signs = {*getattr(item, "fixturenames", ()), *(marker.name for marker in item.iter_markers())}
        reason = why_left_out(signs, lacking) or (FOR_DEEP if "deep" in signs and not deep else None)
        if reason:
            left[item] = reason
    if left:
        config.stash[LEFT].update(left.values())
        config.hook.pytest_deselected(items=list(left))
        items[:] = [item for item in items if item not in left]


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A worker hands its counts to the process that prints."""
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        counts = session.config.stash[LEFT]
        output["left_out"] = dict(counts)


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object) -> None:
    """Every worker reads all tests and counts the same."""
    config: pytest.Config = node.config  # type: ignore[attr-defined] # pytest-xdist ships no type for a node
    counts = config.stash[LEFT]
    for reason, number in getattr(node, "workeroutput", {}).get("left_out", {}).items():
        counts[reason] = max(counts[reason], number)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """How many tests were left out, a line for each reason."""
    for reason, count in sorted(config.stash[LEFT].items()):
        terminalreporter.write_line(f"{count} {reason}")
