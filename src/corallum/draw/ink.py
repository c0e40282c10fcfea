"""The ink of the drawings: lines of four weights and solid shapes on a square of 100.

A drawing is a tuple of marks, which keep the part they stand for (``"wall"``,
``"septum"``), so that its geometry can be read back. It is written as SVG in one
colour, that of the text around it; no letter, number or shade is drawn. A line of the
finest pen is .7 pixel wide at 64 pixels.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import quoteattr

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "BOLD",
    "FINE",
    "LINE",
    "SIDE",
    "SOLID",
    "Disc",
    "Mark",
    "Marks",
    "Points",
    "Stroke",
    "extent",
    "parts",
    "stroke",
    "svg",
]

Points = NDArray[np.float64]

SIDE = 100.0
# Pens: width of the line in units of the square; a solid has none.
BOLD, LINE, FINE, SOLID = 3.0, 1.8, 1.1, 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """A line or, where closed or solid, an outline; ``points`` is (n, 2), y downwards."""

    points: Points
    pen: float = LINE
    closed: bool = False
    part: str = ""


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle, of a line or solid."""

    x: float
    y: float
    r: float
    pen: float = LINE
    part: str = ""


Mark = Stroke | Disc
Marks = tuple[Mark, ...]


def stroke(
    points: Sequence[Sequence[float]] | Points,
    pen: float = LINE,
    part: str = "",
    *,
    closed: bool = False,
) -> Stroke:
    """Draw through points (n, 2)."""
    return Stroke(np.asarray(points, dtype=float), pen, closed or pen == SOLID, part)


def parts(marks: Iterable[Mark], part: str) -> Marks:
    """Return the marks that stand for one part."""
    return tuple(mark for mark in marks if mark.part == part)


def extent(marks: Iterable[Mark]) -> tuple[float, float]:
    """Return the least and greatest coordinate that any ink reaches."""
    low, high = SIDE, 0.0
    for mark in marks:
        reach = mark.pen / 2
        if isinstance(mark, Disc):
            reach += mark.r
            coordinates = np.array([mark.x, mark.y])
        else:
            coordinates = mark.points
        low = min(low, float(coordinates.min()) - reach)
        high = max(high, float(coordinates.max()) + reach)
    return low, high


def svg(marks: Iterable[Mark], text: str, *, alone: bool = True) -> str:
    """Write marks as one SVG picture with a text alternative.

    Parameters
    ----------
    marks : iterable of Mark
        What is drawn.
    text : str
        The text alternative.
    alone : bool
        Whether it is a file by itself, which must name its vocabulary; within a page
        it need not.

    Returns
    -------
    str
        One line of SVG, with one path to a pen or width of dot.
    """
    by_pen: dict[float, list[str]] = {}
    for mark in marks:
        if isinstance(mark, Disc) and mark.pen == SOLID:
            # A dot is the round cap of a line without length.
            dot = f"M{_number(mark.x)} {_number(mark.y)}h0"
            by_pen.setdefault(round(2 * mark.r, 1), []).append(dot)
        elif path := _disc(mark) if isinstance(mark, Disc) else _path(mark):
            by_pen.setdefault(mark.pen, []).append(path)
    paths = []
    for pen, written in sorted(by_pen.items()):
        look = 'fill="currentColor" stroke="none"' if pen == SOLID else f'stroke-width="{pen:g}"'
        paths.append(f'<path {look} d="{"".join(written)}"/>')
    vocabulary = ' xmlns="http://www.w3.org/2000/svg"' if alone else ""
    return (
        f'<svg{vocabulary} viewBox="0 0 100 100" role="img" aria-label={quoteattr(text)} '
        'fill="none" stroke="currentColor" stroke-linecap="round" stroke-linejoin="round">'
        f"{''.join(paths)}</svg>"
    )


def _number(value: float) -> str:
    """Write a coordinate to a tenth of a unit, which is .4 pixel at 400 pixels."""
    text = f"{round(value, 1):g}"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def _disc(mark: Disc) -> str:
    """Write a circle as two arcs."""
    r, d = _number(mark.r), _number(2 * mark.r)
    start = f"M{_number(mark.x - mark.r)} {_number(mark.y)}"
    return f"{start}a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0-{d} 0z"


def _path(mark: Stroke) -> str:
    """Write a line in steps from point to point, each rounded so that none adds up."""
    points = np.round(_simple(mark.points), 1)
    if len(points) < 2:
        return ""
    steps = np.diff(points, axis=0)
    text = f"M{_number(points[0, 0])} {_number(points[0, 1])}l"
    for i, (dx, dy) in enumerate(steps):
        for j, value in enumerate((dx, dy)):
            number = _number(float(value))
            text += number if number.startswith("-") or (i == 0 and j == 0) else f" {number}"
    return text + ("z" if mark.closed else "")


def _simple(points: Points, tolerance: float = 0.12) -> Points:
    """Drop points nearer than ``tolerance`` to the line without them (Douglas, Peucker 1973)."""
    if len(points) < 3:
        return points
    start, end = points[0], points[-1]
    along = end - start
    length = float(np.hypot(*along))
    apart = points - start
    if length < 1e-9:
        distance = np.hypot(apart[:, 0], apart[:, 1])
    else:
        distance = np.abs(along[0] * apart[:, 1] - along[1] * apart[:, 0]) / length
    middle = int(np.argmax(distance))
    if distance[middle] <= tolerance or middle in (0, len(points) - 1):
        return np.array([start, end])
    return np.vstack(
        (_simple(points[: middle + 1], tolerance)[:-1], _simple(points[middle:], tolerance))
    )
