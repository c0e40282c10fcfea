"""Where the units of a surface stand: centres, rows, valleys, at the asked spacing.

Corallites crowd until they touch, which is nearly hexagonal packing: a hexagonal
lattice whose rows wander and whose points are jittered, then pushed apart where
they would overlap. The layout is at last grown or shrunk as a whole until the
mean spacing in view is the asked one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay, Voronoi, cKDTree

from corallum.draw.surface.camera import Camera
from corallum.draw.surface.lines import Lines, stand_in_lines
from corallum.draw.surface.parameters import VALLEYED, SurfaceParameters
from corallum.draw.surface.valleys import ValleyField, grow_valleys

__all__ = ["OWN_CREST", "UNITS", "Layout", "Points", "lattice", "lay_out", "mean_spacing"]

Points = NDArray[np.float64]
UNITS = {
    "hydnophoroid": "hill", "meandroid": "mouth", "flabello_meandroid": "mouth",
    "polystomatous": "mouth", "solitary": "calice", "pores_one_size": "pore",
    "pores_two_sizes": "pore", "pore_rows": "pore", "cyclosystems": "cyclosystem", "tubes": "tube",
}  # fmt: skip
# Share of the spacing by which a centre is off its place in the lattice (standard
# deviation): common practice, no source; set by eye.
_JITTER = {
    "cerioid": 0.1, "plocoid": 0.1, "phaceloid": 0.11, "dendroid": 0.15, "tubes": 0.12,
    "thamnasterioid": 0.12, "polystomatous": 0.16, "hydnophoroid": 0.11, "cyclosystems": 0.14,
    "pores_one_size": 0.13, "pores_two_sizes": 0.13,
}  # fmt: skip
_WALLED = ("plocoid", "phaceloid", "tubes")
_WANDER = 0.16
_UNEVEN = 0.06
_MARGIN = 2.5
# Crest of a valley with walls of its own, as a value of the field of ridges.
OWN_CREST = 0.25


@dataclass(frozen=True)
class Layout:
    """Units of a surface in mm, those just out of view among them.

    Attributes
    ----------
    unit : str
        What repeats.
    centres : ndarray, shape (n, 2)
        x, y.
    radii : ndarray, shape (n,)
        Of the calice or pore, inside the wall.
    rows : ndarray of int, shape (n,), or None
        Row of each pore, in order along the row.
    field : ValleyField or None
        The valleys.
    outward : float
        Direction of the growing edge or the tip, radians; 0 where none is needed.
    lines : Lines or None
        Lines that the centres stand on.
    """

    unit: str
    centres: Points
    radii: NDArray[np.float64]
    rows: NDArray[np.int64] | None = None
    field: ValleyField | None = None
    outward: float = 0.0
    lines: Lines | None = None

    def scaled(self, factor: float, *, radii: bool) -> Layout:
        """Grow about the origin; ``radii`` says whether calices grow as well."""
        field = None if self.field is None else self.field.scaled(factor)
        grown = self.radii * factor if radii else self.radii
        lines = None if self.lines is None else self.lines.scaled(factor)
        return replace(self, centres=self.centres * factor, radii=grown, field=field, lines=lines)


def lay_out(
    params: SurfaceParameters,
    camera: Camera,
    rng: np.random.Generator,
    outward: float | None = None,
) -> Layout:
    """Lay out a surface over what a camera sees.

    Parameters
    ----------
    params : SurfaceParameters
        Arrangement and sizes.
    camera : Camera
        Bounds the layout.
    rng : numpy.random.Generator
        Draws the disorder.
    outward : float, optional
        Direction of the growing edge or the tip, radians; drawn where it is
        needed and not given.

    Returns
    -------
    Layout
        With the asked mean spacing (or valley width) in view.
    """
    if outward is None:
        outward = float(rng.uniform(0.0, 2.0 * np.pi)) if _is_directed(params) else 0.0
    if params.arrangement == "solitary":
        radius = np.array([params.calice_diameter_mm / 2.0])
        return Layout("calice", np.zeros((1, 2)), radius, outward=outward)
    if params.arrangement in VALLEYED:
        return replace(_lay_valleys(params, camera, rng, outward), outward=outward)
    if params.arrangement == "pore_rows":
        return replace(_lay_rows(params, camera, rng), outward=outward)
    if params.concentric_ridges or (params.rows and params.arrangement == "plocoid"):
        return replace(_lay_lines(params, camera, rng, outward), outward=outward)
    return replace(_lay_units(params, camera, rng), outward=outward)


def _is_directed(params: SurfaceParameters) -> bool:
    """Whether the picture depends on where the edge or the tip lies."""
    leaning = params.tilt == "towards_edge" or params.hood
    return leaning or params.rows or params.concentric_ridges


def _lay_lines(
    params: SurfaceParameters, camera: Camera, rng: np.random.Generator, outward: float
) -> Layout:
    """Lay units in lines: towards the tip of a branch, or along the ridges of a plate."""
    d = params.spacing_mm
    ridged = params.concentric_ridges
    lines = Lines(
        angle=outward + (0.5 * np.pi if ridged else 0.0),
        apart_mm=(1.35 if ridged else 1.3) * d,
        bend_mm=(0.55 if ridged else 0.12) * d,
        wave_mm=rng.uniform(10.0, 14.0) * d,
        phase=float(rng.uniform(0.0, 2.0 * np.pi)),
    )
    centres = stand_in_lines(lines, _grown_box(camera, _MARGIN * d), 0.8 * d, rng)
    layout = Layout(
        UNITS.get(params.arrangement, "calice"), centres, np.zeros(len(centres)), lines=lines
    )
    layout = _to_spacing(layout, camera, d)
    sizes = np.exp(rng.normal(0.0, 0.5 * _UNEVEN, len(centres)))
    return replace(layout, radii=_radii(params, layout.centres, sizes))


def lattice(
    box_mm: tuple[float, float, float, float], spacing_mm: float, angle: float = 0.0
) -> Points:
    """Points of a hexagonal lattice that cover a box, shape (n, 2).

    Their density is 2 / (sqrt(3) spacing^2).
    """
    x0, x1, y0, y1 = box_mm
    reach = np.hypot(x1 - x0, y1 - y0) / 2.0 + spacing_mm
    n = int(reach / spacing_mm) + 1
    rows = np.arange(-int(n / 0.86) - 1, int(n / 0.86) + 2)
    columns = np.arange(-n - 1, n + 2)
    i, j = np.meshgrid(columns, rows)
    x = spacing_mm * (i + 0.5 * (j % 2)).ravel()
    y = spacing_mm * np.sqrt(0.75) * j.ravel()
    c, s = np.cos(angle), np.sin(angle)
    points = np.column_stack([c * x - s * y + (x0 + x1) / 2.0, s * x + c * y + (y0 + y1) / 2.0])
    inside = (points >= [x0, y0]) & (points <= [x1, y1])
    return np.asarray(points[inside.all(axis=1)])


def mean_spacing(
    centres: Points, visible: NDArray[np.bool_], rows: NDArray[np.int64] | None = None
) -> float:
    """Mean distance between adjacent centres in view, mm; NaN under three pairs.

    Parameters
    ----------
    centres : ndarray, shape (n, 2)
        In view and around it, so that no pair is an artefact of the border.
    visible : ndarray of bool, shape (n,)
        Both of a pair must be.
    rows : ndarray of int, shape (n,), optional
        Where given, only neighbours in a row are adjacent.

    Returns
    -------
    float
        Over the pairs of the Delaunay triangulation.
    """
    if rows is not None:
        same = (np.diff(rows) == 0) & visible[1:] & visible[:-1]
        lengths = np.hypot(*np.diff(centres, axis=0).T)[same]
    elif len(centres) < 4:
        return float("nan")
    else:
        triangles = Delaunay(centres).simplices
        pairs = np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]],
                                        triangles[:, [0, 2]]]), axis=1)  # fmt: skip
        pairs = np.unique(pairs, axis=0)
        pairs = pairs[visible[pairs].all(axis=1)]
        lengths = np.hypot(*(centres[pairs[:, 0]] - centres[pairs[:, 1]]).T)
    return float(lengths.mean()) if len(lengths) >= 3 else float("nan")


def _grown_box(camera: Camera, margin_mm: float) -> tuple[float, float, float, float]:
    """Box in view with a margin all round."""
    x0, x1, y0, y1 = camera.box_mm()
    return x0 - margin_mm, x1 + margin_mm, y0 - margin_mm, y1 + margin_mm


def _lay_units(params: SurfaceParameters, camera: Camera, rng: np.random.Generator) -> Layout:
    """Lay units in jittered hexagonal packing."""
    d = params.spacing_mm
    centres = lattice(_grown_box(camera, _MARGIN * d), d, rng.uniform(0.0, np.pi))
    centres = _wander(centres, d, rng)
    share = params.calice_diameter_mm / d
    crowded = params.arrangement in _WALLED and share > 0.75
    calm = np.clip((1.0 - share) / 0.25, 0.35, 1.0) if crowded else 1.0
    centres += rng.normal(0.0, calm * _JITTER[params.arrangement] * d, centres.shape)
    sizes = np.exp(rng.normal(0.0, calm * _UNEVEN, len(centres)))
    centres = _push_apart(centres, (1.06 * share if crowded else 0.78) * d * sizes)
    layout = Layout(UNITS.get(params.arrangement, "calice"), centres, np.zeros(len(centres)))
    layout = _to_spacing(layout, camera, d)
    return replace(layout, radii=_radii(params, layout.centres, sizes))


def _wander(centres: Points, d: float, rng: np.random.Generator) -> Points:
    """Bend the rows of a lattice by a few long waves."""
    moved = centres.copy()
    for _ in range(4):
        angle, phase, push = rng.uniform(0.0, 2.0 * np.pi, 3)
        k = 2.0 * np.pi / (d * rng.uniform(6.0, 11.0))
        wave = np.sin(k * (centres @ [np.cos(angle), np.sin(angle)]) + phase)
        moved += _WANDER * d * wave[:, None] * np.array([np.cos(push), np.sin(push)])
    return moved


def _push_apart(centres: Points, room: NDArray[np.float64]) -> Points:
    """Push pairs apart that are nearer than the mean of their rooms."""
    centres = centres.copy()
    for _ in range(6):
        pairs = cKDTree(centres).query_pairs(float(room.max()), output_type="ndarray")
        if len(pairs) == 0:
            break
        a, b = pairs.T
        gap = centres[b] - centres[a]
        distance = np.maximum(np.hypot(*gap.T), 1e-9)
        short = np.maximum((room[a] + room[b]) / 2.0 - distance, 0.0)
        step = 0.5 * gap / distance[:, None] * short[:, None]
        np.add.at(centres, a, -0.6 * step)
        np.add.at(centres, b, 0.6 * step)
    return centres


def _to_spacing(layout: Layout, camera: Camera, spacing_mm: float) -> Layout:
    """Grow a layout until the mean spacing in view is the asked one.

    Which pairs are in view changes with the scale, so the nearest of a few steps
    is kept.
    """
    best, least = layout, np.inf
    for _ in range(6):
        found = mean_spacing(layout.centres, camera.sees(layout.centres), layout.rows)
        if not np.isfinite(found):
            break
        if abs(found / spacing_mm - 1.0) < least:
            best, least = layout, abs(found / spacing_mm - 1.0)
        layout = layout.scaled(spacing_mm / found, radii=False)
    return best


def _radii(
    params: SurfaceParameters, centres: Points, sizes: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Radius of each calice: of its own size, and within the room its neighbours leave."""
    asked = params.calice_diameter_mm / 2.0
    if params.arrangement in ("cerioid", "thamnasterioid", "hydnophoroid", "polystomatous"):
        # Radius of the circle with the area of the cell, as the asked share of it.
        share = min(1.0, params.calice_diameter_mm / params.spacing_mm)
        return share * _cell_radii(centres, params.spacing_mm)
    nearest = cKDTree(centres).query(centres, k=2)[0][:, 1]
    return np.asarray(np.minimum(asked * sizes / sizes.mean(), 0.47 * nearest))


