"""Show what was measured over the photo."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from corallum.actions.measurements import PhotoMeasurement, sizes_of
from corallum.measure.surface import Measured, Refused
from corallum.store.overlay import Drawing, round_length, write_overlay

__all__ = ["draw_over"]

Floats = NDArray[np.float64]


def draw_over(done: PhotoMeasurement, out: Path) -> None:
    """Write a copy of the photo with what was found drawn over it.

    Raises
    ------
    InputError
        Where it can't be written.
    """
    outcome = done.outcome
    bar = _bar(done)
    if isinstance(outcome, Refused):
        lines = [f"{done.path.name}: not measured: {outcome.reason}", *done.warnings]
        write_overlay(done.path, done.photo, Drawing(lines, known=_known(done), bar=bar), out)
        return
    said = ", ".join(
        f"{name} {size.value:.3g} mm ({size.low:.3g} to {size.high:.3g})"
        for name, size in sizes_of(outcome)
    )
    edited = {"program": "", "hand": ", clicked by hand", "edited": ", edited by hand"}
    lines = [f"{done.path.name}: {said}{edited[done.method]}", *done.warnings]
    rings = _rings(done, outcome)
    drawing = Drawing(lines, outcome.centres, rings, done.clicked, _known(done), bar)
    write_overlay(done.path, done.photo, drawing, out)


def _rings(done: PhotoMeasurement, outcome: Measured) -> list[Floats]:
    """Circles of the mean diameter round the centres, as the photo sees them."""
    across = outcome.calice_diameter
    if across is None or done.method == "hand":
        return []
    turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    circle = across.value / 2 / done.canvas.scale.mm_per_pixel * np.c_[np.cos(turn), np.sin(turn)]
    return [done.canvas.photo_points(c + circle) for c in done.canvas.own_points(outcome.centres)]


def _known(done: PhotoMeasurement) -> list[Floats]:
    """Lines along the scale object."""
    points = done.sight.points
    if points is None:
        return []
    if done.sight.source == "ruler":
        return [points]
    edge = points[:4] if done.sight.source == "rectangle" else points
    return [np.r_[edge, edge[:1]]]


def _bar(done: PhotoMeasurement) -> tuple[float, str]:
    """A bar of a round length, up to a quarter of the photo, as seen in its middle."""
    canvas, (width, height) = done.canvas, done.photo.size
    middle = np.array([width / 2, height / 2])
    mm = canvas.scale.mm_per_pixel * canvas.own_pixels(middle)
    length = round_length(width / 4 * mm)
    where = " in the middle of the photo" if done.sight.plane else ""
    return length / mm, f"{length:g} mm{where}"
