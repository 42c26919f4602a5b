"""Looking at a picture as a reader's browser gets it: the data of each layer of a specification, the parts of an SVG."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree

from reports.answer import Redrawn, Share
from reports.page import Specification

SVG = "{http://www.w3.org/2000/svg}"


def layers(spec: Specification, mark: str, colour: str = "") -> list[list[dict[str, Any]]]:
    """The rows behind each layer drawn with this mark, in the order drawn; `colour`: of this token only."""
    return [
        spec["datasets"][layer["data"]["name"]]
        for layer in spec["layer"]
        if layer["mark"]["type"] == mark and (not colour or layer["mark"].get("color") == f"var(--{colour})")
    ]


def domain(spec: Specification, axis: str) -> list[float]:
    """Both ends of an axis; the same for every layer that has it."""
    ends = [
        layer["encoding"][axis]["scale"]["domain"]
        for layer in spec["layer"]
        if "scale" in layer["encoding"].get(axis, {})
    ]
    assert all(pair == ends[0] for pair in ends)
    first: list[float] = ends[0]
    return first


def svg(text: str) -> ElementTree.Element:
    """An SVG that we drew, parsed."""
    return ElementTree.fromstring(text)  # noqa: S314 - our own drawing


def parts(tree: ElementTree.Element, kind: str, **attributes: str) -> list[ElementTree.Element]:
    """The elements of one kind with these attributes."""
    wanted = {name.replace("_", "-"): value for name, value in attributes.items()}
    return [
        element
        for element in tree.iter(f"{SVG}{kind}")
        if all(element.get(name) == value for name, value in wanted.items())
    ]


def words(tree: ElementTree.Element) -> list[str]:
    """Every text of a drawing."""
    return [element.text or "" for element in tree.iter(f"{SVG}text")]


def share_of(share: float, ratio: float | None, spread: float = 0.2, **changes: Any) -> Share:
    """A share with ranges in proportion to its ratio: the average's within a third of a new grower's."""
    known = ratio is not None
    middle = ratio or 1.0
    ranges = {
        level: (middle * (1 - spread * level), middle * (1 + spread * level))
        for level in (0.95, 0.8, 0.65, 0.5, 0.3)
    }
    near = {level: (middle * (1 - spread * level / 3), middle * (1 + spread * level / 3)) for level in ranges}
    dots = tuple(middle * (1 + spread * (place - 9.5) / 10) for place in range(20))
    values: dict[str, Any] = {
        "share": share,
        "members": 9,
        "growers": 9,
        "series": 12,
        "verdict": "undecided" if known else "too_few",
        "ratio": ratio,
        "ci": near[0.95] if known else None,
        "new_series": ranges[0.95] if known else None,
        "p_faster": 0.9 if known else None,
        "p_clears": 0.7 if known else None,
        "p_faster_pot": 0.85 if known else None,
        "p_clears_pot": 0.65 if known else None,
        "df": 8.0,
        "why": "",
        "ran_dry": 0,
        "stopped": 0,
        "pots": 24,
        "repeatability_sd": 0.1,
        "redrawn": Redrawn(ranges, near, dots) if known else None,
    }
    return Share(**{**values, **changes})
