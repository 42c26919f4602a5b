"""Fixtures made once for all tests, each from the module that explains it, and the two rounds of tests."""

from __future__ import annotations

from tests.rounds import (
    pytest_addoption,
    pytest_collection_modifyitems,
    pytest_configure,
    pytest_report_header,
    pytest_sessionfinish,
    pytest_terminal_summary,
    pytest_testnodedown,
)
from tests.story.browser import chromium
from tests.story.pool_fixture import demo_pool

__all__ = [
    "chromium",
    "demo_pool",
    "pytest_addoption",
    "pytest_collection_modifyitems",
    "pytest_configure",
    "pytest_report_header",
    "pytest_sessionfinish",
    "pytest_terminal_summary",
    "pytest_testnodedown",
]
