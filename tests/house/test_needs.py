"""Tests that need a browser or the oracle libraries: left out with a reason, or failing where they are required."""

from __future__ import annotations

import pytest

from tests import conftest
from tests.needs import NEEDS, Need, missing, required_by, why_left_out

ABSENT = Need("chromium", lambda: False, "browser tests left out")
PRESENT = Need("oracles", lambda: True, "oracles left out")


@pytest.fixture
def no_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    """As on a machine without Chromium."""
    monkeypatch.setitem(NEEDS, "browser", ABSENT)
    monkeypatch.setitem(NEEDS, "oracles", PRESENT)


@pytest.mark.usefixtures("no_browser")
def test_what_is_missing_is_left_out_unless_it_is_required() -> None:
    assert missing({}) == [ABSENT]
    assert missing({"DRAINPOOL_REQUIRE": "oracles"}) == [ABSENT]
    assert missing({"DRAINPOOL_REQUIRE": "browser, oracles"}) == []


def test_a_test_is_left_out_for_what_it_bears() -> None:
    assert why_left_out({"chromium", "tmp_path"}, [ABSENT]) == "browser tests left out"
    assert why_left_out({"oracles"}, [ABSENT]) is None
    assert why_left_out({"chromium"}, []) is None


def test_a_misspelled_requirement_is_refused() -> None:
    with pytest.raises(ValueError, match="browsers"):
        required_by({"DRAINPOOL_REQUIRE": "browsers"})


def test_the_signs_are_a_fixture_and_a_marker_of_ours(pytestconfig: pytest.Config) -> None:
    """A sign that is renamed would leave nothing out."""
    markers = {line.split(":")[0] for line in pytestconfig.getini("markers")}
    assert {need.sign for need in NEEDS.values()} <= markers | set(vars(conftest))
