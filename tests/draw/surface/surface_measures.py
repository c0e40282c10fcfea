"""Measures on a surface: each takes a field and returns one number."""

from __future__ import annotations

import numpy as np
from scipy import ndimage
from scipy.spatial import cKDTree
from surface_fields import HEIGHT, WIDTH, Field, coherence, peaks, share_of_waves


def mid_over_centre(field: Field) -> float:
    """Height half way to a neighbour over that of the centre, in spacings."""
    profile = field.between()
    return float(np.median(profile[:, 20] - profile[:, 0]))


def dip_at_border(field: Field) -> float:
    """How far the point half way to a neighbour lies below the crests, in spacings."""
    profile = np.median(field.between(), axis=0)
    return float(profile.max() - profile[20])


def narrow_dip(field: Field) -> float:
    """How far the very border lies below a strip just beside it, in spacings."""
    profile = field.between(81)
    return float(np.median(0.5 * (profile[:, 35] + profile[:, 45]) - profile[:, 40]))


def crest_width(field: Field) -> float:
    """Share of the way to a neighbour that lies near the top of the wall between."""
    profile = field.between(81)
    inner = profile[:, 20:61]
    low, high = inner.min(axis=1, keepdims=True), inner.max(axis=1, keepdims=True)
    return float((inner > low + 0.8 * (high - low)).mean())


def crest_radius(field: Field) -> float:
    """Distance from a centre at which the surface is highest, mm."""
    shares = np.linspace(0.3, 1.7, 71)
    at = shares[int(np.argmax(field.profile(shares)))]
    return float(at * field.layout.radii.mean())


def crest_over_ground(field: Field) -> float:
    """Height of the wall over the floor where three corallites meet, in radii."""
    floor = np.median(field.at(field.corners())) / float(field.layout.radii.mean())
    return float(field.profile(np.array([1.05]))[0] - floor)


def middle_over_floor(field: Field) -> float:
    """Height of the very centre over the ring at a third of the radius, in radii."""
    middle, floor = field.profile(np.array([0.0, 0.33]))
    return float(middle - floor)


def middle_is_long(field: Field) -> float:
    """How far the middle third of a calice is longer one way: 0 round, 1 a line."""
    return _two_waves(field, 0.22)


def _two_waves(field: Field, share: float) -> float:
    """Strength of two waves round a ring, the same way in all calices, in radii."""
    rings = field.rings(share, 180) / float(field.layout.radii.mean())
    return float(np.abs(np.fft.rfft(rings, axis=1)[:, 2]).mean() / 90.0)


def pillars(field: Field) -> float:
    """Number of separate peaks within a third of the radius, mean over the calices."""
    high = field.relief.height
    radius = float(field.layout.radii.mean())
    tops = peaks(high, max(3, int(0.12 * radius * field.px_per_mm) | 1))
    centres = field.px(field.layout.centres[field.inner(radius)])
    away = np.hypot(*(tops[None, :, :] - centres[:, None, :]).transpose(2, 0, 1))
    return float((away < 0.33 * radius * field.px_per_mm).sum(axis=1).mean())


def ring_of_lobes(field: Field) -> float:
    """Height of the ring at two fifths of the radius over those within and without, in radii."""
    inner, ring, outer = field.profile(np.array([0.26, 0.4, 0.56]))
    return float(ring - 0.5 * (inner + outer))


def lobes_rise(field: Field) -> float:
    """Height that the highest twentieth of the ring at two fifths reaches, in radii."""
    rings = field.rings(0.4)
    return float(np.percentile(rings, 95.0, axis=1).mean() / field.layout.radii.mean())


def half_septal_waves(field: Field) -> float:
    """Share of the relief in half as many waves as septa: every second one differs."""
    n = field.params.septa_count
    return share_of_waves(field.rings(0.62), 0.42 * n, 0.58 * n)


def septal_depth(field: Field) -> float:
    """Spread of heights round a ring, in radii."""
    rings = field.rings(0.62)
    return float(rings.std(axis=1).mean() / field.layout.radii.mean())


def ribs_outside(field: Field) -> float:
    """Share of the relief just outside the wall in as many waves as septa."""
    n = field.params.septa_count
    return share_of_waves(field.rings(1.22), 0.75 * n, 1.25 * n)


def match_across(field: Field) -> float:
    """Correlation of heights at both sides of the border, along it: 1 where septa run on."""
    return float(np.mean([_match(field, corner) for corner in _borders(field)]))


