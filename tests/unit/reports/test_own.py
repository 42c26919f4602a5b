"""What a reader gets for themselves: what their tests weigh, their series in minutes, their part of the pool drawn."""

from __future__ import annotations

from xml.etree import ElementTree

from reports.charts.part_drawing import PartShare, part_axes, part_drawing
from reports.page import Chooser, DrawingBlock, Link, Minutes, PotForm, TableBlock
from reports.pages.depends.own_part import part_shares
from reports.pictures import picture_files, picture_list
from reports.render import every_block
from reports.steps import listed_page, member_pages
from schemas.trade.levels import ANY, OWN_PART, own_part_level
from tests.unit.reports.invented_month import invented_view

SVG = "{http://www.w3.org/2000/svg}"


def test_a_growers_page_speaks_in_minutes_that_can_be_restated() -> None:
    page = member_pages(invented_view(30))[0]
    blocks = list(every_block(page))
    assert any(isinstance(block, PotForm) for block in blocks)
    timed = [
        piece
        for block in blocks
        if isinstance(block, TableBlock)
        for row in block.rows
        for one in row
        for piece in one.line
        if isinstance(piece, Minutes)
    ]
    assert timed and all(piece.minutes > 0 for piece in timed)


def test_everyones_part_is_drawn_one_dot_a_grower_and_share() -> None:
    view = invented_view(30)
    frame = view.levelled_of("perlite")
    shares = part_shares(view.levels_of("perlite", OWN_PART).of(own_part_level(ANY, ANY)))
    drawn = part_drawing("own", "Any climate, any pot", shares, (), part_axes(shares))
    assert _dots(ElementTree.fromstring(drawn.svg)) == frame.select("member", "component_share").n_unique()  # noqa: S314 - our own drawing
    assert f"{len(shares[0].growers)} growers" in drawn.description


def _dots(drawn: ElementTree.Element) -> int:
    return sum((path.get("d") or "").count("M") for path in drawn.findall(f".//{SVG}path"))


def test_a_part_beside_everyone_keeps_the_axes_and_shows_their_line() -> None:
    everyone = [PartShare(20.0, (1.0, 1.4), 1.2, None), PartShare(40.0, (1.5, 3.2), 2.2, (1.8, 2.6))]
    part = [PartShare(40.0, (1.5,), None, None)]
    axes = part_axes(everyone)
    drawn = part_drawing("own", "Cfb <b>", part, everyone, axes)
    tree = ElementTree.fromstring(drawn.svg)  # noqa: S314 - our own drawing
    assert len(tree.findall(f".//{SVG}polyline")) == 1
    assert _dots(tree) == 1 and "<b>" not in drawn.svg
    assert axes.top == 3.5 and axes.shares == (20.0, 40.0)


def test_every_choice_with_enough_growers_is_drawn_and_in_minutes() -> None:
    page = listed_page(invented_view(30), "depends.html")
    chooser = next(block for block in every_block(page) if isinstance(block, Chooser))
    kinds = [tuple(type(block) for block in panel) for _, panel in chooser.panels]
    assert (DrawingBlock, TableBlock) in kinds
    names = [block.name for _, panel in chooser.panels for block in panel if isinstance(block, DrawingBlock)]
    assert len(names) == len(set(names))


def test_every_offered_picture_is_listed_once_with_both_files() -> None:
    view = invented_view(30)
    shared = [listed_page(view, "index.html"), listed_page(view, "depends.html")]
    lines = picture_list(shared)
    files, names = picture_files(shared)
    listed = {piece.href for line in lines for piece in line if isinstance(piece, Link)}
    assert [line[0] for line in lines] == ["How much is enough: ", "Where it depends: "]
    assert listed == {file.path for file in files} and len(files) == 2 * len(names)
