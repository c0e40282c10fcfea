"""The sheet that a plot is drawn on: marks and texts in, one SVG text out.

Nothing here names a colour or a font except the style that ``standalone`` adds: a plot in a
page takes them from the page's classes, dark or light. What differs, differs in shape,
filling, weight or dash as well.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import quoteattr, unescape

from corallum.draw.plots.axes import Axis
from corallum.draw.plots.text import LINE, clean, markup, sentence, wide, wrap

__all__ = ["NARROW", "SHAPES", "WIDE", "Sheet", "empty_plot", "shape_path", "spoken", "standalone"]

NARROW = 340
WIDE = 680
EDGE = 6.0  # nothing is drawn nearer to the edge of the sheet

# Corners of each shape about its centre, for an area of pi, that of a circle of radius 1.
SHAPES = ("circle", "square", "triangle", "diamond", "hexagon", "cross")

_LABEL = re.compile(r"aria-label=(\"[^\"]*\"|'[^']*')")

_STYLE = """
.ground { fill: #fff; }
.plot text { fill: #111; font: 13.5px "DejaVu Sans", Verdana, sans-serif; }
.plot .soft { fill: #444; } .plot .genus { font-style: italic; }
.plot .grid { stroke: #ddd; stroke-width: 1; } .plot .axis { stroke: #111; stroke-width: 1; }
.plot .zero { stroke: #111; stroke-width: 1.75; }
.plot .thin { stroke: #555; stroke-width: 1.75; }
.plot .thick { stroke: #7a2e4d; stroke-width: 4.5; }
.plot .open { fill: #fff; stroke: #555; stroke-width: 2; }
.plot .full { fill: #7a2e4d; stroke: #fff; stroke-width: 1.5; }
.plot .block { fill: #f3e6ea; stroke: #7a2e4d; stroke-width: 1.5; }
.plot .band { fill: #7a2e4d; fill-opacity: .16; stroke: none; }
.plot .curve { fill: none; stroke: #7a2e4d; stroke-width: 2.75; stroke-linejoin: round; }
.plot .wanted { stroke: #111; stroke-width: 1.5; stroke-dasharray: 10 3 2 3; }
.plot .lead { fill: none; stroke: #555; stroke-width: 1; }
.plot .place { fill: #7a2e4d; fill-opacity: .3; stroke: #7a2e4d; stroke-width: 2; }
.plot .bare { fill: none; stroke: #555; stroke-width: 2; }
.plot .frame { fill: none; stroke: #111; stroke-width: 1; } .plot .hit { fill: transparent; }
.plot .solid { fill: #111; stroke: none; }
.plot .piece { fill: #fff; stroke: #111; stroke-width: 1.5; }
.plot .hatch { stroke: #7a2e4d; stroke-width: 1.75; } .plot .dust { fill: #7a2e4d; }
.plot .dash1 { stroke-dasharray: 9 4; } .plot .dash2 { stroke-dasharray: 2 4; }
.plot .dash3 { stroke-dasharray: 9 3 2 3; } .plot .dash4 { stroke-dasharray: 16 4; }
.plot .dash5 { stroke-dasharray: 5 2; }
"""


def _n(value: float) -> str:
    """Write a coordinate to a hundredth of a unit."""
    return f"{round(value, 2) + 0.0:g}" if abs(value) < 1e5 else f"{value:.0f}"


@dataclass(slots=True)
class Sheet:
    """A plot being drawn, ``width`` units wide; its height is told when it is closed."""

    width: int
    _marks: list[str] = field(default_factory=list)

    @property
    def slim(self) -> bool:
        """Whether it is laid out for a phone."""
        return self.width < (NARROW + WIDE) / 2

    def line(self, start: tuple[float, float], end: tuple[float, float], kind: str) -> None:
        """Draw a line from (x, y) to (x, y)."""
        self._marks.append(
            f'<line class="{kind}" x1="{_n(start[0])}" y1="{_n(start[1])}" '
            f'x2="{_n(end[0])}" y2="{_n(end[1])}"/>'
        )

    def box(self, left: float, top: float, size: tuple[float, float], kind: str) -> None:
        """Draw a rectangle of a (width, height)."""
        self._marks.append(
            f'<rect class="{kind}" x="{_n(left)}" y="{_n(top)}" '
            f'width="{_n(max(0.0, size[0]))}" height="{_n(max(0.0, size[1]))}"/>'
        )

    def path(
        self, points: Sequence[tuple[float, float]], kind: str, *, closed: bool = False
    ) -> None:
        """Draw through points (x, y)."""
        name = "polygon" if closed else "polyline"
        written = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        self._marks.append(f'<{name} class="{kind}" points="{written}"/>')

    def shape(self, centre: tuple[float, float], radius: float, look: str) -> None:
        """Draw a mark: ``look`` is its class and, after a space, its shape."""
        kind, _, shape = look.partition(" ")
        if shape in ("", "circle"):
            self._marks.append(
                f'<circle class="{kind}" cx="{_n(centre[0])}" cy="{_n(centre[1])}" '
                f'r="{_n(radius)}"/>'
            )
        else:
            self.path(shape_path(shape, centre, radius), kind, closed=True)

    def text(
        self, at: tuple[float, float], text: str, anchor: str = "start", kind: str = ""
    ) -> None:
        """Write a text on the base line at (x, y); ``kind`` "genus" writes it in italics."""
        if not clean(text):
            return
        genus = "genus" in kind.split()
        look = " ".join(word for word in kind.split() if word != "genus")
        look = f' class="{look}"' if look else ""
        place = f' text-anchor="{anchor}"' if anchor != "start" else ""
        self._marks.append(
            f'<text{look} x="{_n(at[0])}" y="{_n(at[1])}"{place}>{markup(text, genus=genus)}</text>'
        )

    def group(self, href: str | None, title: str) -> None:
        """Begin marks that belong together and say what they are; with a link, it leads there."""
        tag = f"<a href={quoteattr(href)}>" if href else "<g>"
        self._marks.append(f"{tag}<title>{markup(title)}</title>")

    def end_group(self, href: str | None) -> None:
        """End what ``group`` began with the same link."""
        self._marks.append("</a>" if href else "</g>")

    def heading(self, text: str, top: float = 0.0) -> float:
        """Write what is plotted, in as many lines as it needs; return where it ends."""
        for line in wrap(text, self.width - 2 * EDGE):
            top += LINE
            self.text((EDGE, top - 4), line)
        return top

    def key(self, items: Sequence[tuple[str, str]], top: float) -> float:
        """Write a key of (mark, text), mark as in ``_sample``; return where it ends."""
        x, y = EDGE, top + LINE - 4
        for mark, text in items:
            lines = wrap(text, self.width - 2 * EDGE - 40) or ["unnamed"]
            widest = max(map(wide, lines))
            if x > EDGE and x + 36 + widest > self.width - EDGE:
                x, y = EDGE, y + LINE + 2
            self._sample(mark, x, y - 4.5)
            for k, line in enumerate(lines):
                y += LINE if k else 0.0
                self.text((x + 36, y), line)
            x += 36 + widest + 18
        return y + 6

    def _sample(self, mark: str, x: float, y: float) -> None:
        """Draw a mark of the key, 30 wide: a line's classes, "/", a mark's look."""
        line, _, look = mark.partition("/")
        if line == "band":
            self.box(x, y - 6, (30, 12), line)
        elif line:
            self.line((x, y), (x + 30, y), line)
        if look:
            self.shape((x + 15, y), 5.5, look)

    def rungs(self, axis: Axis, left: float, right: float) -> None:
        """Draw the lines of an upright axis and its ticks' texts to the left of them."""
        for y, text in axis.places():
            self.line((left, y), (right, y), "grid")
            self.text((left - 6, y + 4.5), text, "end", "soft")

    def close(self, height: float, parts: Sequence[str]) -> str:
        """Return the plot; ``parts`` is what it tells, for who can't see it."""
        layout = "slim" if self.slim else "broad"
        # An image hides what is in it from who can't see it: links must not be hidden.
        role = "group" if any(mark.startswith("<a ") for mark in self._marks) else "img"
        return (
            f'<svg class="plot {layout}" viewBox="0 0 {self.width} {_n(math.ceil(height))}" '
            f'role="{role}" aria-label={quoteattr(sentence(parts))}>'
            f'<g class="survey">{"".join(self._marks)}</g></svg>'
        )


def shape_path(shape: str, centre: tuple[float, float], radius: float) -> list[tuple[float, float]]:
    """Return a shape's corners; its area is that of a circle of the radius.

    Parameters
    ----------
    shape : str
        One of ``SHAPES`` except the circle; any other is drawn as a square.
    centre : tuple of float
        Its middle, (x, y).
    radius : float
        Of the circle of the same area.

    Returns
    -------
    list of (float, float)
        Its corners in turn.
    """
    x, y = centre
    if shape == "cross":
        # Twelve corners of a plus of five equal squares: 5 a^2 = pi r^2.
        a = radius * math.sqrt(math.pi / 5)
        h, b = a / 2, 1.5 * a
        steps = [(-h, -b), (h, -b), (h, -h), (b, -h), (b, h), (h, h)]
        return [(x + s * i, y + s * j) for s in (1, -1) for i, j in steps]
    sides, turn = {"triangle": (3, -90), "diamond": (4, -90), "hexagon": (6, 0)}.get(
        shape, (4, -45)
    )
    # A regular polygon of n corners at distance d has the area n d^2 sin(2 pi / n) / 2.
    d = radius * math.sqrt(2 * math.pi / (sides * math.sin(2 * math.pi / sides)))
    angles = [math.radians(turn + 360 * k / sides) for k in range(sides)]
    return [(x + d * math.cos(a), y + d * math.sin(a)) for a in angles]


def empty_plot(what: str, width: int = NARROW, why: str = "No data yet.") -> str:
    """Return a small plot that says that there is nothing to plot, and why."""
    sheet = Sheet(width)
    bottom = sheet.heading(what, 2)
    for line in wrap(why, width - 2 * EDGE):
        bottom += LINE
        sheet.text((EDGE, bottom), line, kind="soft")
    return sheet.close(bottom + 10, (what, why))


def spoken(svg: str) -> str:
    """Return what a plot tells in words, for who can't see it.

    Parameters
    ----------
    svg : str
        A plot as any function of this package returns it.

    Returns
    -------
    str
        Its label, plain.
    """
    head = svg.partition(">")[0]
    found = _LABEL.search(head)
    if found is None:
        return ""
    return unescape(found[1][1:-1], {"&quot;": '"', "&#10;": " ", "&#13;": " ", "&#9;": " "})


def standalone(svg: str) -> str:
    """Return a plot as a file of its own, with its style and on white, to print or to keep.

    Parameters
    ----------
    svg : str
        A plot as any function of this package returns it.

    Returns
    -------
    str
        SVG that needs no page around it.
    """
    head, _, body = svg.partition(">")
    if " xmlns=" not in head:
        head = head.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1)
    ground = '<rect class="ground" width="100%" height="100%"/>'
    return f"{head}><style>{_STYLE}</style>{ground}{body}"
