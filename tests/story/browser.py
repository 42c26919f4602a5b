"""One Chromium for all browser tests, and a page that remembers what it complained of and asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from tests.needs import browser_path

ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """The system's Chromium, started once."""
    from playwright.sync_api import sync_playwright

    chromium_path = browser_path()
    assert chromium_path, "the browser tests need Chromium on the path"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path, args=ARGUMENTS)
        yield browser
        browser.close()


@dataclass
class Opened:
    """A page opened from disk: the page, what it complained of, what it asked for."""

    page: Any
    complaints: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


def open_page(chromium: Any, path: Path, width: int = 1280, scheme: str = "light") -> Opened:
    """Opens a page from disk and waits until its charts are drawn."""
    page = chromium.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    opened = Opened(page)
    page.on("console", lambda message: opened.complaints.append(message.text))
    page.on("pageerror", lambda error: opened.complaints.append(str(error)))
    page.on("request", lambda request: opened.asked.append(request.url))
    page.goto(path.as_uri())
    wait_until_drawn(page)
    return opened


def wait_until_drawn(page: Any) -> None:
    """Waits by selector: the page's own policy forbids the evaluated strings that other ways of waiting need."""
    page.wait_for_selector("html[data-drawn=yes]", state="attached")
    page.wait_for_selector(".plot.drawn:not(:has(svg))", state="detached")
