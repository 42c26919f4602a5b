"""A little SVG: elements built as a tree, so that every text and attribute is escaped by construction."""

from __future__ import annotations

from xml.etree import ElementTree


class Drawing:
    """An SVG of fixed inner size that scales with its column; `described` becomes its text alternative."""

    def __init__(self, width: float, height: float, described: str) -> None:
        self.root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {width:g} {height:g}",
                "role": "img",
                "aria-label": described,
            },
        )
        self.width, self.height = width, height

    def add(self, kind: str, text: str = "", /, **attributes: float | str) -> None:
        """One element; underscores in attribute names stand for hyphens."""
        named = {
            name.rstrip("_").replace("_", "-"): f"{value:.2f}".rstrip("0").rstrip(".")
            if isinstance(value, float)
            else str(value)
            for name, value in attributes.items()
        }
        ElementTree.SubElement(self.root, kind, named).text = text or None

    def words(self, x: float, y: float, text: str, **attributes: float | str) -> None:
        """A line of text in the page's ink unless `fill` says otherwise."""
        style: dict[str, float | str] = {"x": x, "y": y, "fill": "var(--ink)", "font_size": 13, **attributes}
        self.add("text", text, **style)

    def as_svg(self) -> str:
        """The finished element as text."""
        return ElementTree.tostring(self.root, encoding="unicode", short_empty_elements=True)
