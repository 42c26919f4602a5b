"""Writes pages into a month's folder: the one room of `reports` that touches the disk.

Each file is written beside its place and renamed into it, so that a reader never meets half a page; pages of
an earlier run that are no longer made (of a grower who left, say) are taken away.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from importlib.resources import files
from pathlib import Path

from reports.page import Page
from reports.pages.months import MonthEntry, atom_feed, months_page
from reports.pictures import picture_files
from reports.render import as_html
from reports.theme import css_tokens

SUPERSEDED_PLACE = "<!--superseded-->"


def write_pages(pages: Sequence[Page], folder: Path) -> list[Path]:
    """Writes all pages, their downloads and the shared files into `folder`; answers what was written."""
    pictures, drawn = picture_files(pages)
    written = [_put(folder / name, content) for name, content in _shared_files()]
    for page in pages:
        written.append(_put(folder / page.path, as_html(page, drawn).encode()))
        written += [_put(folder / file.path, file.content) for file in page.downloads]
    written += [_put(folder / file.path, file.content) for file in pictures]
    _take_away_others(folder, set(written))
    return written


def write_months(entries: Sequence[MonthEntry], folder: Path) -> Path:
    """Writes the index over months and its feed into `folder`, beside the months' own; answers the page."""
    for name, content in _styles():
        _put(folder / name, content)
    _put(folder / "feed.xml", atom_feed(entries))
    return _put(folder / "index.html", as_html(months_page(entries)).encode())


def mark_superseded(folder: Path, newer_edition: int) -> None:
    """Every page in `folder` (an older edition, moved away) says that a newer edition stands above it."""
    for path in sorted(folder.rglob("*.html")):
        up = "../" * (len(path.relative_to(folder).parts) - 1)
        note = (
            f'<p class="mark">Superseded: edition {int(newer_edition)} has taken this page’s place. '
            f'<a href="{up}../index.html">To the newest edition</a></p>'
        )
        text = path.read_text(encoding="utf-8")
        _put(path, text.replace(SUPERSEDED_PLACE, note, 1).encode())


def _shared_files() -> Iterable[tuple[str, bytes]]:
    import vl_convert

    yield from _styles()
    yield "charts.js", vl_convert.javascript_bundle().encode()  # type: ignore[call-arg]  # no snippet: the whole bundle


def _styles() -> Iterable[tuple[str, bytes]]:
    assets = files("reports") / "assets"
    yield "page.css", (css_tokens() + (assets / "page.css").read_text(encoding="utf-8")).encode()
    yield "page.js", (assets / "page.js").read_bytes()
    yield "mark.svg", (assets / "mark.svg").read_bytes()


def _put(path: Path, content: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.new")
    beside.write_bytes(content)
    beside.replace(path)
    return path


def _take_away_others(folder: Path, written: set[Path]) -> None:
    stale = [*folder.glob("*.html"), *folder.glob("members/*"), *folder.glob("pictures/*")]
    for path in stale:
        if path not in written:
            path.unlink()
