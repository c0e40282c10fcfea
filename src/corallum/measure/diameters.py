"""Diameters of calices from the brightness on circles round their centres.

Where a narrow wall rings the calice the diameter is from crest to crest; where the
brightness only falls off, it is taken at the steepest fall.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from corallum.measure.bands import Bands
from corallum.measure.detect import Found, radial_profiles

__all__ = ["calice_diameters"]

Floats = NDArray[np.float64]
_STEPS = 36
_REACH = 0.8
_MOST = 400


def calice_diameters(bands: Bands, found: Found) -> Floats:
    """Measure the calice round each centre.

    Parameters
    ----------
    bands : Bands
        The picture.
    found : Found
        Centres and their spacing.

    Returns
    -------
    ndarray, (m,)
        Diameters in pixels, of at most 400 calices spread over the picture; those whose
        edge is not seen are left out.
    """
    band = bands.band(max(1.8, found.spacing / 8))
    some = found.centres[:: max(1, len(found.centres) // _MOST)]
    profiles = radial_profiles(band, some, _REACH * found.spacing, _STEPS)
    if profiles[:, :3].mean() < profiles[:, _STEPS // 2 : 2 * _STEPS // 3].mean():
        profiles = -profiles
    mean = profiles.mean(0)
    crest = _crest(mean)
    at, sign = (crest, -1) if crest is not None else (_steepest(mean), 0)
    if at is None:
        return np.zeros(0)
    wanted = -profiles if sign else -np.gradient(profiles, axis=1)
    low, high = max(2, int(at * 0.7)), min(_STEPS - 2, int(np.ceil(at * 1.3)))
    window = wanted[:, low : high + 1]
    best = window.argmax(1)
    inside = (best > 0) & (best < window.shape[1] - 1)
    rows, place = np.flatnonzero(inside), best[inside] + low
    before, here, after = (wanted[rows, place + k] for k in (-1, 0, 1))
    bend = before - 2 * here + after
    shift = np.clip(0.5 * (before - after) / np.where(bend < 0, bend, -1e-12), -0.5, 0.5)
    across: Floats = 2 * (place + shift + 0.5) * _REACH * found.spacing / _STEPS
    return across


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
