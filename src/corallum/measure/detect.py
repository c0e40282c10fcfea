"""Centres of calices in one band of a picture, and what speaks for them being units.

A repeating unit is found at several scales in the same places, at even distances, with
even strength, and its surroundings look alike. Noise does none of these.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

from corallum.measure.bands import Band, Bands
from corallum.measure.neighbours import adjacent_pairs
from corallum.measure.spectrum import Ring

__all__ = [
    "FEATURES",
    "Found",
    "bands_around",
    "describe",
    "detect",
    "on_circles",
    "peaks",
    "search",
    "split",
]

Floats = NDArray[np.float64]
FEATURES = (
    "log_n", "tightness", "spread", "weakness", "likeness", "growth", "kept", "lost", "roundness",
    "prominence", "surroundings", "ring", "agreement",
)  # fmt: skip
# A peak weaker than this part of the upper quartile is not a centre.
_WEAK = 0.3
_MOST_LOOKED_AT = 1500
_LEAST_SIGMA = 1.2
_MOST_SPLIT = 5
_LEAST_CENTRES = 12


@dataclass(frozen=True, slots=True)
class Found:
    """Centres found in one band.

    Parameters
    ----------
    sigma : float
        Scale of the band, in pixels.
    bright : bool
        Whether the centres, or their rings, are brighter than what is between them.
    centres : ndarray, (n, 2)
        x and y, in pixels.
    spacing : float
        Mean distance of adjacent centres, in pixels; nan where there is none.
    features : ndarray, (len(FEATURES),)
        What speaks for and against a repeating unit.
    """

    sigma: float
    bright: bool
    centres: Floats
    spacing: float
    features: Floats


def bands_around(bands: Bands, ring: Ring) -> list[Band]:
    """Filter the picture at the scales that a ring of its spectrum suggests.

    Parameters
    ----------
    bands : Bands
        The picture.
    ring : Ring
        A ring of its spectrum.
    """
    sigmas = 1 / ring.frequency / 8.5 * 2 ** (np.arange(7) / 3)
    return [bands.band(float(sigma)) for sigma in sigmas if sigma >= _LEAST_SIGMA]


def search(
    scales: list[Band],
    ring: Ring,
    shape: tuple[int, int],
    mask: NDArray[np.bool_] | None = None,
) -> list[Found]:
    """Look for centres at several scales, of both polarities.

    Parameters
    ----------
    scales : list of Band
        The picture at scales that follow each other.
    ring : Ring
        Ring of the spectrum that suggested them.
    shape : tuple of int
        Height and width of the picture, in pixels.
    mask : ndarray of bool, (h, w), or None
        Where to look; None means everywhere.

    Returns
    -------
    list of Found
        By scale and polarity, and the most even of them also split into two kinds.
    """
    found: list[tuple[Found, Band]] = []
    for bright in (True, False):
        rows = [detect(band, shape, bright=bright, mask=mask) for band in scales]
        for i, row in enumerate(rows):
            if np.isfinite(row.spacing):
                after = rows[min(i + 1, len(rows) - 1)]
                found.append((_beside(rows[max(i - 1, 0)], row, after), scales[i]))
    evenness = [row.features[2] for row, _ in found]
    parts = [
        part
        for i in np.argsort(evenness)[:_MOST_SPLIT]
        for part in split(found[i][0], found[i][1], shape)
    ]
    agreed = []
    for row in [row for row, _ in found] + parts:
        features = row.features.copy()
        features[-2:] = ring.prominence, np.log(row.spacing * ring.frequency / 1.1547)
        agreed.append(replace(row, features=features))
    return agreed


def detect(
    band: Band, shape: tuple[int, int], *, bright: bool, mask: NDArray[np.bool_] | None = None
) -> Found:
    """Find the centres of one band.

    Parameters
    ----------
    band : Band
        Filtered picture.
    shape : tuple of int
        Height and width of the picture, in pixels.
    bright : bool
        Whether to look for bright or for dark centres.
    mask : ndarray of bool, (h, w), or None
        Where to look.
    """
    centres, strength = peaks(band, shape, bright=bright, mask=mask)
    if len(centres):
        centres = centres[strength >= _WEAK * np.percentile(strength, 75)]
    return describe(
        Found(band.sigma, bright, centres, np.nan, np.zeros(len(FEATURES))), band, shape
    )


def peaks(
    band: Band, shape: tuple[int, int], *, bright: bool, mask: NDArray[np.bool_] | None = None
) -> tuple[Floats, Floats]:
    """Find the peaks of one band, weak ones too: x and y in pixels (n, 2), and strengths (n,).

    Parameters
    ----------
    band : Band
        Filtered picture.
    shape : tuple of int
        Height and width of the picture, in pixels.
    bright : bool
        Whether to look for bright or for dark spots.
    mask : ndarray of bool, (h, w), or None
        Where to look.
    """
    response = band.ridges if bright else -band.ridges
    rows, columns, strength = _peaks(response)
    centres = band.to_picture(_refine(response, rows, columns))
    keep = _within(centres, shape, mask)
    return centres[keep], strength[keep]


def describe(found: Found, band: Band, shape: tuple[int, int]) -> Found:
    """Return what was found with its spacing and features; those of other scales are kept.

    Parameters
    ----------
    found : Found
        Centres.
    band : Band
        The band they were found in.
    shape : tuple of int
        Height and width of the picture, in pixels.
    """
    centres = found.centres
    if len(centres) < _LEAST_CENTRES:
        return replace(found, spacing=np.nan)
    looked = _middle_ones(centres)
    pairs = adjacent_pairs(centres[looked], shape)
    if len(pairs.lengths) < _LEAST_CENTRES:
        return replace(found, spacing=np.nan)
    spacing = float(pairs.lengths.mean())
    some = band.to_grid(centres[looked[:: max(1, len(looked) // 300)]])
    response = band.ridges if found.bright else -band.ridges
    c, r = np.clip(np.rint(band.to_grid(centres)), 0, np.array(response.shape[::-1]) - 1).T
    strength = response[r.astype(np.int64), c.astype(np.int64)].astype(np.float64)
    features = np.array(
        [
            np.log(len(centres)),
            np.log(spacing / band.sigma),
            np.log(float(pairs.lengths.std()) / spacing + 0.01),
            np.log(max(float(strength.std() / strength.mean()), 0) + 0.01),
            _likeness(band, some, 0.6 * spacing),
            *found.features[5:8],
            _roundness(response, some),
            np.log(max(float(np.median(strength) / (response.std() + 1e-12)), 0.01)),
            _likeness(band, some, 1.2 * spacing),
            *found.features[-2:],
        ]
    )
    return replace(found, spacing=spacing, features=features)


def split(found: Found, band: Band, shape: tuple[int, int]) -> list[Found]:
    """Split centres into two kinds by what surrounds them.

    A lattice of rings has a dark spot in each ring and in each gap, and both together
    make a finer lattice. Only their surroundings tell which are the units.

    Parameters
    ----------
    found : Found
        Centres of both kinds.
    band : Band
        The band they were found in.
    shape : tuple of int
        Height and width of the picture, in pixels.

    Returns
    -------
    list of Found
        Each kind by itself, where both are many enough.
    """
    profiles = on_circles(band, found.centres, 1.2 * found.spacing).mean(2)
    first = _two_kinds(profiles)
    kinds = []
    for kind in (first, ~first):
        if kind.sum() >= _LEAST_CENTRES:
            part = describe(replace(found, centres=found.centres[kind]), band, shape)
            kinds.append(part)
    return [kind for kind in kinds if np.isfinite(kind.spacing)]


def on_circles(band: Band, centres: Floats, reach: float, steps: int = 12) -> Floats:
    """Brightness at 16 points of circles round centres, out to reach (n, steps, 16)."""
    grid = band.to_grid(centres)
    turn = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    radius = reach * (np.arange(steps) + 0.5) / steps
    dx = radius[:, None] * np.cos(turn) / band.step[0]
    dy = radius[:, None] * np.sin(turn) / band.step[1]
    at = [grid[:, 1, None] + dy.ravel(), grid[:, 0, None] + dx.ravel()]
    values = ndimage.map_coordinates(band.smooth, at, order=1, mode="mirror")
    circles: Floats = values.reshape(len(centres), steps, 16).astype(np.float64)
    return circles


def _two_kinds(rows: Floats) -> NDArray[np.bool_]:
    """Which of two kinds rows belong to (n,): two means, begun along the main axis."""
    rows = rows - rows.mean(1, keepdims=True)
    middle = rows - rows.mean(0)
    axis = np.linalg.svd(middle.T @ middle)[0][:, 0]
    first: NDArray[np.bool_] = middle @ axis > 0
    for _ in range(10):
        if first.all() or not first.any():
            break
        one, two = rows[first].mean(0), rows[~first].mean(0)
        first = ((rows - one) ** 2).sum(1) < ((rows - two) ** 2).sum(1)
    return first


def _peaks(
    response: NDArray[np.float32],
) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
    """Rows, columns and values of strict positive maxima, away from the border."""
    inner = response[1:-1, 1:-1]
    is_peak = inner > 0
    h, w = response.shape
    for dy in (0, 1, 2):
        for dx in (0, 1, 2):
            if (dy, dx) < (1, 1):
                is_peak &= inner > response[dy : h - 2 + dy, dx : w - 2 + dx]
            elif (dy, dx) > (1, 1):
                is_peak &= inner >= response[dy : h - 2 + dy, dx : w - 2 + dx]
    rows, columns = np.nonzero(is_peak)
    strength = inner[rows, columns].astype(np.float64)
    return (rows + 1).astype(np.int64), (columns + 1).astype(np.int64), strength


def _refine(
    response: NDArray[np.float32], rows: NDArray[np.int64], columns: NDArray[np.int64]
) -> Floats:
    """Place peaks between pixels by parabolas (n, 2) as x, y."""
    here = response[rows, columns].astype(np.float64)

    def shift(before: NDArray[np.float32], after: NDArray[np.float32]) -> Floats:
        bend = before - 2 * here + after
        moved: Floats = 0.5 * (before - after) / np.where(bend < 0, bend, -1e-12)
        return np.clip(moved, -0.5, 0.5)

    dx = shift(response[rows, columns - 1], response[rows, columns + 1])
    dy = shift(response[rows - 1, columns], response[rows + 1, columns])
    return np.stack([columns + dx, rows + dy], 1)


def _within(
    centres: Floats, shape: tuple[int, int], mask: NDArray[np.bool_] | None
) -> NDArray[np.bool_]:
    """Whether centres lie in the mask (n,)."""
    if mask is None:
        return np.ones(len(centres), np.bool_)
    x, y = np.clip(np.rint(centres), 0, [shape[1] - 1, shape[0] - 1]).astype(np.int64).T
    inside: NDArray[np.bool_] = mask[y, x]
    return inside


def _middle_ones(centres: Floats) -> NDArray[np.int64]:
    """Rows of the centres nearest to their middle, no more than are needed."""
    if len(centres) <= _MOST_LOOKED_AT:
        return np.arange(len(centres))
    away = np.abs(centres - np.median(centres, 0)).max(1)
    return np.argpartition(away, _MOST_LOOKED_AT)[:_MOST_LOOKED_AT]


def _likeness(band: Band, grid: Floats, radius: float) -> float:
    """Mean correlation of the surroundings of centres with their common picture."""
    reach = radius * np.linspace(-1, 1, 9)
    dx, dy = np.meshgrid(reach / band.step[0], reach / band.step[1])
    at = [grid[:, 1, None] + dy.ravel(), grid[:, 0, None] + dx.ravel()]
    patches = ndimage.map_coordinates(band.smooth, at, order=1, mode="mirror")
    patches = patches - patches.mean(1, keepdims=True)
    patches /= np.sqrt((patches**2).sum(1, keepdims=True)) + 1e-12
    n = len(patches)
    total = patches.sum(0)
    # Mean over pairs of different patches: no patch is compared with itself.
    return float((total @ total - n) / (n * (n - 1)))


def _roundness(response: NDArray[np.float32], grid: Floats) -> float:
    """Median ratio of the lesser to the greater curvature at peaks: 1 round, 0 a ridge."""
    c, r = np.rint(grid).astype(np.int64).T
    r, c = np.clip(r, 1, response.shape[0] - 2), np.clip(c, 1, response.shape[1] - 2)
    xx = response[r, c - 1] + response[r, c + 1] - 2 * response[r, c]
    yy = response[r - 1, c] + response[r + 1, c] - 2 * response[r, c]
    xy = (
        response[r + 1, c + 1] + response[r - 1, c - 1]
        - response[r + 1, c - 1] - response[r - 1, c + 1]
    ) / 4  # fmt: skip
    half, bend = (xx + yy) / 2, np.sqrt(((xx - yy) / 2) ** 2 + xy**2)
    return float(np.median((half + bend) / np.minimum(half - bend, -1e-12)))


def _beside(finer: Found, row: Found, coarser: Found) -> Found:
    """Add what the next scales say: growth of the spacing, centres kept and lost."""
    if not np.isfinite(row.spacing):
        return row
    features = row.features.copy()
    spacings = [
        f.spacing if np.isfinite(f.spacing) else row.spacing * 1.5 for f in (finer, coarser)
    ]
    octaves = np.log(max(coarser.sigma / finer.sigma, 1.01))
    features[5] = np.clip(np.log(spacings[1] / spacings[0]) / octaves, -3, 3)
    features[6] = _share_near(row.centres, coarser.centres, 0.25 * row.spacing)
    features[7] = _share_near(row.centres, finer.centres, 0.25 * row.spacing)
    return replace(row, features=features)


def _share_near(centres: Floats, others: Floats, reach: float) -> float:
    """Share of centres that have one of the others within reach, less the excess of others."""
    if not len(others):
        return 0.0
    some = centres[:: max(1, len(centres) // 500)]
    near = cKDTree(others).query(some, distance_upper_bound=reach)[0]
    return float(np.isfinite(near).mean()) * min(1.0, len(centres) / len(others))
