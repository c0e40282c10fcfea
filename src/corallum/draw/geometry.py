"""Shapes that the drawings are made of: curves, lattices, branches, and what hides what.

Everything is points (n, 2) on the square of 100 with y downwards; angles are in
degrees, clockwise from the right as they look. Unevenness comes from a fixed sequence
of irrational multiples, so a drawing is the same every time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from corallum.draw.ink import FINE, LINE, Points, Stroke, stroke

__all__ = [
    "arc",
    "capsule",
    "ellipse",
    "hatched",
    "hexagonal",
    "inside",
    "lattice_cells",
    "outline_of_all",
    "outside",
    "polar",
    "shaken",
    "smooth",
    "under",
    "wave",
    "within",
]

Flags = NDArray[np.bool_]

# Points as near as this to a mid-line lie on it.
_TIE = 1e-9
# Of the two-dimensional relative of the golden ratio.
_PLASTIC = 0.7548776662466927


def shaken(i: int) -> tuple[float, float]:
    """Return two numbers in -1..1 for the i-th thing, spread evenly over many."""
    return 2 * ((0.31 + i * _PLASTIC) % 1) - 1, 2 * ((0.17 + i * _PLASTIC**2) % 1) - 1


def polar(x: float, y: float, r: float, angle: float) -> tuple[float, float]:
    """Return the point at ``r`` and ``angle`` from (x, y)."""
    return x + r * math.cos(math.radians(angle)), y + r * math.sin(math.radians(angle))


def ellipse(x: float, y: float, a: float, b: float, tilt: float = 0.0) -> Points:
    """Return the outline of an ellipse of half axes ``a`` and ``b``, not repeating its start."""
    t = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    round_middle = _turned(np.column_stack((a * np.cos(t), b * np.sin(t))), tilt)
    around: Points = round_middle + np.array([x, y])
    return around


def arc(x: float, y: float, a: float, b: float, ends: tuple[float, float]) -> Points:
    """Return a part of an ellipse, between two angles."""
    t = np.radians(np.linspace(*ends, 33))
    return np.column_stack((x + a * np.cos(t), y + b * np.sin(t)))


def _turned(points: Points, angle: float) -> Points:
    """Turn about the origin."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    turned: Points = points @ np.array([[c, s], [-s, c]])
    return turned


def smooth(points: Sequence[Sequence[float]] | Points, *, closed: bool = False) -> Points:
    """Return a curve through points (Catmull and Rom 1974), eight steps to a piece."""
    p = np.asarray(points, dtype=float)
    p = np.vstack((p[-1:], p, p[:2])) if closed else np.vstack((p[:1], p, p[-1:]))
    t = np.linspace(0, 1, 8, endpoint=False)[:, None]
    pieces = []
    for i in range(1, len(p) - 2):
        a, b, c, d = p[i - 1 : i + 3]
        pieces.append(
            0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2)
            + 0.5 * (3 * b - a - 3 * c + d) * t**3
        )
    return np.vstack(pieces) if closed else np.vstack((*pieces, p[-2:-1]))


def wave(x: tuple[float, float], height: Callable[[Points], Points], n: int = 161) -> Points:
    """Return the graph of a height (y upwards positive is up the page) between two x."""
    across = np.linspace(*x, n)
    return np.column_stack((across, height(across)))


def capsule(a: tuple[float, float], b: tuple[float, float], r: float, r_end: float) -> Points:
    """Return the outline of a branch from ``a`` to ``b`` with round ends."""
    angle = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    return np.vstack(
        (arc(*b, r_end, r_end, (angle - 90, angle + 90)), arc(*a, r, r, (angle + 90, angle + 270)))
    )


def _dense(points: Points, *, closed: bool, step: float = 0.4) -> Points:
    """Return points along a line at most ``step`` apart."""
    p = np.vstack((points, points[:1])) if closed else points
    pieces = []
    for a, b in pairwise(p):
        n = max(1, math.ceil(float(np.hypot(*(b - a))) / step))
        pieces.append(a + (b - a) * np.linspace(0, 1, n, endpoint=False)[:, None])
    return np.vstack((*pieces, p[-1:]))


