"""The index over months: the answer of each, newest first, and the same as a feed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import NAMESPACE_URL, uuid5
from xml.etree import ElementTree

from reports.answer import answers
from reports.club import club_settings
from reports.frame import INVENTED
from reports.headline import claim
from reports.page import Block, Inline, Link, Page, Section, TableBlock, cell, say
from reports.words import month_name, received_up_to, who
from schemas.results.whole import ResultsValue

ATOM = "http://www.w3.org/2005/Atom"


@dataclass(frozen=True)
class MonthEntry:
    """One month of the index as its readers see it: its `results.json` value, whether that is still a draft, and its
    folder where that is not the month's own (a newer edition is still a draft)."""

    results: ResultsValue
    draft: bool = False
    folder: str = ""

    @property
    def address(self) -> str:
        """Its front page, from the index."""
        return f"{self.folder or self.results['month']}/index.html"

    @property
    def sentence(self) -> str:
        """The month's answer in one or two sentences."""
        known = answers(self.results)
        if not known:
            return "No answer yet: nothing to compare."
        return claim(known[0], self.results)

    @property
    def state(self) -> str:
        """Draft, open, or published with its edition."""
        if self.results.get("open"):
            return "open"
        return "draft" if self.draft else f"edition {self.results['edition']}"


def months_page(entries: Sequence[MonthEntry]) -> Page:
    """`index.html` over all months, whichever order they come in."""
    newest_first = sorted(entries, key=lambda entry: str(entry.results["month"]), reverse=True)
    name = _pool_name(newest_first)
    rows = []
    for entry in newest_first:
        month, counts = str(entry.results["month"]), entry.results["counts"]
        link = Link(month_name(month), entry.address)
        people = who(counts["members"], counts["series"], counts["runs"])
        rows.append((cell(link), cell(entry.sentence), cell(people), cell(*_state(entry))))
    table = TableBlock("Every month, newest first", ("month", "answer", "who", "state"), tuple(rows))
    blocks: tuple[Block, ...] = (
        table,
        say(Link("Feed of published months (Atom)", "feed.xml"), tone="small"),
    )
    newest = newest_first[0] if newest_first else None
    return Page(
        path="index.html",
        title=f"All months · {name}",
        headline=(
            newest.sentence.split(". ")[0].rstrip(".") + "." if newest else "No month has been made yet.",
        ),
        under_headline=(f"{month_name(str(newest.results['month']))}, the newest month.",) if newest else (),
        sections=(Section("What did each month say?", blocks, "months"),),
        banners=(INVENTED,) if any(entry.results.get("invented") for entry in entries) else (),
        foot=(f"{name}.",),
    )


def _state(entry: MonthEntry) -> list[Inline]:
    """The newest edition's state, and the way to those before it."""
    month, edition = entry.results["month"], int(entry.results["edition"])
    older = [
        Link(f"edition {number}", f"{month}/edition-{number}/index.html")
        for number in range(edition - 1, 0, -1)
    ]
    return [entry.state, *(piece for link in older for piece in ("; before: ", link))]


def feed_id(name: str, *below: str) -> str:
    """A lasting name for a pool's feed, or for one of its entries: the same for as long as the pool keeps its name."""
    return f"urn:uuid:{uuid5(NAMESPACE_URL, ':'.join(('drainpool', name, *below)))}"


def atom_feed(entries: Sequence[MonthEntry]) -> bytes:
    """Published months as an Atom feed (RFC 4287); drafts and open months are not in it."""
    published = [entry for entry in entries if not entry.draft and not entry.results.get("open")]
    published.sort(key=lambda entry: str(entry.results["month"]), reverse=True)
    ElementTree.register_namespace("", ATOM)
    feed = ElementTree.Element(f"{{{ATOM}}}feed")
    name = _pool_name(published)
    _add(feed, "id", feed_id(name))
    _add(feed, "title", name)
    _add(
        feed,
        "updated",
        max((str(entry.results["as_of"]) for entry in published), default="1980-01-01T00:00:00Z"),
    )
    _add(_add(feed, "author", ""), "name", name)
    _add(feed, "link", "", rel="self", href="feed.xml")
    for entry in published:
        month, edition = str(entry.results["month"]), entry.results["edition"]
        summary = _add(feed, "entry", "")
        _add(summary, "id", feed_id(name, month, str(edition)))
        _add(
            summary, "title", f"{month_name(month)}, edition {edition}, up to {received_up_to(entry.results)}"
        )
        _add(summary, "updated", str(entry.results["as_of"]))
        _add(summary, "link", "", rel="alternate", type="text/html", href=entry.address)
        marked = f"{INVENTED}. " if entry.results.get("invented") else ""
        _add(summary, "summary", marked + entry.sentence)
    return (
        f'<?xml version="1.0" encoding="utf-8"?>\n{ElementTree.tostring(feed, encoding="unicode")}\n'.encode()
    )


def _add(parent: ElementTree.Element, kind: str, text: str, **attributes: str) -> ElementTree.Element:
    made = ElementTree.SubElement(parent, f"{{{ATOM}}}{kind}", attributes)
    made.text = text or None
    return made


def _pool_name(entries: Sequence[MonthEntry]) -> str:
    return club_settings(entries[0].results).pool_name if entries else "The pool"
