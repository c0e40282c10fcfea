"""Valleys: what lies along a winding axis, beside it and across it."""

from __future__ import annotations

import numpy as np

from corallum.draw.geometry import polar
from corallum.draw.ink import FINE, SOLID, Disc, Marks, Points, Stroke, stroke

__all__ = ["beside", "spaced", "ticks", "valley"]


def beside(axis: Points, off: float) -> Points:
    """Return a line beside another at a distance, to its left where positive."""
    along = np.gradient(axis, axis=0)
    normal = np.column_stack((along[:, 1], -along[:, 0]))
    normal /= np.hypot(normal[:, 0], normal[:, 1])[:, None]
    beside: Points = axis + off * normal
    return beside


def ticks(axis: Points, offs: tuple[float, float], step: float = 5.0) -> list[Stroke]:
    """Return septa across an axis on both sides, between two distances from it."""
    length = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(axis, axis=0).T))))
    places = np.arange(step / 2, length[-1], step)
    rows = np.array([int(np.searchsorted(length, p)) for p in places]).clip(1, len(axis) - 2)
    return [
        stroke([beside(axis, side * offs[0])[i], beside(axis, side * offs[1])[i]], FINE, "septum")
        for i in rows
        for side in (-1, 1)
    ]


def spaced(axis: Points, step: float) -> list[Points]:
    """Return points along a line, a step apart, from half a step on."""
    length = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(axis, axis=0).T))))
    n = max(1, round(float(length[-1]) / step))
    places = (np.arange(n) + 0.5) * length[-1] / n
    return [axis[int(np.searchsorted(length, p))] for p in places]


def valley(axis: Points, half: float, mouths: float) -> tuple[Points, Marks]:
    """Return the outline of a valley round an axis, and its septa and mouths.

    ``half`` is half its width and ``mouths`` the distance from mouth to mouth.
    """
    ends = axis[-1] - axis[-2], axis[0] - axis[1]
    caps = []
    for end, at in zip(ends, (axis[-1], axis[0]), strict=True):
        angle = np.degrees(np.arctan2(end[1], end[0]))
        caps.append(
            np.array(
                [
                    polar(float(at[0]), float(at[1]), half, angle + a)
                    for a in np.linspace(-90, 90, 13)
                ]
            )
        )
    outline = np.vstack((beside(axis, half), caps[0], beside(axis, -half)[::-1], caps[1]))
    inner: Marks = (
        *ticks(axis, (0.45 * half, 0.92 * half)),
        *(Disc(float(p[0]), float(p[1]), 2.2, SOLID, "centre") for p in spaced(axis, mouths)),
    )
    return outline, inner
