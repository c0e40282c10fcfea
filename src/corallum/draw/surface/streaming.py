"""Long tentacles that stream with the swell, their tips of every shape, and fine hairs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.calice import rise
from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import nearest_axis, part_into_cells
from corallum.draw.surface.cover import Cover, half_round, no_cover
from corallum.draw.surface.landforms import bounds
from corallum.draw.surface.layout import OWN_CREST, Layout, Points, lattice
from corallum.draw.surface.parameters import VALLEYED, SurfaceParameters

__all__ = ["raise_hairs", "raise_streaming"]

# Distance of tips as a share of the calice or valley, length and half width of a
# tentacle as shares of that: set by eye.
_APART = {"solitary": 0.075, "meandroid": 0.3, "flabello_meandroid": 0.26}
_OF_CALICE = 0.22
_LONG, _SHORT, _THICK = 2.1, 0.9, 0.27
_HAIRS_APART, _HAIR_LONG, _HAIR_THICK = 0.17, 0.42, 0.018
_POINTS = 6


@dataclass(frozen=True)
class _Tentacles:
    """Tips, shape (n, 2), the direction each points to, and the length of all, mm."""

    tips: Points
    angles: NDArray[np.float64]
    long_mm: float

    def axes(self) -> tuple[Points, ...]:
        """Return middle lines from base to tip, a little bent."""
        back = np.linspace(1.0, 0.0, _POINTS)[None, :]
        bent = self.angles[:, None] + 0.5 * back * np.sin(3.0 * self.angles)[:, None]
        steps = self.long_mm * back
        points = self.tips[:, None, :] - np.stack(
            [steps * np.cos(bent), steps * np.sin(bent)], axis=-1
        )
        return tuple(points)


def raise_streaming(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Cover:
    """Long tentacles over the polyps, all pushed one way; on a disc, outwards as well."""
    unit = params.valley_width_mm if layout.field is not None else params.calice_diameter_mm
    apart = _APART.get(params.arrangement, _OF_CALICE) * (unit or params.spacing_mm)
    short = params.expansion == "short_tentacles"
    tentacles = _grow(params, layout, (x, y), apart, (_SHORT if short else _LONG) * apart, rng)
    if len(tentacles.tips) == 0:
        return no_cover(x)
    thick = np.float32(_THICK * apart)
    along, across, rest = nearest_axis(x, y, tentacles.axes())
    share = np.clip(along / np.float32(tentacles.long_mm), 0.0, 1.2)
    taper = 1.0 - (0.75 if params.tentacle_tip == "tapered" else 0.35) * share
    shaft = half_round(np.hypot(across, rest) / (thick * taper))
    shaft *= 1.0 - rise(share, 0.98, 1.04)
    tip, far = _tip(params.tentacle_tip, tentacles, x, y, apart)
    on = np.maximum(rise(shaft, 0.02, 0.3), rise(tip, 0.02, 0.25))
    level = np.float32(apart) * (0.9 + 0.5 * share) + thick * shaft
    height = np.where(tip > 0.0, np.float32(1.55 * apart) + 1.1 * thick * tip, level)
    on_tip = rise(tip, 0.05, 0.4)
    pale_tip = 0.8 * rise(share, 0.7, 1.0) if params.tentacle_tip == "tapered" else 0.0
    return Cover(
        on=np.asarray(on, np.float32),
        height=np.asarray(height, np.float32),
        accent=np.asarray(0.75 * (1.0 - on_tip), np.float32),
        pale=np.asarray(np.maximum(on_tip, pale_tip), np.float32),
        dark=np.asarray(0.5 * (1.0 - share) * (1.0 - on_tip), np.float32),
        shade=np.asarray(1.0 - rise(far / np.float32(apart), 1.2, 2.2), np.float32),
    )


def _grow(
    params: SurfaceParameters,
    layout: Layout,
    grid: tuple[Floats32, Floats32],
    apart: float,
    long_mm: float,
    rng: np.random.Generator,
) -> _Tentacles:
    """Lay out tips over the polyps, and the way each points."""
    places = lattice(bounds(*grid, 2.0 * long_mm), apart, rng.uniform(0.0, np.pi))
    places += rng.normal(0.0, 0.2 * apart, places.shape)
    swell = rng.uniform(0.0, 2.0 * np.pi)
    angles = swell + rng.normal(0.0, 0.45, len(places))
    if params.arrangement == "solitary":
        away = places - layout.centres[0]
        radius = float(layout.radii[0])
        outwards = np.arctan2(away[:, 1], away[:, 0])
        angles = outwards + rng.normal(0.0, 0.35, len(places))
        share = np.hypot(*away.T) / radius
        kept = (share < 1.0 + 0.5 * long_mm / radius) & (share > 0.22)
    elif params.arrangement in VALLEYED and layout.field is not None:
        ridges = layout.field.at(*places.astype(np.float32).T)
        kept = ridges < OWN_CREST + 0.5
    else:
        kept = np.ones(len(places), dtype=np.bool_)
    return _Tentacles(places[kept], angles[kept], long_mm)


def _tip(
    kind: str, tentacles: _Tentacles, x: Floats32, y: Floats32, apart: float
) -> tuple[Floats32, Floats32]:
    """Height of the nearest tip, 0 to about 1, and the distance from it, mm."""
    cells = part_into_cells(x, y, tentacles.tips, 1)
    if kind == "tapered":
        return np.zeros_like(x), cells.r
    c, s = (f(tentacles.angles).astype(np.float32)[cells.label] for f in (np.cos, np.sin))
    ahead = (c * cells.dx + s * cells.dy) / np.float32(apart)
    beside = np.abs(c * cells.dy - s * cells.dx) / np.float32(apart)
    if kind == "knobbed":
        return half_round(cells.r / np.float32(0.36 * apart)), cells.r
    if kind == "anchor":
        # A crescent across the end, its horns turned back.
        held = np.minimum(beside, np.float32(0.36))
        off = np.hypot(ahead - np.float32(0.08) + 1.3 * held * held, beside - held)
        return half_round(off / np.float32(0.15)), cells.r
    knobs = [np.hypot(ahead - u, beside - v) / w
             for u, v, w in ((0.0, 0.0, 0.17), (-0.16, 0.24, 0.14), (-0.44, 0.27, 0.14),
                             (-0.7, 0.22, 0.12))]  # fmt: skip
    return half_round(np.minimum.reduce(knobs)), cells.r


def raise_hairs(d: float, x: Floats32, y: Floats32, rng: np.random.Generator) -> Cover:
    """A fuzz of hair-fine polyps that stand out between the pores."""
    places = lattice(bounds(x, y, d), _HAIRS_APART * d, rng.uniform(0.0, np.pi))
    places += rng.normal(0.0, 0.4 * _HAIRS_APART * d, places.shape)
    angles = rng.uniform(0.0, 2.0 * np.pi) + rng.normal(0.0, 0.7, len(places))
    hairs = _Tentacles(places, angles, _HAIR_LONG * d)
    along, across, rest = nearest_axis(x, y, hairs.axes())
    share = np.clip(along / np.float32(hairs.long_mm), 0.0, 1.0)
    rod = half_round(np.hypot(across, rest) / np.float32(_HAIR_THICK * d))
    on = 0.85 * rise(rod, 0.0, 0.5)
    blank = np.zeros_like(x)
    return Cover(
        on=np.asarray(on, np.float32),
        height=np.asarray(np.float32(0.6 * _HAIR_THICK * d) * rod * share, np.float32),
        accent=blank,
        pale=np.full_like(x, 2.2),
        dark=blank,
        shade=np.ones_like(x),
    )
