"""Pages into files: each as its path below a folder and its bytes. Nothing here touches the disk.

The style sheet, the script and the mark are packaged with the code, like the templates.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Iterator, Sequence

from reports.page import Page
from reports.pages.months import MonthEntry, atom_feed, months_page
from reports.pictures import picture_files
from reports.render import as_html
from reports.theme import css_tokens

SUPERSEDED_PLACE = "<!--superseded-->"
PAGE_PATTERNS = ("*.html", "members/*", "pictures/*")
"""Where pages and their pictures lie in a month's folder: what lies there and is no longer made is of an earlier run."""


def page_files(pages: Sequence[Page]) -> Iterator[tuple[str, bytes]]:
    """Every file of a month's pages: shared files, pages, their downloads, pictures."""
    pictures, names = picture_files(pages)
    yield from _shared_files()
    for page in pages:
        yield page.path, as_html(page, names).encode()
        yield from ((file.path, file.content) for file in page.downloads)
    yield from ((file.path, file.content) for file in pictures)


def index_files(entries: Sequence[MonthEntry]) -> Iterator[tuple[str, bytes]]:
    """The index over months and its feed, with what they need beside them."""
    yield from _styles()
    yield "feed.xml", atom_feed(entries)
    yield "index.html", as_html(months_page(entries)).encode()


def superseded(html: str, depth: int, newer_edition: int) -> str:
    """The page of an older edition with the mark that a newer one stands above it. `depth`: folders between the page
    and the older edition's own folder."""
    note = (
        f'<p class="mark">Superseded: edition {int(newer_edition)} has taken this page’s place. '
        f'<a href="{"../" * depth}../index.html">To the newest edition</a></p>'
    )
    return html.replace(SUPERSEDED_PLACE, note, 1)


def _shared_files() -> Iterator[tuple[str, bytes]]:
    import vl_convert

    yield from _styles()
    yield "charts.js", vl_convert.javascript_bundle().encode()  # type: ignore[call-arg]  # no snippet: the whole bundle


def _styles() -> Iterator[tuple[str, bytes]]:
    yield "page.css", css_tokens().encode() + _packaged("page.css")
    yield "page.js", _packaged("page.js")
    yield "mark.svg", _packaged("mark.svg")


def _packaged(name: str) -> bytes:
    content = pkgutil.get_data("reports", f"assets/{name}")
    if content is None:
        raise LookupError(f"the package holds no {name}")
    return content
