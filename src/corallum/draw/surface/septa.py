"""Septa around a centre as tables by direction: their height, their number, their teeth.

A table has a row for each centre and a column for each direction. A septum is a
ridge in it; an exact look-up by direction then draws the septa of a whole picture.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay

from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import Cells

__all__ = ["SeptaTables", "confluent_septa", "outline_table", "radial_septa", "toothed"]

# Height of successive septa, as a share of the highest.
_ORDERS = {
    "equal": (1.0,),
    "alternating": (1.0, 0.55),
    "unequal": (1.0, 0.3, 0.62, 0.3),
}
_HALF_THICKNESS = {"equal": 0.24, "alternating": 0.2, "unequal": 0.2}
# Below this number septa keep the width that they have with it.
_FEW = 10.0
# Length of a tooth along the septum as a share of the radius, and its depth as a
# share of the septum: set by eye from the definitions of the states.
# More centres than this take turns, or a picture of many small ones would not fit in memory.
_MOST_ROWS = 400
_MOST_MATCHED = 2500
_TEETH = {"none": (1.0, 0.0), "fine": (0.07, 0.35), "spiny": (0.17, 0.8), "lobed": (0.36, 0.65)}


@dataclass(frozen=True)
class SeptaTables:
    """Septa by centre and direction, each of shape (n, bins).

    Attributes
    ----------
    height : ndarray
        0 between septa to 1 on the crest of the highest.
    main : ndarray
        1 on septa of the first order only.
    teeth : ndarray
        Where on the septum its teeth start, as a share of a tooth.
    """

    height: Floats32
    main: Floats32
    teeth: Floats32


def radial_septa(n: int, count: int, order: str, rng: np.random.Generator) -> SeptaTables:
    """Draw septa around each of n centres, evenly but for a little disorder.

    Parameters
    ----------
    n : int
        Centres.
    count : int
        Septa of a calice; each centre has this number, or one or two more or less.
    order : str
        State of septa_order.
    rng : numpy.random.Generator
        Draws numbers, first directions and disorder.

    Returns
    -------
    SeptaTables
        By centre and direction.
    """
    n = min(n, _MOST_ROWS)
    period = len(_ORDERS[order])
    spread = max(1, round(0.06 * count)) if n > 1 else 0
    counts = count + rng.integers(-spread, spread + 1, n)
    counts = np.maximum(period, np.round(counts / period).astype(int) * period)
    bins = int(max(720, 20 * counts.max()))
    turn = np.arange(bins) / bins
    phase = counts[:, None] * turn + rng.uniform(0.0, period, n)[:, None]
    for waves in (1, 2, 3):
        start = rng.uniform(0.0, 1.0, n)[:, None]
        phase += 0.25 / waves * np.sin(2.0 * np.pi * (waves * turn + start))
    # Few septa are plates too, not wedges that fill the calice.
    return _tables(phase, order, rng, thin=min(1.0, count / _FEW))


def confluent_septa(
    centres: NDArray[np.float64], count: int, order: str, rng: np.random.Generator
) -> SeptaTables:
    """Draw septa that run on into those of the neighbours.

    Septa meet on the border of two cells where both stand at the same angle from
    the line that joins the centres. The border ends where three cells meet, and
    from both centres the angle to that corner is 90 degrees less the angle of the
    triangle at the third centre: a whole number and a half of septa is set in it,
    so that nothing breaks there either.
    """
    if len(centres) > _MOST_MATCHED:
        # Cells this small show no septa that could break.
        return radial_septa(len(centres), count, order, rng)
    bins = int(max(720, 24 * count))
    turn = (np.arange(bins) + 0.5) / bins * 2.0 * np.pi
    triangulation = Delaunay(centres)
    start, neighbours = triangulation.vertex_neighbor_vertices
    phase = np.tile(turn / (2.0 * np.pi) * count, (len(centres), 1))
    for i in range(len(centres)):
        around = neighbours[start[i] : start[i + 1]]
        phase[i] = _matched_phase(centres[i], centres[around], count, turn)
    return _tables(phase, order, rng, fold=True)


def _matched_phase(
    centre: NDArray[np.float64], around: NDArray[np.float64], count: int, turn: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Number of septa counted from the direction of the nearest neighbour, by direction."""
    arms = around - centre
    angles = np.arctan2(arms[:, 1], arms[:, 0]) % (2.0 * np.pi)
    order = np.argsort(angles)
    angles, arms = angles[order], arms[order]
    phase = np.zeros(len(turn))
    for j in range(len(angles)):
        k = (j + 1) % len(angles)
        gap = (angles[k] - angles[j]) % (2.0 * np.pi)
        first, second = _half_sectors(arms[j], arms[k], gap)
        within = (turn - angles[j]) % (2.0 * np.pi)
        inside = within < gap
        near = inside & (within <= first)
        phase[near] = within[near] * _rate(first, count)
        far = inside & (within > first)
        phase[far] = (gap - within[far]) * _rate(second, count)
    return phase


