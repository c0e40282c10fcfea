"""Bent parallel lines that corallites stand on: rows along a branch, rows between ridges."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.camera import Floats32

__all__ = ["Lines", "stand_in_lines"]

Points = NDArray[np.float64]
# Share of the spacing by which a centre is off its line: set by eye.
_OFF = 0.035


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines at one distance, all bent by the same wave.

    Attributes
    ----------
    angle : float
        Direction of the lines, radians.
    apart_mm : float
        From line to line.
    bend_mm, wave_mm, phase : float
        Half height, length and start of the wave.
    """

    angle: float
    apart_mm: float
    bend_mm: float
    wave_mm: float
    phase: float

    def scaled(self, factor: float) -> Lines:
        """Return the lines grown about the origin of the plane."""
        return replace(
            self,
            apart_mm=self.apart_mm * factor,
            bend_mm=self.bend_mm * factor,
            wave_mm=self.wave_mm * factor,
        )

    def bend(self, along: Points) -> Points:
        """Return the shift of a line across its direction, mm, at places along it."""
        return np.asarray(self.bend_mm * np.sin(2.0 * np.pi * along / self.wave_mm + self.phase))

    def across(self, x: Floats32, y: Floats32) -> Floats32:
        """Return the place between lines: whole on a line, half way between two at a half."""
        c, s = np.float32(np.cos(self.angle)), np.float32(np.sin(self.angle))
        along, beside = c * x + s * y, c * y - s * x
        return np.asarray((beside - self.bend(along)) / np.float32(self.apart_mm), np.float32)


def stand_in_lines(
    lines: Lines,
    box_mm: tuple[float, float, float, float],
    step_mm: float,
    rng: np.random.Generator,
) -> Points:
    """Put points on lines over a box.

    Parameters
    ----------
    lines : Lines
        Where they stand.
    box_mm : tuple of float
        Least and most x, then y.
    step_mm : float
        Mean distance along a line.
    rng : numpy.random.Generator
        Draws the start of each line and the disorder.

    Returns
    -------
    ndarray, shape (n, 2)
        Places, x and y.
    """
    x0, x1, y0, y1 = box_mm
    reach = np.hypot(x1 - x0, y1 - y0) / 2.0 + step_mm
    ranks = np.arange(-int(reach / lines.apart_mm) - 1, int(reach / lines.apart_mm) + 2)
    places = np.arange(-reach, reach, step_mm)
    along = places[None, :] + step_mm * rng.uniform(0.0, 1.0, (len(ranks), 1))
    along = along + rng.normal(0.0, _OFF * step_mm, along.shape)
    beside = ranks[:, None] * lines.apart_mm + lines.bend(along)
    beside = beside + rng.normal(0.0, _OFF * lines.apart_mm, along.shape)
    c, s = np.cos(lines.angle), np.sin(lines.angle)
    middle = np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
    points = np.column_stack([(c * along - s * beside).ravel(), (s * along + c * beside).ravel()])
    points = points + middle
    inside = (points >= [x0, y0]) & (points <= [x1, y1])
    return np.asarray(points[inside.all(axis=1)])
