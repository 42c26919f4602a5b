"""The two rounds of tests. Quick is what a plain `pytest` runs: minutes. Deep is what `pytest --deep` adds: the
tests marked `deep` (kill moments, browser walks, every command of README) and more examples of every property.

`pytest --deep -m deep` runs only what the quick round left.
"""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

QUICK_EXAMPLES = 40
DEEP_EXAMPLES = 400
LEFT = pytest.StashKey[int]()

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
    config.stash[LEFT] = 0


def pytest_report_header(config: pytest.Config) -> str:
    """Which round this is."""
    if config.getoption("--deep"):
        return f"round: deep, {DEEP_EXAMPLES} examples of every property"
    return (
        f"round: quick, {QUICK_EXAMPLES} examples of every property; what --deep adds is counted at the end"
    )


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Quick: what is marked deep is left out and counted. Deep: every property counts as deep, since it runs
    with more examples."""
    if config.getoption("--deep"):
        for item in items:
            if getattr(getattr(item, "obj", None), "is_hypothesis_test", False):
                item.add_marker("deep")
        return
    left = [item for item in items if item.get_closest_marker("deep")]
    if left:
        config.stash[LEFT] = len(left)
        config.hook.pytest_deselected(items=left)
        items[:] = [item for item in items if not item.get_closest_marker("deep")]


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A worker hands its count to the process that prints."""
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        output["left_for_deep"] = session.config.stash[LEFT]


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object) -> None:
    """Every worker reads all tests and counts the same."""
    config: pytest.Config = node.config  # type: ignore[attr-defined] # pytest-xdist ships no type for a node
    counted = getattr(node, "workeroutput", {}).get("left_for_deep", 0)
    config.stash[LEFT] = max(config.stash[LEFT], counted)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """How many tests are left for the deep round."""
    if config.stash[LEFT]:
        terminalreporter.write_line(
            f"{config.stash[LEFT]} tests left for the deep round: pytest --deep -m deep"
        )
