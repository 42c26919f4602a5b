"""Every picture of the shared pages as files for elsewhere: SVG and PNG in plain light colours."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from typing import TypeGuard
from xml.sax.saxutils import escape

from reports.frame import DRAFT
from reports.page import Block, ChartBlock, Download, DrawingBlock, Inline, Link, Page
from reports.render import every_block
from reports.theme import EXPORT_FONT, FONT, LIGHT, in_plain_colours

WIDTH_PX = 760
PNG_SCALE = 1.25
MARK_PX = 24


def picture_files(pages: Sequence[Page]) -> tuple[list[Download], frozenset[str]]:
    """Files for every picture of the pages in the month's own folder (member pages have none), and their names."""
    made: dict[str, list[Download]] = {}
    for page in pages:
        if page.depth:
            continue
        for block in every_block(page):
            if _offered(block) and block.name not in made:
                made[block.name] = _files(block, _mark(page))
    return [file for pair in made.values() for file in pair], frozenset(made)


def picture_list(pages: Sequence[Page]) -> list[tuple[Inline, ...]]:
    """One line per page that has pictures: each by name, as SVG and as PNG."""
    lines: list[tuple[Inline, ...]] = []
    seen: set[str] = set()
    for page in pages:
        pieces: list[Inline] = []
        for block in every_block(page):
            if page.depth or not _offered(block) or block.name in seen:
                continue
            seen.add(block.name)
            links: tuple[Inline, ...] = (
                Link(f"{block.name}.svg", f"pictures/{block.name}.svg", True),
                " ",
                Link("PNG", f"pictures/{block.name}.png", True),
            )
            pieces += ["; " if pieces else f"{page.title.split(' · ')[0]}: ", *links]
        if pieces:
            lines.append(tuple(pieces))
    return lines


def _offered(block: Block) -> TypeGuard[ChartBlock | DrawingBlock]:
    return isinstance(block, ChartBlock) or (isinstance(block, DrawingBlock) and block.offered)


def _mark(page: Page) -> str:
    """What a picture says of itself where it lies alone: the marks of its page, the pool and the month."""
    # a draft's mark goes by a swap of words once it is published, and a picture is no text: it carries the others
    lasting = (banner for banner in page.banners if banner != DRAFT)
    return ". ".join([*lasting, page.title.split(" · ")[-1]])


def _files(block: ChartBlock | DrawingBlock, mark: str) -> list[Download]:
    import vl_convert

    svg = marked(_chart_svg(block) if isinstance(block, ChartBlock) else _drawing_svg(block), mark)
    png = vl_convert.svg_to_png(svg, scale=PNG_SCALE)
    return [Download(f"pictures/{block.name}.svg", svg.encode()), Download(f"pictures/{block.name}.png", png)]


def marked(svg: str, mark: str) -> str:
    """The drawing with a line of words below it, in a frame as much higher; long marks are shrunk to its width."""
    opening, rest = svg.split(">", 1)
    across, down, width, height = map(float, opening.split('viewBox="')[1].split('"')[0].split())
    taller = height + MARK_PX
    opening = re.sub(r'viewBox="[^"]*"', f'viewBox="{across:g} {down:g} {width:g} {taller:g}"', opening)
    opening = re.sub(r' height="[^"]*"', f' height="{taller:g}"', opening)
    size = min(13.0, 1.9 * width / max(1, len(mark)))
    words = (
        f'<rect x="{across:g}" y="{down + height:g}" width="{width:g}" height="{MARK_PX}" fill="{LIGHT["cautionwash"]}"/>'
        f'<text x="{across + 6:g}" y="{down + height + 16:g}" font-size="{size:.4g}" font-family="{EXPORT_FONT}" '
        f'fill="{LIGHT["caution"]}">{escape(mark)}</text>'
    )
    return f"{opening}>{rest.rsplit('</svg>', 1)[0]}{words}</svg>"


def _chart_svg(block: ChartBlock) -> str:
    import vl_convert

    text = in_plain_colours(json.dumps(block.spec)).replace(FONT, EXPORT_FONT)
    spec = json.loads(text)
    spec["width"] = WIDTH_PX
    spec["background"] = LIGHT["paper"]
    spec["padding"] = 16
    return _numbered_afresh(vl_convert.vegalite_to_svg(spec))


def _numbered_afresh(svg: str) -> str:
    """The drawing with its inner marks counted from 1: the drawer counts on from picture to picture."""
    seen: dict[str, str] = {}
    return re.sub(
        r"\b(clip|gradient_)\d+", lambda found: seen.setdefault(found[0], f"{found[1]}{len(seen) + 1}"), svg
    )


def _drawing_svg(block: DrawingBlock) -> str:
    svg = in_plain_colours(block.wide or block.svg)
    opening, rest = svg.split(">", 1)
    background = f'<rect width="100%" height="100%" fill="{LIGHT["paper"]}"/>'
    view_box = opening.split('viewBox="')[1].split('"')[0].split()
    size = f' width="{view_box[2]}" height="{view_box[3]}" font-family="{EXPORT_FONT}"'
    return f"{opening}{size}>{background}{rest}"