def inside(points: Points, outline: Points) -> Flags:
    """Return for each point whether it lies within an outline (n,), by crossings of a ray."""
    x, y = points[:, 0][:, None], points[:, 1][:, None]
    ax, ay = outline[:, 0], outline[:, 1]
    bx, by = np.roll(ax, -1), np.roll(ay, -1)
    crosses = (ay > y) != (by > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = ax + (y - ay) * (bx - ax) / (by - ay)
    found: Flags = (np.count_nonzero(crosses & (x < at), axis=1) % 2) == 1
    return found


def _runs(mark: Stroke, keep: Flags, points: Points) -> list[Stroke]:
    """Return the pieces of a line whose points are kept."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], keep, [False])).astype(int)))
    pieces = [points[a:b] for a, b in zip(edges[::2], edges[1::2], strict=True)]
    if mark.closed and len(pieces) > 1 and keep[0] and keep[-1]:
        pieces = [np.vstack((pieces[-1], pieces[0])), *pieces[1:-1]]
    return [Stroke(piece, mark.pen, part=mark.part) for piece in pieces if len(piece) > 1]


def outside(marks: Iterable[Stroke], outlines: Sequence[Points]) -> list[Stroke]:
    """Return the pieces of lines that no outline hides."""
    left: list[Stroke] = []
    for mark in marks:
        points = _dense(mark.points, closed=mark.closed)
        hidden = np.zeros(len(points), dtype=bool)
        for outline in outlines:
            hidden |= inside(points, outline)
        left += [mark] if not hidden.any() else _runs(mark, ~hidden, points)
    return left


def within(marks: Iterable[Stroke], outline: Points) -> list[Stroke]:
    """Return the pieces of lines that lie within an outline."""
    left: list[Stroke] = []
    for mark in marks:
        points = _dense(mark.points, closed=mark.closed)
        shown = inside(points, outline)
        left += [mark] if shown.all() else _runs(mark, shown, points)
    return left


def outline_of_all(shapes: Sequence[Points], pen: float = LINE, part: str = "") -> list[Stroke]:
    """Return the outline of several shapes run together."""
    left: list[Stroke] = []
    for i, shape in enumerate(shapes):
        others = [other for j, other in enumerate(shapes) if j != i]
        left += outside([stroke(shape, pen, part, closed=True)], others)
    return left


def under(surface: Points, bottom: float) -> Points:
    """Return the outline of what lies under a surface, down to a level."""
    return np.vstack((surface, [(surface[-1, 0], bottom), (surface[0, 0], bottom)]))


def hatched(
    outline: Points, gap: float = 6.0, angle: float = -45.0, holes: Sequence[Points] = ()
) -> list[Stroke]:
    """Return parallel lines within an outline, ``gap`` apart."""
    lines = [
        stroke(_turned(np.array([[-90.0, off], [90.0, off]]), angle) + 50, FINE, "hatch")
        for off in np.arange(-88, 89, gap)
    ]
    return outside(within(lines, outline), holes) if holes else within(lines, outline)


def hexagonal(gap: float, shake: float, margin: float = 0.0) -> Points:
    """Return points of a shaken hexagonal lattice over the square and ``margin`` around it."""
    found = []
    row = gap * math.sqrt(3) / 2
    n = math.ceil((50 + margin) / row)
    for j in range(-n, n + 1):
        for i in range(-n, n + 1):
            dx, dy = shaken(37 * (i + 20) + 11 * (j + 20))
            x = 50 + gap * (i + 0.5 * (j % 2)) + shake * gap * dx
            y = 50 + row * j + shake * gap * dy
            if max(abs(x - 50), abs(y - 50)) <= 50 + margin:
                found.append((x, y))
    return np.array(found)


def lattice_cells(centres: Points, reach: float) -> list[Points]:
    """Return for each centre the polygon of points nearest to it, at most ``reach`` away.

    The polygon is a square cut by the mid-line to every other centre (Thiessen), so
    that neighbours share an edge exactly.
    """
    cells = []
    for i, centre in enumerate(centres):
        cell = centre + reach * np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]])
        for j, other in enumerate(centres):
            if j != i:
                cell = _nearer(cell, centre, other)
        cells.append(cell)
    return cells


def _nearer(cell: Points, centre: Points, other: Points) -> Points:
    """Cut a convex polygon to the side of ``centre`` (Sutherland and Hodgman 1974)."""
    side = (cell - (centre + other) / 2) @ (other - centre)
    kept = []
    for k in range(len(cell)):
        nxt = (k + 1) % len(cell)
        if side[k] <= _TIE:
            kept.append(cell[k])
        if min(side[k], side[nxt]) < -_TIE and max(side[k], side[nxt]) > _TIE:
            share = side[k] / (side[k] - side[nxt])
            kept.append(cell[k] + share * (cell[nxt] - cell[k]))
    return np.array(kept)
