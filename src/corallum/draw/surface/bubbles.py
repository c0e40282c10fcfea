"""Vesicles: swollen bubbles of tissue, pressed against each other."""

from __future__ import annotations

import numpy as np

from corallum.draw.surface.calice import bell, rise
from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import part_into_cells
from corallum.draw.surface.cover import Cover, no_cover
from corallum.draw.surface.landforms import bounds
from corallum.draw.surface.layout import OWN_CREST, Layout, Points, lattice
from corallum.draw.surface.parameters import SurfaceParameters

__all__ = ["raise_bubbles"]

# Width of a bubble as a share of the calice or valley, and its height as a share of
# its own width: set by eye.
_WIDE = {"solitary": 0.16, "meandroid": 0.75, "flabello_meandroid": 0.62}
_OF_CALICE = 0.5
_RADIUS, _HIGH = 0.66, 0.6


def raise_bubbles(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Cover:
    """Cover polyps with bubbles; between polyps that stand apart the gaps stay dark."""
    unit = params.valley_width_mm if layout.field is not None else params.calice_diameter_mm
    size = _WIDE.get(params.arrangement, _OF_CALICE) * (unit or params.spacing_mm)
    places = lattice(bounds(x, y, size), size, rng.uniform(0.0, np.pi))
    places += rng.normal(0.0, 0.14 * size, places.shape)
    places = places[_on_polyps(params, layout, places, size)]
    if len(places) == 0:
        return no_cover(x)
    cells = part_into_cells(x, y, places, 5)
    # Spheres of nearly one size: where two meet there is a crease.
    grow = np.exp(rng.normal(0.0, 0.03, len(places))).astype(np.float32)[cells.label]
    q = cells.r / (np.float32(_RADIUS * size) * grow)
    dome = np.sqrt(np.maximum(1.0 - np.minimum(q, 1.0) ** 2, 0.0))
    on = 1.0 - rise(q, 0.96, 1.0)
    crease = 1.0 - rise(cells.wall / np.float32(size), 0.0, 0.06)
    high = np.float32(size) * (np.float32(_HIGH) * dome + np.float32(0.25))
    return Cover(
        on=np.asarray(on, np.float32),
        height=np.asarray(high + 0.3 * size, np.float32),
        accent=np.asarray(0.4 * (1.0 - dome), np.float32),
        # Thin where it bulges, so paler there; the light behind the rim shows too.
        pale=np.asarray(0.75 * dome**3 + 0.6 * bell(q, 0.14, 0.85) * (1.0 - crease), np.float32),
        dark=np.asarray(0.5 * crease, np.float32),
        shade=np.asarray(1.0 - rise(q, 1.0, 1.5), np.float32),
    )


def _on_polyps(
    params: SurfaceParameters, layout: Layout, places: Points, size: float
) -> np.ndarray:
    """Which places lie on a polyp and not over a gap."""
    if layout.field is not None:
        own = params.arrangement == "flabello_meandroid"
        ridges = layout.field.at(*places.astype(np.float32).T)
        return np.asarray(ridges < (OWN_CREST + 0.35 if own else 2.0))
    away = places[:, None, :] - layout.centres[None, :, :]
    share = np.hypot(*away.transpose(2, 0, 1)) / layout.radii[None, :]
    nearest = share.min(axis=1)
    if params.arrangement == "solitary":
        return np.asarray((nearest < 0.95) & (nearest > 0.22))
    return np.asarray(nearest < 1.0 + 0.35 * size / float(layout.radii.mean()))
