"""What some tests need beside the test extra: a browser, the oracle libraries. Where it is missing they are left out
and counted in the closing lines; where DRAINPOOL_REQUIRE names it (`browser,oracles`) they run and fail.
"""

from __future__ import annotations

import importlib.util
import shutil
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

REQUIRE = "DRAINPOOL_REQUIRE"


def browser_path() -> str | None:
    """The system's Chromium."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


def oracles_are_there() -> bool:
    """Whether both libraries of the oracles extra are installed."""
    return all(importlib.util.find_spec(name) is not None for name in ("statsmodels", "pymare"))


@dataclass(frozen=True)
class Need:
    """`sign`: the fixture or marker by which a test is known to need it. `left_out`: the end of the closing line."""

    sign: str
    is_there: Callable[[], bool]
    left_out: str


NEEDS: Mapping[str, Need] = {
    "browser": Need(
        "chromium", lambda: browser_path() is not None, "browser tests left out: no Chromium on the path"
    ),
    "oracles": Need(
        "oracles",
        oracles_are_there,
        "tests against other libraries left out: the oracles extra is not installed",
    ),
}


def required_by(surroundings: Mapping[str, str]) -> set[str]:
    """The names in DRAINPOOL_REQUIRE. ValueError for a name that nothing bears."""
    names = {name.strip() for name in surroundings.get(REQUIRE, "").split(",")} - {""}
    if unknown := names - set(NEEDS):
        raise ValueError(f"{REQUIRE} may name {', '.join(NEEDS)}; it names {', '.join(sorted(unknown))}")
    return names


def missing(surroundings: Mapping[str, str]) -> list[Need]:
    """What is not there and not required."""
    required = required_by(surroundings)
    return [need for name, need in NEEDS.items() if name not in required and not need.is_there()]


def why_left_out(signs: Collection[str], lacking: Collection[Need]) -> str | None:
    """Why a test with these fixtures and markers is left out; None where it runs."""
    return next((need.left_out for need in lacking if need.sign in signs), None)
