"""Width of valleys on surfaces where calices run together between winding walls.

Valleys that share their walls repeat at their own width. Valleys with walls of their own
repeat at their width and the gap to the next; the gap is told by its shade, which is
darkest at the foot of the walls and lighter again in its middle. Light that plays such
tricks on a shared wall misleads it: the note says what was taken for what.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from corallum.measure.bands import Bands
from corallum.measure.detect import FEATURES, Found, detect
from corallum.measure.spectrum import Ring

__all__ = ["Valleys", "are_valleys", "measure_valleys"]

Floats = NDArray[np.float64]
_LEAST_RING = 1.8
# Below this, what looks like a centre at the scale of the ring is part of a ridge.
_MOST_ROUND = 0.46
_CLEAR_QUALITY = 0.6
_STEPS = 24
# How much lighter the middle of a gap is than its edge, as a part of the whole range.
_LEAST_GAP = 0.12
_SHARED_ERROR, _OWN_ERROR = 0.01, 0.05
_SHARED_NOTE = (
    "measured from valley to valley, walls taken as shared: where each valley has walls of its "
    "own, the gap between them is counted in; click across a valley instead"
)
_OWN_NOTE = (
    "each valley taken to have walls of its own, with a gap between: where walls are shared, "
    "the valleys are wider than this; click across a valley instead"
)


@dataclass(frozen=True, slots=True)
class Valleys:
    """Valleys of a surface.

    Parameters
    ----------
    width : float
        Mean width from crest to crest, in pixels.
    relative : float
        Its standard uncertainty, as a part of it.
    n : int
        Number of valleys that a straight line across the picture and one down would cross.
    own_walls : bool
        Whether each valley was taken to have walls of its own.
    note : str
        What to mind about it.
    """

    width: float
    relative: float
    n: int
    own_walls: bool
    note: str


def are_valleys(bands: Bands, ring: Ring, found: Sequence[Found], quality: float) -> bool:
    """Tell valleys from calices: one clear wave length, of ridges and not of round spots.

    Parameters
    ----------
    bands : Bands
        The picture.
    ring : Ring
        Strongest ring of its spectrum.
    found : sequence of Found
        Centres found; where there are none, nothing is round.
    quality : float
        Quality of the best of them.
    """
    if ring.prominence < _LEAST_RING or quality > _CLEAR_QUALITY or not found:
        return False
    band = bands.band(max(1.2, 0.22 / ring.frequency))
    rows = [detect(band, bands.shape, bright=bright) for bright in (True, False)]
    round_ = float(np.mean([row.features[FEATURES.index("roundness")] for row in rows]))
    return round_ < _MOST_ROUND


def measure_valleys(bands: Bands, ring: Ring) -> Valleys:
    """Measure the mean width of valleys, from crest to crest.

    Parameters
    ----------
    bands : Bands
        The picture.
    ring : Ring
        Ring of its spectrum. Ridges side by side are 1 / f apart: no factor here.
    """
    wave = 1 / ring.frequency
    h, w = bands.shape
    part = _part_between_crests(_profile(bands, ring))
    error, note = (_SHARED_ERROR, _SHARED_NOTE) if part is None else (_OWN_ERROR, _OWN_NOTE)
    relative = math.hypot(error, ring.spread / math.sqrt(max(h * w / wave**2, 1.0)))
    crossed = max(round((h + w) / wave), 1)
    return Valleys(wave * (part or 1.0), relative, crossed, part is not None, note)


def _profile(bands: Bands, ring: Ring) -> Floats:
    """Mean brightness across a wave, from the brightest line to the darkest (24 steps).

    Of the picture filtered round the ring, height and slope give the place within the
    wave: a wave A cos(p) has the slope k A sin(p).
    """
    h, w = bands.shape
    fy, fx = np.arange(h)[:, None] / (2 * h), np.arange(w)[None] / (2 * w)
    octaves = np.log(np.maximum(np.hypot(fy, fx), 1e-9) / ring.frequency) / 0.35
    near = np.exp(-0.5 * octaves**2).astype(np.float32)
    wave = scipy.fft.idctn(bands.waves * near, norm="ortho")
    slope = np.hypot(*np.gradient(wave)) / (2 * np.pi * ring.frequency)
    place = np.arctan2(slope, wave)
    height = np.hypot(slope, wave)
    clear = height > 0.6 * np.median(height)
    step = np.minimum((place[clear] * (_STEPS / np.pi)).astype(np.int64), _STEPS - 1)
    image = scipy.fft.idctn(bands.waves, norm="ortho")[clear]
    total = np.bincount(step, image, _STEPS)
    mean: Floats = total / np.maximum(np.bincount(step, minlength=_STEPS), 1)
    return np.convolve(np.pad(mean, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")


def _part_between_crests(profile: Floats) -> float | None:
    """Part of the wave between a valley's own crests, or None where walls are shared.

    The crest stands between the steepest fall of the brightness and the dark foot.
    """
    middle = _STEPS // 2
    foot = int(profile[middle:].argmin()) + middle
    lighter = float(profile[foot:].max() - profile[foot])
    if lighter < _LEAST_GAP * float(np.ptp(profile)):
        return None
    fall = -np.gradient(profile)
    steepest = _between(fall, int(fall[_STEPS // 4 : -_STEPS // 6].argmax()) + _STEPS // 4)
    return ((steepest + _between(-profile, foot)) / 2 + 0.5) / _STEPS


def _between(values: Floats, at: int) -> float:
    """Place of a peak between the steps, by a parabola."""
    if not 0 < at < len(values) - 1:
        return float(at)
    before, here, after = values[at - 1 : at + 2]
    bend = before - 2 * here + after
    return at + (0.5 * float(before - after) / float(bend) if bend < 0 else 0.0)