def _cell_radii(centres: Points, spacing_mm: float) -> NDArray[np.float64]:
    """Radius of the circle that has the area of each Voronoi cell."""
    cells = Voronoi(centres)
    hexagon = np.sqrt(np.sqrt(0.75) * spacing_mm**2 / np.pi)
    radii = np.full(len(centres), hexagon)
    for i, region in enumerate(cells.point_region):
        corners = cells.regions[region]
        if not corners or -1 in corners:
            continue
        x, y = cells.vertices[corners].T
        area = 0.5 * abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1)))
        radii[i] = min(np.sqrt(area / np.pi), 1.5 * hexagon)
    return radii


def _lay_rows(params: SurfaceParameters, camera: Camera, rng: np.random.Generator) -> Layout:
    """Lay pores in slightly bent rows, five spacings apart."""
    d = params.spacing_mm
    x0, x1, y0, y1 = _grown_box(camera, _MARGIN * d)
    reach = np.hypot(x1 - x0, y1 - y0) / 2.0
    angle, phase = rng.uniform(0.0, 2.0 * np.pi, 2)
    along = np.arange(-reach, reach, d)
    points, rows = [], []
    for row, across in enumerate(np.arange(-reach, reach, 5.0 * d) + rng.uniform(0.0, d)):
        s = along + rng.normal(0.0, 0.07 * d, len(along))
        t = across + 0.5 * d * np.sin(2.0 * np.pi * s / (22.0 * d) + phase)
        points.append(np.column_stack([s, t + rng.normal(0.0, 0.04 * d, len(s))]))
        rows.append(np.full(len(s), row))
    c, s_ = np.cos(angle), np.sin(angle)
    centres = np.concatenate(points) @ np.array([[c, s_], [-s_, c]])
    radii = np.full(len(centres), params.calice_diameter_mm / 2.0)
    layout = Layout("pore", centres, radii, rows=np.concatenate(rows))
    return _to_spacing(layout, camera, d)


