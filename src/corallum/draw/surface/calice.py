"""The inside of a calice: bowl, septa, lobes and columella, in shares of its radius."""

from __future__ import annotations

import numpy as np

from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import Cells
from corallum.draw.surface.parameters import SurfaceParameters
from corallum.draw.surface.septa import SeptaTables, toothed

__all__ = ["Inside", "bell", "columella_height", "fill_calice", "rise"]

# Depth of a calice, and how far septa stand over the floor between, in radii.
_DEPTH = 0.62
_CLEAR = {"indistinct": 0.1, "even": 0.34, "prominent": 0.42}
_LOBES_AT, _LOBES_WIDE, _LOBES_HIGH = 0.4, 0.1, 0.4

Inside = tuple[Floats32, Floats32]


def rise(q: Floats32, low: float, high: float) -> Floats32:
    """Smooth step from 0 at ``low`` to 1 at ``high``."""
    t = np.clip((q - np.float32(low)) / np.float32(high - low), 0.0, 1.0)
    return np.asarray(t * t * (3.0 - 2.0 * t))


def bell(q: Floats32, width: float, at: float = 0.0) -> Floats32:
    """Bell of unit height at ``at``."""
    return np.asarray(np.exp(-(((q - np.float32(at)) / np.float32(width)) ** 2)))


def fill_calice(
    params: SurfaceParameters, cells: Cells, q: Floats32, septa: SeptaTables, radius_mm: float
) -> Inside:
    """Height and accent within calices.

    Parameters
    ----------
    params : SurfaceParameters
        States of septa, columella and lobes.
    cells : Cells
        Where every point is.
    q : ndarray
        Distance from the centre as a share of the way to the wall.
    septa : SeptaTables
        Septa around each centre.
    radius_mm : float
        Mean radius.

    Returns
    -------
    height : ndarray
        In radii, 0 at the crest of the wall and less inside; continues at q > 1 as 0.
    accent : ndarray
        0 at the wall to 1 on the oral disc.
    """
    inner = np.minimum(q, 1.0)
    ridge = toothed(septa, cells, cells.r, radius_mm, params.septal_teeth)
    edge = -_DEPTH * (1.0 - rise(inner, 0.05, 1.0)) * (1.0 - 0.25 * inner)
    plates = rise(q, 0.14, 0.3) * (1.0 - 0.75 * rise(q, 0.8, 1.02)) * (q < 1.1)
    stand = np.float32(_CLEAR[params.septa_relief]) * plates
    height = edge - stand * (1.0 - ridge)
    if params.septa_relief == "prominent":
        main = cells.look_up(septa.main)
        height += 0.34 * main * bell(q, 0.16, 0.93)
    if params.paliform_crown:
        main = cells.look_up(septa.main)
        height += _LOBES_HIGH * np.sqrt(main) * bell(q, _LOBES_WIDE, _LOBES_AT)
        height -= 0.16 * bell(q, 0.05, 0.56)
    height += columella_height(params.columella, cells.dx / radius_mm, cells.dy / radius_mm, q)
    return height, 1.0 - rise(q, 0.5, 0.95)


def columella_height(kind: str, dx: Floats32, dy: Floats32, q: Floats32) -> Floats32:
    """Height of what stands in the middle, in radii; ``dx`` and ``dy`` are in radii too."""
    if kind == "styliform":
        return 0.42 * bell(q, 0.09)
    if kind == "spongy":
        threads = np.sin(38.0 * dx + 6.0 * np.sin(17.0 * dy)) * np.sin(
            41.0 * dy + 5.0 * np.sin(19.0 * dx)
        )
        return np.asarray(bell(q, 0.24) * (0.26 + 0.11 * threads))
    if kind == "lamellar":
        along, across = 0.8 * dx + 0.6 * dy, 0.8 * dy - 0.6 * dx
        return 0.45 * bell(across, 0.06) * (1.0 - rise(np.abs(along), 0.16, 0.3))
    if kind == "papillose":
        pillars = np.cos(34.0 * dx) * np.cos(34.0 * dy)
        return np.asarray(0.42 * bell(q, 0.21) * np.maximum(pillars, 0.0))
    return -0.3 * bell(q, 0.16)
