"""One list of pages: everything in it is in the navigation and reachable, and no page stands beside it."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from pathlib import PurePosixPath

import pytest

import reports.pages
from reports.frame import Content
from reports.page import Page
from reports.publish import page_files
from reports.render import as_html
from reports.steps import LISTED, listed_page, month_pages
from tests.unit.reports.invented_month import invented_view


@pytest.fixture(scope="module")
def pages() -> list[Page]:
    return month_pages(invented_view(6))


def links(page: Page) -> list[str]:
    """Where a page leads inside the month's folder, as paths from that folder, anchors kept."""
    here = PurePosixPath(page.path).parent
    targets = re.findall(r'href="([^"]+)"', as_html(page))
    inside = [target for target in targets if ":" not in target]
    return [page.path + target if target.startswith("#") else _tidy(str(here / target)) for target in inside]


def _tidy(path: str) -> str:
    return re.sub(r"[^/]+/\.\./", "", path)


def makers() -> dict[str, object]:
    """Every public function below reports.pages that makes the content of one page from the month's view."""
    made: dict[str, object] = {}
    for module in pkgutil.walk_packages(reports.pages.__path__, "reports.pages."):
        for name, function in inspect.getmembers(importlib.import_module(module.name), inspect.isfunction):
            returns = inspect.signature(function).return_annotation
            if returns in (Content, "Content") and not name.startswith("_"):
                made[f"{function.__module__}.{name}"] = function
    return made


def test_every_page_that_is_made_is_listed() -> None:
    listed = [page.content for page in LISTED]
    forgotten = [name for name, function in makers().items() if function not in listed]
    assert len(makers()) >= 6
    assert forgotten == [], "a page not in LISTED of reports/steps.py has no way to it"


def test_paths_and_labels_are_one_each() -> None:
    assert len({page.path for page in LISTED}) == len(LISTED)
    assert len({page.label or page.title for page in LISTED}) == len(LISTED)


def test_every_page_leads_to_every_listed_page(pages: list[Page]) -> None:
    for page in pages:
        others = {listed.path for listed in LISTED} - {page.path}
        assert others <= set(links(page)), page.path
        assert len(page.nav) == len(LISTED)


def test_every_page_is_reached_from_the_front_page(pages: list[Page]) -> None:
    by_path = {page.path: page for page in pages}
    reached, ahead = set(), ["index.html"]
    while ahead:
        path = ahead.pop()
        if path in by_path and path not in reached:
            reached.add(path)
            ahead += [link.split("#")[0] for link in links(by_path[path])]
    assert reached == set(by_path)


def test_every_link_to_a_place_in_a_page_finds_it(pages: list[Page]) -> None:
    places = {f"{page.path}#{name}" for page in pages for name in re.findall(r' id="([^"]+)"', as_html(page))}
    wanted = {
        (page.path, link) for page in pages for link in links(page) if "#" in link and not link.endswith("#")
    }
    assert wanted
    assert {pair for pair in wanted if pair[1] not in places} == set()


def test_a_page_that_is_not_listed_is_an_error() -> None:
    with pytest.raises(KeyError):
        listed_page(invented_view(0), "nowhere.html")


def test_files_of_a_month_have_one_path_each_and_stay_inside_it() -> None:
    paths = [path for path, _ in page_files(month_pages(invented_view(2)))]
    assert len(set(paths)) == len(paths)
    assert not [path for path in paths if path.startswith("/") or ".." in path]
    assert {page.path for page in LISTED} <= set(paths)
