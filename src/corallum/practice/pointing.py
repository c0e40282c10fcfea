"""Where in a rendered picture a character is to be seen, so that it can be pointed at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from corallum.draw.surface import Truth

__all__ = ["Pointer", "point_at"]

_CENTRE = ("columella", "paliform_crown", "septa_count", "mouths", "calice_diameter_mm")
_BETWEEN = (
    "coenosteum_texture", "groove_between", "costal_pits", "verrucae", "monticules",
    "septo_costae_confluent", "corallite_spacing_mm", "concentric_ridges",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Pointer:
    """A ring around a place: centre and radius as shares of the picture's width and height.

    Attributes
    ----------
    x, y : float
        0 to 1 across and down.
    radius : float
        Share of the width.
    """

    x: float
    y: float
    radius: float


def point_at(truth: Truth, character: str, width: int, height: int) -> Pointer | None:
    """Return where a character is best seen: a unit near the middle, its rim or its neighbour.

    Parameters
    ----------
    truth : Truth
        Of the rendered picture.
    character : str
        What decides.
    width, height : int
        Of the picture, pixels.

    Returns
    -------
    Pointer or None
        None where the picture has no units to point at.
    """
    centres = truth.centres_px
    if not len(centres):
        return None
    middle = np.array([width / 2, height / 2])
    nearest = int(np.argmin(((centres - middle) ** 2).sum(axis=1)))
    place = centres[nearest]
    others = np.delete(centres, nearest, axis=0)
    apart = _apart(truth, place, others)
    if character in _CENTRE or not len(others):
        return _ring(place, 0.4 * apart, width, height)
    neighbour = others[int(np.argmin(((others - place) ** 2).sum(axis=1)))]
    if character in _BETWEEN:
        return _ring((place + neighbour) / 2, 0.35 * apart, width, height)
    return _ring(place, 0.62 * apart, width, height)


def _apart(truth: Truth, place: np.ndarray, others: np.ndarray) -> float:
    """Distance to the next unit, pixels; without one, the unit's own width."""
    if len(others):
        return float(np.sqrt(((others - place) ** 2).sum(axis=1).min()))
    size = truth.calice_diameter_mm * truth.px_per_mm
    return float(size) if np.isfinite(size) else 100.0


def _ring(place: np.ndarray, radius: float, width: int, height: int) -> Pointer:
    """Scale to the picture; no ring is too small to see, or leaves the picture."""
    bounded = min(max(radius / width, 0.03), 0.3)
    x = min(max(float(place[0]) / width, 0.0), 1.0)
    return Pointer(x, min(max(float(place[1]) / height, 0.0), 1.0), bounded)
