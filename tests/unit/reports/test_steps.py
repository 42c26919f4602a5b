"""One list of pages: everything in it is in the navigation and reachable, and no page stands beside it."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from pathlib import PurePosixPath
from xml.etree import ElementTree

import pytest

import reports.pages
from reports.frame import Content
from reports.page import ChartBlock, Page
from reports.pictures import picture_files
from reports.publish import moved_down, page_files, superseded
from reports.render import as_html, every_block
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


def test_no_id_stands_twice_on_a_page(pages: list[Page]) -> None:
    for page in pages:
        ids = re.findall(r' id="([^"]+)"', as_html(page))
        assert sorted(ids) == sorted(set(ids)), page.path


def test_every_page_leads_to_the_other_months_and_to_the_feed(pages: list[Page]) -> None:
    for page in pages:
        up = "../" * page.depth
        html = as_html(page)
        assert f'href="{up}../index.html">All months</a>' in html
        assert f'href="{up}../feed.xml"' in html


def test_an_older_edition_s_way_to_the_months_is_one_folder_longer(pages: list[Page]) -> None:
    older = superseded(moved_down(as_html(pages[0]), 0), 0, 2)
    assert 'href="../../index.html">All months</a>' in older and 'href="../../feed.xml"' in older


def test_figures_and_their_words_stay_on_one_line_and_words_are_not_cut(pages: list[Page]) -> None:
    html = as_html(next(page for page in pages if page.path == "index.html"))
    assert re.search(r"\d %", html.split("<main")[1].split("<svg")[0]) is None
    dictionary = as_html(next(page for page in pages if page.path == "dictionary.html"))
    assert "component_<wbr>share" in dictionary


def test_pictures_bear_the_marks_of_their_page(pages: list[Page]) -> None:
    files, _ = picture_files(pages)
    drawn = [file.content.decode() for file in files if file.path.endswith(".svg")]
    assert len(drawn) > 3
    assert all("Invented data: not growing advice" in svg and "May 2026" in svg for svg in drawn)
    ElementTree.fromstring(drawn[0])  # noqa: S314 - our own drawing


def test_without_scripts_charts_are_their_picture_files(pages: list[Page]) -> None:
    growers = next(page for page in pages if page.path == "growers.html")
    _, names = picture_files(pages)
    charts = [block.name for block in every_block(growers) if isinstance(block, ChartBlock)]
    assert charts
    assert all(f'<noscript><img src="pictures/{name}.svg"' in as_html(growers, names) for name in charts)


def test_the_dictionary_holds_no_placeholder(pages: list[Page]) -> None:
    html = as_html(next(page for page in pages if page.path == "dictionary.html"))
    assert not re.search(r"[{‹]\w+[}›]", html)