def _half_sectors(
    one: NDArray[np.float64], other: NDArray[np.float64], gap: float
) -> tuple[float, float]:
    """Angles from two neighbours to the corner between them, which add up to ``gap``."""
    side = other - one
    cosine = np.dot(side, other) / (np.linalg.norm(side) * np.linalg.norm(other))
    first = np.pi / 2.0 - float(np.arccos(np.clip(cosine, -1.0, 1.0)))
    first = float(np.clip(first, 0.02, max(gap - 0.02, 0.021)))
    return first, max(gap - first, 0.02)


def _rate(sector: float, count: int) -> float:
    """Septa per radian that put a whole number and a half into a sector."""
    whole = max(0.0, np.round(sector * count / (2.0 * np.pi) - 0.5))
    return float((whole + 0.5) / sector)


def _tables(
    phase: NDArray[np.float64],
    order: str,
    rng: np.random.Generator,
    *,
    fold: bool = False,
    thin: float = 1.0,
) -> SeptaTables:
    """Turn counted septa into ridges."""
    heights = np.array(_ORDERS[order])
    nearest = np.round(phase).astype(np.int64)
    off = (phase - nearest) / (thin * _HALF_THICKNESS[order])
    of_order = heights[nearest % len(heights)]
    if fold:
        # Septa that run on are crowded: they fill the surface, and differ less.
        off, of_order = off * 0.72, 0.5 + 0.5 * of_order
    ridge = np.exp(-(off**2)) * of_order
    starts = rng.uniform(0.0, 1.0, 997)
    rows = 0 if fold else 31 * np.arange(len(phase))[:, None]
    teeth = starts[(nearest + rows) % 997]
    main = np.exp(-(off**2)) * (of_order > 0.9)
    return SeptaTables(ridge.astype(np.float32), main.astype(np.float32), teeth.astype(np.float32))


def outline_table(n: int, rough: float, rng: np.random.Generator, bins: int = 360) -> Floats32:
    """Draw how far each outline departs from a circle: factors about 1, shape (n, bins)."""
    n = min(n, _MOST_ROWS)
    turn = np.arange(bins) / bins
    table = np.ones((n, bins))
    for waves in (2, 3, 4, 5):
        size = rng.normal(0.0, rough / waves, (n, 1))
        table += size * np.sin(2.0 * np.pi * (waves * turn + rng.uniform(0.0, 1.0, (n, 1))))
    return table.astype(np.float32)


def toothed(
    septa: SeptaTables, cells: Cells, distance: Floats32, radius_mm: float, teeth: str
) -> Floats32:
    """Height of the septa with their teeth, 0 to 1, at every point.

    Parameters
    ----------
    septa : SeptaTables
        By centre and direction.
    cells : Cells
        Where every point is.
    distance : ndarray
        Along the septum, mm.
    radius_mm : float
        Of a calice, which sets the size of the teeth.
    teeth : str
        State of septal_teeth.
    """
    height = cells.look_up(septa.height)
    length, depth = _TEETH[teeth]
    if depth == 0.0:
        return height
    along = distance / np.float32(length * radius_mm) + cells.look_up(septa.teeth)
    # A septum that meets that of the neighbour has its teeth to itself.
    wave = 0.5 - 0.5 * np.cos(np.float32(2.0 * np.pi) * along)
    if teeth == "spiny":
        wave = wave**2
    return height * (1.0 - np.float32(depth) * (1.0 - wave))
