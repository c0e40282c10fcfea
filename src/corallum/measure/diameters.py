"""Diameters of calices from the brightness on circles round their centres.

Where a narrow wall rings the calice the diameter is from crest to crest; where the
brightness only falls off, it is taken at the steepest fall.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.measure.bands import Bands
from corallum.measure.detect import Found, on_circles

__all__ = ["Diameters", "calice_diameters"]

Floats = NDArray[np.float64]
_STEPS = 36
_REACH = 0.8
_MOST = 400
_FEWEST = 5
# Out to here, in spacings, is a calice's own; a wall is as wide as this to either side.
_CELL, _WALL = 0.62, 0.08
# Set on rendered colonies and on pictures of the independent generator of the tests.
_CLEAR_DISC, _CLEAR_RING, _LEAST_PART = 0.65, 0.35, 0.35
_SHARED_PART = 0.9
_ERROR, _SHARED_ERROR = 0.06, 0.12


@dataclass(frozen=True, slots=True)
class Diameters:
    """Diameters of calices.

    Parameters
    ----------
    lengths : ndarray, (m,)
        In pixels, of at most 400 calices spread over the picture.
    relative : float
        Standard uncertainty of the method, as a part of their mean.
    """

    lengths: Floats
    relative: float


def calice_diameters(bands: Bands, found: Found) -> Diameters | None:
    """Measure the calice round each centre.

    Parameters
    ----------
    bands : Bands
        The picture.
    found : Found
        Centres and their spacing.

    Returns
    -------
    Diameters or None
        None where the edge of the calices is not seen clearly: on surfaces without walls,
        or whose walls are no brighter or darker than the rest.
    """
    band = bands.band(max(1.8, found.spacing / 8))
    some = found.centres[:: max(1, len(found.centres) // _MOST)]
    circles = on_circles(band, some, _REACH * found.spacing, _STEPS)
    profiles = circles.mean(2)
    if profiles[:, :3].mean() < profiles[:, _STEPS // 2 : 2 * _STEPS // 3].mean():
        profiles = -profiles
    mean = profiles.mean(0)
    crest = _crest(mean)
    at = crest if crest is not None else _steepest(mean)
    if at is None:
        return None
    wanted = -profiles if crest is not None else -np.gradient(profiles, axis=1)
    across = _places(wanted, at) * 2 * _REACH * found.spacing / _STEPS
    if len(across) < _FEWEST:
        return None
    part = float(across.mean()) / found.spacing
    disc, ring = _explained(circles, part / 2)
    if disc < _CLEAR_DISC and (ring < _CLEAR_RING or part < _LEAST_PART):
        return None
    # A wall as far out as the next centre is shared; its inner edge is not told from its crest.
    return Diameters(across, _SHARED_ERROR if part > _SHARED_PART else _ERROR)


def _places(wanted: Floats, at: int) -> Floats:
    """Steps at which each row peaks near a step; rows that do not peak are left out (m,)."""
    low, high = max(2, int(at * 0.7)), min(_STEPS - 2, int(np.ceil(at * 1.3)))
    window = wanted[:, low : high + 1]
    best = window.argmax(1)
    inside = (best > 0) & (best < window.shape[1] - 1)
    rows, place = np.flatnonzero(inside), best[inside] + low
    before, here, after = (wanted[rows, place + k] for k in (-1, 0, 1))
    bend = before - 2 * here + after
    shift = np.clip(0.5 * (before - after) / np.where(bend < 0, bend, -1e-12), -0.5, 0.5)
    between: Floats = place + shift + 0.5
    return between


def _explained(circles: Floats, radius: float) -> tuple[float, float]:
    """Share of the brightness round centres that an even disc, and an even ring, explain.

    ``radius`` is that of the edge, as a part of the spacing.
    """
    place = _REACH * (np.arange(_STEPS) + 0.5) / _STEPS
    within = place < _CELL
    place, values = place[within], circles[:, within]
    weight = np.broadcast_to((place / place.sum())[:, None] / 16, values.shape[1:])

    def share(inside: NDArray[np.bool_]) -> float:
        inner = np.where(inside[:, None], weight, 0)
        p = float(inner.sum())
        if not 0 < p < 1:
            return 0.0
        mean = (values * weight).sum((1, 2))
        spread = (values**2 * weight).sum((1, 2)) - mean**2
        one = (values * inner).sum((1, 2)) / p
        other = (mean - p * one) / (1 - p)
        return float(np.median(p * (1 - p) * (one - other) ** 2 / np.maximum(spread, 1e-12)))

    return share(place < radius), share(np.abs(place - radius) < _WALL)


def _crest(mean: Floats) -> int | None:
    """Step of a narrow wall, or None where the brightness does not rise again beyond it."""
    last = int(0.62 / _REACH * _STEPS)
    at = int(mean[3:last].argmin()) + 3
    top, bottom = float(mean[:at].max()), float(mean[at])
    beyond = float(mean[at:].max())
    if beyond - bottom < 0.5 * (top - bottom):
        return None
    half = (bottom + min(top, beyond)) / 2
    above = np.flatnonzero(mean > half)
    inner, outer = above[above < at], above[above > at]
    if not len(inner) or not len(outer):
        return None
    wide = (outer[0] - inner[-1]) * _REACH / _STEPS
    return at if wide < 0.33 else None


def _steepest(mean: Floats) -> int | None:
    """Step of the outermost clear fall of the mean brightness, or None where there is none.

    What stands within a calice falls off too, often more steeply than its edge.
    """
    fall = -np.gradient(mean)
    last = int(0.56 / _REACH * _STEPS)
    peaks = [k for k in range(3, last) if fall[k] > max(fall[k - 1], 0) and fall[k] >= fall[k + 1]]
    if not peaks:
        return None
    clear = 0.4 * max(fall[k] for k in peaks)
    return max(k for k in peaks if fall[k] >= clear)
