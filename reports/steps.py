"""The room to read first: one month's view in, its pages out, in the order a reader meets them.

`LISTED` is the one list of pages. Navigation, the front page's list of pictures and the browser tests are made from it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from reports.frame import Content, framed
from reports.page import Page
from reports.pages.depends.steps import depends_content
from reports.pages.dictionary import dictionary_content
from reports.pages.front.steps import front_content, with_pictures_listed
from reports.pages.growers import growers_content
from reports.pages.how_to_test import how_to_test_content
from reports.pages.members.steps import member_contents
from reports.pages.method import method_content
from reports.pages.quality import quality_content
from reports.pictures import picture_list
from reports.view import Correction, MonthView

__all__ = ["LISTED", "Correction", "ListedPage", "MonthView", "listed_page", "member_pages", "month_pages"]


@dataclass(frozen=True)
class ListedPage:
    """A page that stands in the navigation. `path`: its file in the month's folder. `label`: its name in the
    navigation, where that is not the title."""

    path: str
    title: str
    content: Callable[[MonthView], Content]
    label: str = ""


LISTED: tuple[ListedPage, ...] = (
    ListedPage("index.html", "How much is enough", front_content, label="The answer"),
    ListedPage("depends.html", "Where it depends", depends_content),
    ListedPage("growers.html", "The growers", growers_content),
    ListedPage("quality.html", "What came in", quality_content),
    ListedPage("method.html", "How it is worked out", method_content),
    ListedPage("how-to-test.html", "How to test", how_to_test_content),
    ListedPage("dictionary.html", "Columns and rules", dictionary_content),
)
NAVIGATION: tuple[tuple[str, str], ...] = tuple((page.path, page.label or page.title) for page in LISTED)


def month_pages(view: MonthView) -> list[Page]:
    """Every page of the month, whole also for a pool of no or one grower; `reports.publish` makes files of them."""
    front, *others = [_framed(view, page) for page in LISTED]
    pictures = picture_list([front, *others])
    return [with_pictures_listed(front, pictures), *others, *member_pages(view)]


def listed_page(view: MonthView, path: str) -> Page:
    """The one listed page of this path. KeyError where no page has it."""
    return _framed(view, {page.path: page for page in LISTED}[path])


def member_pages(view: MonthView) -> list[Page]:
    """One page per grower whose code can name a file, by code."""
    return [framed(view, path, title, content, NAVIGATION) for path, title, content in member_contents(view)]


def _framed(view: MonthView, page: ListedPage) -> Page:
    return framed(view, page.path, page.title, page.content(view), NAVIGATION)
