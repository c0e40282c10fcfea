"""Crowns of tentacles around a mouth: on long polyps, and as a fringe on the wall."""

from __future__ import annotations

import numpy as np

from corallum.draw.surface.calice import bell, rise
from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import Cells, nearest_axis, part_into_cells
from corallum.draw.surface.cover import Cover, half_round, no_cover
from corallum.draw.surface.layout import Layout
from corallum.draw.surface.parameters import SurfaceParameters

__all__ = ["COUNTS", "raise_crowns", "raise_fringe", "raise_valley_fringe"]

# Tentacles of a crown; "many" is more than twenty-four by its definition.
COUNTS = {"eight_pinnate": 8, "twelve": 12, "twenty_four": 24, "many": 36}
# In spacings: reach of a crown, how far it sways, and how high it stands.
_REACH, _SWAY, _HIGH = 0.72, 0.3, 0.75
_UNLIKE = 997


def raise_crowns(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Cover:
    """Flower-like crowns on stalks, all swayed one way by the swell."""
    d = params.spacing_mm
    n = len(layout.centres)
    swell = rng.uniform(0.0, 2.0 * np.pi) + rng.normal(0.0, 0.35, n)
    away = d * (_SWAY + rng.normal(0.0, 0.07, n))
    tops = layout.centres + (away * np.array([np.cos(swell), np.sin(swell)])).T
    cells = part_into_cells(x, y, tops, 4)
    sizes = np.exp(rng.normal(0.0, 0.04, n)).astype(np.float32)[cells.label]
    reach = np.float32(_REACH * d) * sizes
    level = rng.normal(_HIGH, 0.04, n).astype(np.float32)[cells.label] * np.float32(d)
    arms, share = _arms(params, cells, reach, 0.24, rng)
    inner = rise(share, 0.2, 0.28)
    disc = 1.0 - inner
    # Where two crowns meet, tentacles end in points and are not cut off.
    rod = arms * inner * rise(cells.wall / np.float32(d), 0.0, 0.09)
    on = np.maximum(rise(rod, 0.02, 0.3), 1.0 - rise(share, 0.24, 0.3))
    droop = 0.3 * (1.0 - share) - 0.25 * rise(share, 0.6, 1.2)
    cone = 0.22 * bell(share, 0.15) - 0.12 * bell(share, 0.05)
    height = level + reach * (droop + 0.14 * rod + cone * disc)
    tip = rise(share, 0.7, 0.95)
    return Cover(
        on=on.astype(np.float32),
        height=height.astype(np.float32),
        accent=np.asarray(disc + 0.25 * inner, np.float32),
        pale=np.asarray(0.9 * bell(share, 0.14) + 0.8 * tip * inner, np.float32),
        dark=np.asarray(0.45 * (1.0 - rod) * inner * (1.0 - rise(share, 0.3, 0.8)), np.float32),
        shade=1.0 - rise(share, 0.9, 1.25),
    )


def _arms(
    params: SurfaceParameters,
    cells: Cells,
    reach: Floats32,
    start: float,
    rng: np.random.Generator,
) -> tuple[Floats32, Floats32]:
    """Height of the tentacles, 0 to 1, and the share of their reach that a point is out.

    A tentacle is as wide as its place on the ring allows and narrows to its tip, which
    may bear a ball; feathered ones have branchlets on both sides.
    """
    n = COUNTS[params.tentacles]
    feathered = params.tentacles == "eight_pinnate"
    bases = rng.uniform(0.0, 1.0, int(cells.label.max()) + 1).astype(np.float32)
    turn = np.float32(n) * cells.theta + bases[cells.label]
    share = cells.r / reach
    turn = turn + np.float32(0.1) * np.sin(np.float32(3.0) * share + 9.0 * bases[cells.label])
    nearest = np.round(turn)
    lateral = np.abs(turn - nearest) * np.float32(2.0 * np.pi / n) * cells.r
    unlike = rng.uniform(0.88, 1.06, _UNLIKE).astype(np.float32)
    which = (nearest.astype(np.int32) % n + n * cells.label) % _UNLIKE
    # Two rings: every second tentacle is a little shorter.
    second = 1.0 if feathered else 1.0 - 0.13 * (nearest.astype(np.int32) % 2)
    out = share / (unlike[which] * second)
    base = np.pi * start * reach / n * (0.95 if n < 24 else 1.25)
    if feathered:
        # Branchlets slant to the tip, and no two tentacles have theirs in step.
        along = (out - np.float32(0.7) * lateral / reach) / np.float32(0.1)
        comb = 0.5 + 0.5 * np.cos(np.float32(2.0 * np.pi) * (along + 40.0 * unlike[which]))
        taper = 1.0 - rise(out, 0.55, 1.05)
        wide = reach * (0.05 + 0.24 * comb**2 * np.sqrt(taper)) * (1.0 - rise(out, 0.97, 1.02))
    else:
        swell = 1.0 + 0.5 * bell(out, 0.3, 0.6)
        wide = base * swell * np.sqrt(np.maximum(1.0 - np.maximum(out, 0.0) ** 3, 0.0))
    arms = half_round(lateral / np.maximum(wide, np.float32(1e-6)))
    if params.tentacle_tip == "knobbed" and not feathered:
        ball = np.hypot(lateral, (out - np.float32(0.93)) * reach)
        arms = np.maximum(arms, 1.5 * half_round(ball / np.maximum(1.7 * base, 1e-6)))
    return arms, np.asarray(out, np.float32)


def raise_fringe(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Cover:
    """Short tentacles on the wall around each calice, the mouth left free."""
    cells = part_into_cells(x, y, layout.centres, 4)
    radius = layout.radii.astype(np.float32)[cells.label]
    reach = np.float32(1.0) * radius + np.minimum(np.float32(0.5) * radius, 0.9 * cells.wall)
    if params.arrangement == "hydnophoroid":
        reach = np.float32(0.42 * params.spacing_mm) + np.zeros_like(radius)
    arms, out = _arms(params, cells, reach, 0.55, rng)
    ring = rise(out, 0.48, 0.6)
    rod = arms * ring
    high = 0.55 * bell(out, 0.3, 0.85)
    on = rise(rod, 0.02, 0.35)
    return Cover(
        on=np.asarray(on, np.float32),
        height=np.asarray(radius * (0.45 + high + 0.16 * rod), np.float32),
        accent=np.asarray(0.5 * ring, np.float32),
        pale=np.asarray(rise(out, 0.75, 0.97), np.float32),
        dark=np.asarray(0.3 * (1.0 - rod), np.float32),
        shade=np.asarray(bell(out, 0.25, 0.85), np.float32),
    )


def raise_valley_fringe(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Cover:
    """Short tentacles along both sides of a valley."""
    width = np.float32(params.valley_width_mm or params.spacing_mm)
    axes = () if layout.field is None else layout.field.axes
    if not axes:
        return no_cover(x)
    along, across, rest = nearest_axis(x, y, axes)
    step = np.float32(0.14) * width
    phase = along / step + np.float32(0.5) * (across > 0.0)
    phase = phase + np.float32(0.2) * np.sin(np.float32(rng.uniform(0.3, 0.5)) * phase)
    lateral = np.abs(phase - np.round(phase)) * step
    out = np.hypot(across, rest) / width
    share = np.clip((out - np.float32(0.2)) / np.float32(0.26), 0.0, 1.5)
    wide = 0.45 * step * np.sqrt(np.maximum(1.0 - share**3, 0.0))
    rod = half_round(lateral / np.maximum(wide, np.float32(1e-6))) * rise(share, 0.0, 0.1)
    return Cover(
        on=np.asarray(rise(rod, 0.02, 0.35), np.float32),
        height=np.asarray(width * (0.42 + 0.12 * bell(share, 0.5, 0.5) + 0.03 * rod), np.float32),
        accent=np.full_like(x, 0.6),
        pale=np.asarray(rise(share, 0.6, 0.9), np.float32),
        dark=np.asarray(0.3 * (1.0 - rod), np.float32),
        shade=np.asarray(bell(share, 0.5, 0.5), np.float32),
    )