def _borders(field: Field) -> list[tuple[np.ndarray, np.ndarray]]:
    """Pairs of adjacent centres, near to each other and in view, mm."""
    centres = field.layout.centres[field.inner(0.0)]
    pairs = cKDTree(centres).query_pairs(1.1 * field.params.spacing_mm)
    return [(centres[i], centres[j]) for i, j in sorted(pairs)]


def _match(field: Field, pair: tuple[np.ndarray, np.ndarray]) -> float:
    """Correlation of two lines of heights, one at each side of the border of two centres."""
    a, b = pair
    way = (b - a) / np.hypot(*(b - a))
    beside = np.array([-way[1], way[0]])
    d = field.params.spacing_mm
    along = np.linspace(-0.22, 0.22, 61)[:, None] * d * beside
    lines = [field.at((a + b) / 2.0 + side * 0.07 * d * way + along) for side in (-1.0, 1.0)]
    smooth = [line - ndimage.gaussian_filter1d(line, 9.0) for line in lines]
    return float(np.corrcoef(*smooth)[0, 1])


def roughness(field: Field) -> float:
    """Spread of heights between corallites, without what is wider than half a calice, in radii."""
    radius = float(field.layout.radii.mean())
    fine = field.relief.height - ndimage.gaussian_filter(
        field.relief.height, 0.5 * radius * field.px_per_mm
    )
    return float(fine[_outside(field, 1.5)].std() / radius)


def _outside(field: Field, share: float) -> np.ndarray:
    """Pixels farther from every centre than a share of its radius."""
    rows, columns = np.mgrid[:HEIGHT, :WIDTH]
    free = np.ones((HEIGHT, WIDTH), dtype=bool)
    for (row, column), radius in zip(
        field.px(field.layout.centres), field.layout.radii, strict=True
    ):
        free &= np.hypot(rows - row, columns - column) > share * radius * field.px_per_mm
    return free


def grain_in_calices(field: Field) -> float:
    """Distance of the grains between corallites, in widths of a calice.

    From the number of peaks to the area: 2 / (root 3 d^2) for grains d apart.
    """
    outside = _outside(field, 1.5)
    smooth = ndimage.gaussian_filter(field.relief.height, 1.0)
    tops = peaks(smooth, 5)
    n = outside[tuple(tops.T)].sum()
    apart_px = np.sqrt(2.0 / np.sqrt(3.0) * outside.sum() / max(n, 1))
    return float(apart_px / field.px_per_mm / (2.0 * field.layout.radii.mean()))


def skew_outside(field: Field) -> float:
    """Skewness of heights between corallites: above 0 for spines, below for holes in a net."""
    values = field.relief.height[_outside(field, 1.5)]
    values = values - values.mean()
    return float((values**3).mean() / (values**2).mean() ** 1.5)


def lean_outwards(field: Field) -> float:
    """Height of the wall towards the edge over that away from it, in radii."""
    return -_one_sided(field, 1.0)


def lean_inside(field: Field) -> float:
    """Height of the floor half way to the edge over that away from it, in radii."""
    return -_one_sided(field, 0.5)


def lip_outwards(field: Field) -> float:
    """How far one side of the wall rises over the other, in radii."""
    return _one_sided(field, 0.95)


def _one_sided(field: Field, share: float) -> float:
    """First wave round a ring in the direction of the edge, in radii."""
    rings = field.rings(share, 180)
    turn = 2.0 * np.pi * np.arange(180) / 180.0
    wave = (rings * np.cos(turn - field.layout.outward)).mean(axis=1)
    return float(2.0 * wave.mean() / field.layout.radii.mean())


def lie_in_lines(field: Field) -> float:
    """How far neighbours two deep lie along one direction, 0 to 1, from the pits themselves."""
    d_px = field.params.spacing_mm * field.px_per_mm
    smooth = ndimage.gaussian_filter(-field.relief.height, 0.12 * d_px)
    pits = peaks(smooth, int(0.6 * d_px) | 1).astype(float)
    away = pits[None, :, :] - pits[:, None, :]
    far = np.hypot(away[..., 0], away[..., 1])
    np.fill_diagonal(far, np.inf)
    near = np.argsort(far, axis=1)[:, :2]
    angles = np.arctan2(*away[np.arange(len(pits))[:, None], near].transpose(2, 0, 1))
    return float(np.abs(np.exp(2j * angles).mean()))


