"""Heights of winding valleys between ridges, with septa down their sides."""

from __future__ import annotations

import numpy as np

from corallum.draw.surface.calice import bell, rise
from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import nearest_axis
from corallum.draw.surface.layout import OWN_CREST, Layout
from corallum.draw.surface.parameters import SurfaceParameters
from corallum.draw.surface.relief import Relief

__all__ = ["raise_valleys"]


def raise_valleys(
    params: SurfaceParameters, layout: Layout, x: Floats32, y: Floats32, rng: np.random.Generator
) -> Relief:
    """Winding valleys between ridges, with septa down their sides."""
    field = layout.field
    if field is None or not field.axes:
        return Relief(x * 0.0, x * 0.0, x * 0.0, x * 0.0)
    width = np.float32(params.valley_width_mm or params.spacing_mm)
    up = np.clip(field.at(x, y), -1.1, 1.3)
    along, across, rest = nearest_axis(x, y, field.axes)
    per_mm = params.septa_count / (2.0 * params.spacing_mm)
    own = params.arrangement == "flabello_meandroid"
    top = OWN_CREST if own else 1.0
    q = (up + 1.0) / np.float32(top + 1.0)
    shape = {"sharp": 2.6, "rounded": 1.7, "flat": 1.2}[params.wall_crest]
    edge = 0.5 * np.minimum(np.maximum(q, 0.0), 1.05) ** shape
    ridge = _comb(along, across, per_mm, params, rng) * (1.0 - rise(rest, 0.0, 0.3 * float(width)))
    clear = {"indistinct": 0.03, "even": 0.11, "prominent": 0.16}[params.septa_relief]
    height = edge - clear * (1.0 - ridge) * rise(q, 0.16, 0.35) * (1.0 - 0.7 * rise(q, 0.85, 1.0))
    height += _valley_middle(params, along, across, q, float(width))
    accent, dark = 1.0 - rise(q, 0.3, 0.7), 0.25 * bell(q, 0.3)
    if own:
        gap = rise(up, OWN_CREST, OWN_CREST + 0.45)
        height -= 0.75 * gap
        dark = np.maximum(dark, 0.6 * gap)
    elif params.groove:
        height -= 0.3 * rise(up, 0.72, 0.95)
    return Relief(width * height, accent, rise(q, 0.75, 1.0) * (1.0 - dark), dark)


def _comb(
    along: Floats32,
    across: Floats32,
    per_mm: float,
    params: SurfaceParameters,
    rng: np.random.Generator,
) -> Floats32:
    """Septa of a valley, 0 to 1: plates across it at both sides, out of step."""
    phase = along * np.float32(per_mm) + np.float32(0.37) * (across > 0.0)
    phase += np.float32(0.12) * np.sin(np.float32(rng.uniform(0.5, 0.8)) * phase)
    nearest = np.round(phase)
    ridge = bell(phase - nearest, 0.24)
    if params.septa_order != "equal":
        ridge *= np.where(nearest.astype(np.int32) % 2 == 0, 1.0, 0.5)
    length, depth = {"none": (1.0, 0.0), "fine": (0.05, 0.35), "spiny": (0.12, 0.75)}.get(
        params.septal_teeth, (0.25, 0.65)
    )
    size = np.float32(length * (params.valley_width_mm or 1.0))
    wave = 0.5 - 0.5 * np.cos(np.float32(2.0 * np.pi) * np.abs(across) / size + 2.4 * nearest)
    return ridge * (1.0 - np.float32(depth) * (1.0 - wave))


def _valley_middle(
    params: SurfaceParameters, along: Floats32, across: Floats32, q: Floats32, width: float
) -> Floats32:
    """Columella along the floor, a row of lobes, in widths."""
    middle = bell(across, 0.07 * width)
    if params.columella in ("spongy", "papillose", "styliform"):
        step = np.float32(2.0 * np.pi / (0.14 * width))
        raised = 0.07 * middle * (0.55 + 0.45 * np.cos(step * along))
    elif params.columella == "lamellar":
        raised = 0.12 * bell(across, 0.035 * width)
    else:
        raised = -0.08 * middle
    if params.paliform_crown:
        beads = 0.5 + 0.5 * np.cos(np.float32(2.0 * np.pi / (0.2 * width)) * along)
        raised += 0.11 * beads * bell(np.abs(across), 0.04 * width, 0.17 * width)
    return np.asarray(raised * (1.0 - rise(q, 0.4, 0.8)))
