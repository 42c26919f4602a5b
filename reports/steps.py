"""The room to read first: one month's view in, its pages out, in the order a reader meets them."""

from __future__ import annotations

from reports.page import Page
from reports.pages.depends import depends_page
from reports.pages.dictionary import dictionary_page
from reports.pages.front import front_page, with_pictures_listed
from reports.pages.growers import growers_page
from reports.pages.member import member_pages
from reports.pages.method import method_page
from reports.pages.quality import quality_page
from reports.pictures import picture_list
from reports.view import Correction, MonthView

__all__ = ["Correction", "MonthView", "month_pages"]


def month_pages(view: MonthView) -> list[Page]:
    """Every page of the month, whole also for a pool of no or one grower; `reports.publish` writes them."""
    pages = [
        front_page(view),
        depends_page(view),
        growers_page(view),
        quality_page(view),
        method_page(view),
        dictionary_page(view),
    ]
    return [with_pictures_listed(pages[0], picture_list(pages)), *pages[1:], *member_pages(view)]