def runs_one_way(field: Field) -> float:
    """How far the wide slopes share one direction, 0 to 1."""
    sigma = 0.25 * field.params.spacing_mm * field.px_per_mm
    return coherence(ndimage.gaussian_filter(field.relief.height, sigma))


def spread(field: Field) -> float:
    """Spread of heights without the septa, in spacings."""
    sigma = 0.2 * field.params.spacing_mm * field.px_per_mm
    smooth = ndimage.gaussian_filter(field.relief.height, sigma)
    return float(smooth.std() / field.params.spacing_mm)


def wide_relief(field: Field) -> float:
    """Spread of heights smoothed over a spacing, in spacings."""
    sigma = 0.9 * field.params.spacing_mm * field.px_per_mm
    smooth = ndimage.gaussian_filter(field.relief.height, sigma)
    return float(smooth.std() / field.params.spacing_mm)


def peaks_between(field: Field) -> float:
    """Height of the highest hundredth over the middle height, in spacings."""
    high, middle = np.percentile(field.relief.height, [99.0, 50.0])
    return float((high - middle) / field.params.spacing_mm)


def pits_at_foot(field: Field) -> float:
    """Mean darkness of the ring just outside the wall."""
    return float(field.rings(1.38, 360, "dark").mean())


def fuzz(field: Field) -> float:
    """Mean difference in paleness of neighbouring pixels."""
    return float(np.abs(np.diff(np.clip(field.relief.pale, 0.0, 1.0), axis=1)).mean())


def crown_arms(field: Field) -> float:
    """Most common number of waves round a crown, which stands where the tint is strongest."""
    d_px = field.params.spacing_mm * field.px_per_mm
    tint = ndimage.gaussian_filter(field.relief.accent, 0.1 * d_px)
    found = peaks(tint, int(0.7 * d_px) | 1)
    turn = 2.0 * np.pi * np.arange(360) / 360.0
    power = np.zeros(181)
    for row, column in found[tint[tuple(found.T)] > 0.6]:
        ring = 0.3 * d_px * np.array([np.sin(turn), np.cos(turn)]) + [[row], [column]]
        values = ndimage.map_coordinates(field.relief.height, ring, order=1)
        power += np.abs(np.fft.rfft(values - values.mean())) ** 2
    return float(4 + np.argmax(power[4:60]))


def tip_length(field: Field) -> float:
    """How much longer than wide the pale ends of tentacles are: 1 is round."""
    blobs, n = ndimage.label(field.relief.pale > 0.6)
    ratios = []
    for part, where in enumerate(ndimage.find_objects(blobs), start=1):
        rows, columns = np.nonzero(blobs[where] == part)
        if len(rows) > 40:
            least, most = np.linalg.eigvalsh(np.cov(rows, columns))
            ratios.append(np.sqrt(most / max(least, 1e-9)))
    return float(np.median(ratios)) if n and ratios else 1.0


def tips(field: Field) -> float:
    """Number of pale ends in the picture."""
    blobs, n = ndimage.label(field.relief.pale > 0.6)
    sizes = ndimage.sum_labels(np.ones_like(blobs), blobs, range(1, n + 1)) if n else np.zeros(0)
    return float((sizes > 8).sum())


def bump_width(field: Field) -> float:
    """Distance of the summits of what covers the polyps, in calices."""
    smooth = ndimage.gaussian_filter(field.relief.height, 2.0)
    tops = peaks(smooth, 7)
    apart = np.sqrt(2.0 / np.sqrt(3.0) * smooth.size / max(len(tops), 1))
    return float(apart / field.px_per_mm / field.params.calice_diameter_mm)


def fringe(field: Field) -> float:
    """Paleness of the wall less that of the floor and the middle."""
    wall = field.rings(1.3, 360, "pale").mean()
    return float(wall - field.rings(0.3, 360, "pale").mean())


def valley_length(field: Field) -> float:
    """Mean size of connected floors, in squares of the width; large ones count for more."""
    width = (field.params.valley_width_mm or 1.0) * field.px_per_mm
    smooth = ndimage.gaussian_filter(field.relief.height, 0.12 * width)
    blobs, n = ndimage.label(smooth < np.percentile(smooth, 40.0))
    areas = ndimage.sum_labels(np.ones_like(smooth), blobs, range(1, n + 1))
    return float((areas**2).sum() / areas.sum() / width**2)


def standing_out(field: Field) -> float:
    """Share of the surface more than one and a half spacings over its middle height."""
    height = field.relief.height
    return float((height > np.median(height) + 1.5 * field.params.spacing_mm).mean())
