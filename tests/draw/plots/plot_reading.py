"""Reads a plot back: its marks, its texts and the room that they take."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from xml.etree import ElementTree as ET

from hypothesis import strategies as st

from corallum.draw.plots.text import FONT, wide

WIDTHS = st.sampled_from([340, 680])
VALUES = st.one_of(
    st.floats(-1e4, 1e4),
    st.sampled_from([math.nan, math.inf, -math.inf, 0.0, 1e-8, -1e11, 1e300, 12.5]),
)
LABELS = st.one_of(
    st.sampled_from(["Acropora", "Porites", "Paragoniastrea", "a <b> & \"c\" 'd'", "", "]]>"]),
    st.text(max_size=45),
)
HOSTILE = "</text><script>alert(1)</script>&amp;\"'>\u202e\x00"


@dataclass(frozen=True)
class Reach:
    """The room that a mark or a text takes."""

    what: str
    left: float
    top: float
    right: float
    bottom: float


def read(svg: str) -> ET.Element:
    """The plot as a tree; it fails where it is not well formed."""
    return ET.fromstring(svg)  # noqa: S314 - our own text


def size(svg: str) -> tuple[float, float]:
    """The plot's width and height."""
    _, _, width, height = map(float, read(svg).attrib["viewBox"].split())
    return width, height


def of_class(svg: str, kind: str) -> list[ET.Element]:
    """All marks of a class, in the order in which they are drawn."""
    return [e for e in read(svg).iter() if kind in e.get("class", "").split()]


def number(element: ET.Element, name: str) -> float:
    """An attribute as a number."""
    return float(element.attrib[name])


def points(element: ET.Element) -> list[tuple[float, float]]:
    """Corners of a line or of a polygon."""
    pairs = (pair.split(",") for pair in element.attrib["points"].split())
    return [(float(x), float(y)) for x, y in pairs]


def written(element: ET.Element) -> str:
    """A text with that of its spans."""
    return "".join(element.itertext())


def texts(svg: str) -> list[str]:
    """All texts to be read."""
    return [written(e) for e in read(svg).iter("text")]


def text_at(svg: str, text: str) -> tuple[float, float]:
    """Where a text's base line begins, ends or has its middle."""
    found = [e for e in read(svg).iter("text") if written(e) == text]
    assert len(found) == 1, (text, texts(svg))
    return number(found[0], "x"), number(found[0], "y")


def text_reaches(svg: str) -> list[Reach]:
    """The room that each text takes; heights above and below the base line of DejaVu Sans."""
    reaches = []
    for element in read(svg).iter("text"):
        text, x, y = written(element), number(element, "x"), number(element, "y")
        broad = wide(text)
        left = (
            x
            - {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")] * broad
        )
        reaches.append(Reach(text, left, y - 0.76 * FONT, left + broad, y + 0.24 * FONT))
    return reaches


def mark_reaches(svg: str) -> list[Reach]:
    """The room that each mark takes."""
    reaches = []
    for e in read(svg).iter():
        if e.tag == "circle":
            x, y, r = (number(e, name) for name in ("cx", "cy", "r"))
            reaches.append(Reach("circle", x - r, y - r, x + r, y + r))
        elif e.tag == "rect":
            x, y = number(e, "x"), number(e, "y")
            far = x + number(e, "width"), y + number(e, "height")
            reaches.append(Reach("rect", x, y, *far))
        elif e.tag in ("line", "polyline", "polygon"):
            if e.tag == "line":
                corners = [(number(e, f"x{k}"), number(e, f"y{k}")) for k in (1, 2)]
            else:
                corners = points(e)
            xs, ys = zip(*corners, strict=True)
            reaches.append(Reach(e.tag, min(xs), min(ys), max(xs), max(ys)))
    return reaches


def assert_legible(svg: str) -> None:
    """All ink and text lies on the sheet, and no two texts overlap."""
    width, height = size(svg)
    for reach in mark_reaches(svg) + text_reaches(svg):
        assert reach.left >= 0, reach
        assert reach.top >= 0, reach
        assert reach.right <= width, reach
        assert reach.bottom <= height, reach
    for a, b in combinations(text_reaches(svg), 2):
        apart = a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top
        assert apart, (a, b)
