"""The calice, the unit of all other drawings: from above and in section."""

from __future__ import annotations

import math
from collections.abc import Sequence

from corallum.draw.geometry import hatched, polar, under
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Marks, Points, stroke

__all__ = ["arrow", "between_arrows", "dashed", "ring", "section", "septa"]


def septa(
    at: tuple[float, float],
    radii: Sequence[tuple[float, float]],
    n: int,
    pen: float = FINE,
    start: float = -90.0,
) -> Marks:
    """Draw ``n`` septa round a centre; the i-th runs between the i-th radii, which repeat."""
    return tuple(
        stroke(
            [polar(*at, radii[i % len(radii)][k], start + 360 * i / n) for k in (0, 1)],
            pen,
            "septum",
        )
        for i in range(n)
    )


def ring(at: tuple[float, float], r: float, n: int = 12, pen: float = LINE) -> Marks:
    """Draw a calice from above: its wall, septa long and short in turn, and its middle."""
    return (
        Disc(*at, r, pen, "wall"),
        *septa(at, [(0.45 * r, r), (0.7 * r, r)], n),
        Disc(*at, max(0.12 * r, 1.0), SOLID, "centre"),
    )


def dashed(points: Points, pen: float = FINE, step: int = 4) -> Marks:
    """Draw a line as dashes: ``step`` points drawn, ``step`` left out."""
    return tuple(
        stroke(points[i : i + step], pen, "dash")
        for i in range(0, len(points) - step + 1, 2 * step)
    )


def arrow(start: tuple[float, float], end: tuple[float, float], head: float = 6.0) -> Marks:
    """Draw an arrow with a solid head at its end."""
    angle = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    wings = [polar(*end, head, angle + side) for side in (152, 208)]
    neck = polar(*end, 0.8 * head, angle + 180)
    return (stroke([start, neck], LINE, "arrow"), stroke([end, *wings], SOLID, "arrow"))


def between_arrows(a: tuple[float, float], b: tuple[float, float], tick: float = 7.0) -> Marks:
    """Draw what is measured: a double arrow from ``a`` to ``b`` with a tick at each end."""
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    across = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) + 90
    ticks = tuple(
        stroke([polar(*p, tick, across), polar(*p, tick, across + 180)], LINE, "tick")
        for p in (a, b)
    )
    return (*arrow(middle, a), *arrow(middle, b), *ticks)


def section(surface: Points, bottom: float, pen: float = BOLD, gap: float = 6.0) -> Marks:
    """Draw skeleton cut through: its surface bold, hatched below down to ``bottom``."""
    return (stroke(surface, pen, "surface"), *hatched(under(surface, bottom), gap))
