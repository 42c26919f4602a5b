"""A page as a value: blocks in order, made of plain text, so that a test can look at it before it is HTML."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Strong:
    """Words set strong inside a sentence."""

    text: str


@dataclass(frozen=True)
class Link:
    """Words that lead to another page of the month or a file of it."""

    text: str
    href: str
    download: bool = False


@dataclass(frozen=True)
class Gloss:
    """A term with its plain meaning, shown in the line itself."""

    term: str
    meaning: str


@dataclass(frozen=True)
class Minutes:
    """A drain time of the standard pot, in minutes; the page's script restates it for the reader's own pot."""

    minutes: float
    text: str


@dataclass(frozen=True)
class Mini:
    """A picture as small as a word; `text` says what it shows."""

    svg: str
    text: str


Source = tuple[str | float, ...]
Specification = dict[str, Any]
"""A Vega-Lite specification, as Altair gives it and the page's script takes it: its grammar is theirs, not ours."""
Inline = str | Strong | Link | Gloss | Minutes | Mini


@dataclass(frozen=True)
class Say:
    """A paragraph. `tone`: plain, lead, small, caution, note."""

    line: tuple[Inline, ...]
    tone: str = "plain"


@dataclass(frozen=True)
class Items:
    """A list of sentences."""

    lines: tuple[tuple[Inline, ...], ...]
    tone: str = "plain"


@dataclass(frozen=True)
class Cell:
    """A table cell: its text. `source`: the way to its figure in `results.json`, where it prints one as it stands
    there: keys in order, and for a list of shares the share itself."""

    line: tuple[Inline, ...]
    mark: str = ""
    source: Source = ()


@dataclass(frozen=True)
class TableBlock:
    """A table; the first column names its row. `numeric` lists columns (from 0) set as figures. `stays`: few and
    short enough columns to stay side by side on a phone."""

    caption: str
    headings: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    numeric: frozenset[int] = frozenset()
    note: str = ""
    stays: bool = False


@dataclass(frozen=True)
class ChartBlock:
    """A drawn chart: a name for its files, a text alternative, the specification, the table behind it."""

    name: str
    description: str
    spec: Specification
    table: TableBlock | None
    caption: str = ""
    min_height_px: int = 300
    bare: bool = False


@dataclass(frozen=True)
class DrawingBlock:
    """A picture drawn by us as SVG, with its text alternative. `wide`: the same for a wide column. `lines`: holds thin
    lines that are shown on request. `offered`: also as a file. `bare`: no way to the file straight below it."""

    name: str
    description: str
    svg: str
    table: TableBlock | None = None
    caption: str = ""
    offered: bool = True
    bare: bool = False
    wide: str | None = None
    lines: bool = False


@dataclass(frozen=True)
class Folded:
    """Blocks behind a line that opens them."""

    summary: str
    blocks: tuple[Block, ...]
    anchor: str = ""


@dataclass(frozen=True)
class Card:
    """A titled group of blocks set beside its likes."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Cards:
    """Cards side by side where there is room."""

    cards: tuple[Card, ...]


@dataclass(frozen=True)
class Chooser:
    """Drop-down choices; the panel whose key matches the chosen values is shown, else `missing`."""

    name: str
    labels: tuple[str, ...]
    options: tuple[tuple[tuple[str, str], ...], ...]
    panels: tuple[tuple[str, tuple[Block, ...]], ...]
    missing: str


@dataclass(frozen=True)
class PotForm:
    """Inside width, depth and water poured, typed once and kept in the reader's browser."""

    standard_area_cm2: float
    standard_collected_ml: float
    says: str


Block = Say | Items | TableBlock | ChartBlock | DrawingBlock | Folded | Cards | Chooser | PotForm


@dataclass(frozen=True)
class Section:
    """A question in the margin and its answer. `paper`: kept when the page is printed."""

    question: str
    blocks: tuple[Block, ...]
    anchor: str
    paper: bool = True


@dataclass(frozen=True)
class Download:
    """A file that goes with a page."""

    path: str
    content: bytes


@dataclass(frozen=True)
class Page:
    """One HTML page. `path` is relative to the month's folder; `headline` is its finding. `one_sheet`:
    prints on two A4 sides. `standing`: how new the finding is, beside the title."""

    path: str
    title: str
    headline: tuple[Inline, ...]
    under_headline: tuple[Inline, ...]
    sections: tuple[Section, ...]
    banners: tuple[str, ...] = ()
    opening: tuple[Block, ...] = ()
    nav: tuple[tuple[str, str], ...] = ()
    foot: tuple[Inline, ...] = ()
    one_sheet: bool = False
    standing: str = ""
    language: str = "en"
    downloads: tuple[Download, ...] = field(default=(), repr=False)

    @property
    def depth(self) -> int:
        """Folders between this page and the month's folder."""
        return self.path.count("/")


def say(*line: Inline, tone: str = "plain") -> Say:
    """A paragraph from its pieces."""
    return Say(line, tone)


def items(*lines: str | tuple[Inline, ...], tone: str = "plain") -> Items:
    """A list from plain sentences or pieces."""
    return Items(tuple((line,) if isinstance(line, str) else line for line in lines), tone)


def cell(*line: Inline, mark: str = "", source: Source = ()) -> Cell:
    """A table cell from its pieces."""
    return Cell(line, mark, source)


def text_of(line: tuple[Inline, ...]) -> str:
    """A line as plain text, for tests, titles and feeds."""
    words = []
    for piece in line:
        match piece:
            case str():
                words.append(piece)
            case Gloss():
                words.append(f"{piece.term} ({piece.meaning})")
            case _:
                words.append(piece.text)
    return "".join(words)