def _lay_valleys(
    params: SurfaceParameters, camera: Camera, rng: np.random.Generator, outward: float
) -> Layout:
    """Grow valleys of the asked mean width in view, with mouths along them."""
    width = params.valley_width_mm or params.spacing_mm
    own_walls = params.arrangement == "flabello_meandroid"
    crest = OWN_CREST if own_walls else None
    # With walls of its own, a valley is about 0.6 of a whole wave.
    wave = width / 0.6 if own_walls else width
    across = outward if params.concentric_ridges else None
    box = _grown_box(camera, (3.0 if params.concentric_ridges else 1.5) * wave)
    field = grow_valleys(box, wave, rng, short=params.short_valleys, across=across)
    for _ in range(3):
        points, widths = field.widths(crest)
        seen = camera.sees(points)
        if seen.any():
            field = field.scaled(width / float(widths[seen].mean()))
    centres = [_along(axis, params.spacing_mm, rng) for axis in field.axes]
    together = np.concatenate(centres) if centres else np.zeros((0, 2))
    radii = np.full(len(together), min(params.calice_diameter_mm, width) / 2.0)
    return Layout("mouth", together, radii, field=field)


def _along(axis: Points, spacing_mm: float, rng: np.random.Generator) -> Points:
    """Points along a line, one spacing apart with a little disorder, at least one."""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(axis, axis=0).T))])
    n = max(1, round(length[-1] / spacing_mm))
    at = (np.arange(n) + 0.5 + rng.normal(0.0, 0.06, n)) * length[-1] / n
    return np.column_stack([np.interp(at, length, axis[:, i]) for i in (0, 1)])
