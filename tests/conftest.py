"""Fixtures made once for all tests, each from the module that explains it."""

from __future__ import annotations

from tests.story.browser import chromium
from tests.story.pool_fixture import demo_pool

__all__ = ["chromium", "demo_pool"]
