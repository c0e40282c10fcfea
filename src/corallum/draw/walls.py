"""How neighbouring corallites meet: walls of their own, shared walls, valleys, or none."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from corallum.draw.calice import ring, septa
from corallum.draw.geometry import (
    capsule,
    ellipse,
    hexagonal,
    lattice_cells,
    outline_of_all,
    outside,
    polar,
    smooth,
    within,
)
from corallum.draw.ink import (
    BOLD,
    FINE,
    LINE,
    SOLID,
    Disc,
    Mark,
    Marks,
    Points,
    Stroke,
    stroke,
)
from corallum.draw.valleys import beside, spaced, ticks, valley

__all__ = ["DRAWN", "cerioid", "cerioid_cells", "framed", "mouth", "plocoid"]

_FRAME = np.array([(4.0, 4.0), (96, 4), (96, 96), (4, 96)])


def framed(marks: Sequence[Mark], frame: Points = _FRAME) -> Marks:
    """Cut lines off at a frame; discs that do not fit in it are left out."""
    (low_x, low_y), (high_x, high_y) = frame.min(axis=0), frame.max(axis=0)
    discs = [m for m in marks if isinstance(m, Disc)]
    fits = [d for d in discs if low_x + d.r <= d.x <= high_x - d.r
            and low_y + d.r <= d.y <= high_y - d.r]  # fmt: skip
    return (*within([m for m in marks if isinstance(m, Stroke)], frame), *fits)


def mouth(x: float, y: float, r: float = 2.2) -> Disc:
    """Draw a centre or mouth."""
    return Disc(x, y, r, SOLID, "centre")


def plocoid(gap: float = 34.0, r: float = 11.0) -> Marks:
    """Draw separate rings, each with its own wall, and surface between."""
    marks: list[Mark] = []
    for x, y in hexagonal(gap, 0.04, 10) * (1.0, 0.98) + (0, 0.5):
        if max(abs(x - 50), abs(y - 50)) < 49 - r:
            marks += ring((x, y), r, 12, BOLD)
            marks += septa((x, y), [(r + 1.5, r + 3.5)], 12, FINE, -75)
    return tuple(marks)


def cerioid_cells(gap: float = 31.0) -> tuple[Points, list[Points]]:
    """Return centres and polygons of a shaken hexagonal lattice that share every wall."""
    centres = hexagonal(gap, 0.13, 60)
    cells = lattice_cells(centres, gap)
    seen = [i for i, c in enumerate(centres) if max(abs(c - 50)) < 50 + 0.3 * gap]
    return centres[seen], [cells[i] for i in seen]


def _edges(cells: Sequence[Points]) -> list[Stroke]:
    """Return each edge of the polygons once."""
    found: list[Stroke] = []
    for cell in cells:
        for a, b in zip(cell, np.roll(cell, -1, axis=0), strict=True):
            middle = (a + b) / 2
            if all(np.hypot(*(middle - one.points.mean(axis=0))) > 1e-6 for one in found):
                found.append(stroke([a, b], BOLD, "wall"))
    return found


def _inward(cell: Points, centre: Points, step: float, share: tuple[float, float]) -> list[Stroke]:
    """Return septa from the edges of a polygon towards its centre."""
    found = []
    for a, b in zip(cell, np.roll(cell, -1, axis=0), strict=True):
        n = max(1, round(float(np.hypot(*(b - a))) / step))
        for k in range(n):
            foot = a + (b - a) * (k + 0.5) / n
            ends = [foot + s * (centre - foot) for s in share]
            found.append(stroke(ends, FINE, "septum"))
    return found


def cerioid(gap: float = 31.0) -> Marks:
    """Draw polygons that share their walls."""
    centres, cells = cerioid_cells(gap)
    marks: list[Mark] = [*_edges(cells)]
    for centre, cell in zip(centres, cells, strict=True):
        marks += _inward(cell, centre, 7.5, (0.0, 0.42))
        marks.append(mouth(*centre))
    return framed(marks)


def _tube(x: float, top: float, foot: tuple[float, float], r: float, squash: float) -> list[Stroke]:
    """Return the outline of a tube with an open round end."""
    left = smooth([(x - r, top), (x - 0.9 * r, top + 24), (foot[0] - 0.6 * r, foot[1])])
    right = smooth([(x + r, top), (x + 0.9 * r, top + 24), (foot[0] + 0.6 * r, foot[1])])
    return [
        stroke(ellipse(x, top, r, r * squash), BOLD, "wall", closed=True),
        stroke(left, BOLD, "wall"),
        stroke(right, BOLD, "wall"),
    ]


def _end(x: float, y: float, r: float, squash: float, n: int = 12) -> Marks:
    """Draw the septa in the open end of a tube seen aslant."""
    t = np.radians(np.arange(n) * 360 / n + 12)
    return tuple(
        stroke([(x + s * r * np.cos(a), y + s * r * squash * np.sin(a)) for s in (0.95, 0.4)],
               FINE, "septum")
        for a in t
    )  # fmt: skip


def _phaceloid() -> Marks:
    """Draw tall separate tubes of about one height."""
    marks: list[Mark] = []
    for x, foot in ((18.0, 34.0), (50.0, 50.0), (82.0, 66.0)):
        marks += _tube(x, 24, (foot, 94), 12.5, 0.62)
        marks += _end(x, 24, 12.5, 0.62)
    return tuple(marks)


def _dendroid() -> Marks:
    """Draw tubes that branch like a tree with a corallite at each end."""
    ends = [(14.0, 36.0), (36.0, 14.0), (65.0, 16.0), (87.0, 40.0)]
    limbs = [
        capsule((50, 100), (50, 76), 6, 5.5), capsule((50, 76), (30, 56), 5.5, 5),
        capsule((50, 76), (70, 58), 5.5, 5), capsule((30, 56), (17, 40), 5, 6),
        capsule((30, 56), (36, 20), 5, 6), capsule((70, 58), (65, 22), 5, 6),
        capsule((70, 58), (84, 44), 5, 6),
    ]  # fmt: skip
    cups = [ellipse(x, y, 10, 8) for x, y in ends]
    lines = outside(outline_of_all(limbs, BOLD, "wall"), [*cups, ellipse(50, 109, 30, 13)])
    rims = [stroke(cup, BOLD, "wall", closed=True) for cup in cups]
    return (*lines, *rims, *(s for x, y in ends for s in _end(x, y, 10, 0.8, 10)))


def _meandroid() -> Marks:
    """Draw winding valleys with several centres between walls that they share."""
    x = np.linspace(-6, 106, 90)
    marks: list[Mark] = []
    for row in range(-1, 5):
        y = 15 + 23.5 * row + 7 * np.sin(x / 11 + 0.3)
        axis = np.column_stack((x, y))
        marks.append(stroke(np.column_stack((x, y + 11.75)), BOLD, "wall"))
        marks += ticks(axis, (5, 10.8), 6.5)
        marks += [mouth(float(p[0]), float(p[1]), 1.9) for p in spaced(axis, 16)]
    return framed(marks)


def _flabello_meandroid() -> Marks:
    """Draw valleys, each with a wall of its own, and space between them."""
    axes = [
        smooth([(14, 84), (13, 60), (20, 38), (15, 16)]),
        smooth([(44, 86), (42, 66), (52, 48), (46, 30), (53, 14)]),
        smooth([(78, 86), (85, 64), (80, 44), (86, 16)]),
    ]
    marks: list[Mark] = []
    for axis in axes:
        outline, inner = valley(axis, 9.5, 17)
        marks += [stroke(outline, BOLD, "wall", closed=True), *inner]
    return tuple(marks)


def _hydnophoroid() -> Marks:
    """Draw cone-shaped hills, lines running down them, and centres all round."""
    hills = hexagonal(34, 0.06, 20)
    marks: list[Mark] = []
    for x, y in hills:
        marks.append(stroke(ellipse(x, y, 6.5, 3.6, 40 * x + 17 * y), BOLD, "hill", closed=True))
        marks += septa((x, y), [(8.6, 13), (7.6, 11)], 10, LINE)
    cells = lattice_cells(hills, 34)
    corners = {tuple(np.round(c, 1)) for cell in cells for c in cell}
    marks += [mouth(float(cx), float(cy), 2) for cx, cy in sorted(corners)]
    return framed(marks)


def _field_line(a: Points, b: Points, bow: float) -> Points:
    """Return a septum that leaves one centre, bows aside and enters the next."""
    along = b - a
    side = np.array([-along[1], along[0]]) / float(np.hypot(*along))
    t = np.linspace(0.17, 0.83, 21)[:, None]
    line: Points = a + along * t + side * bow * np.sin(np.pi * (t - 0.08) / 0.84)
    return line


def _thamnasterioid() -> Marks:
    """Draw septa running from centre to centre, no walls between."""
    centres = hexagonal(36, 0.07, 40)
    marks: list[Mark] = [mouth(x, y, 2.8) for x, y in centres]
    for i, a in enumerate(centres):
        for b in centres[i + 1 :]:
            if np.hypot(*(b - a)) < 36 * 1.4:
                marks += [stroke(_field_line(a, b, bow), LINE, "septum") for bow in (-5.0, 0, 5.0)]
    return framed(marks)


def _polystomatous() -> Marks:
    """Draw one disc with several centres in it and no walls between them."""
    outline = smooth([(6, 50), (16, 20), (48, 7), (82, 16), (94, 48), (84, 80), (52, 94), (18, 82)],
                     closed=True)  # fmt: skip
    places = [(50.0, 50.0), (28.0, 34.0), (66.0, 29.0), (73.0, 62.0), (44.0, 74.0), (24.0, 60.0)]
    marks: list[Mark] = [stroke(outline, BOLD, "wall", closed=True)]
    for i, place in enumerate(places):
        marks.append(stroke(ellipse(*place, 4, 2, 50.0 * i), SOLID, "centre"))
        marks += septa(place, [(6.0, 10.0)], 9, FINE, 20.0 * i)
    rim = [stroke([p, 50 + 0.86 * (p - 50)], FINE, "septum") for p in outline[::2]]
    return (*marks, *rim)


def _solitary() -> Marks:
    """Draw one corallite with a furrow in its middle."""
    return (
        Disc(50, 50, 43, BOLD, "wall"),
        *septa((50, 50), [(16, 42), (27, 42), (21, 42), (27, 42)], 40),
        stroke([(41, 50), (59, 50)], BOLD, "centre"),
    )


def _pores_one_size() -> Marks:
    """Draw pores of one size strewn over a surface."""
    return framed([Disc(x, y, 2.6, SOLID, "pore") for x, y in hexagonal(13.5, 0.16)])


def _pores_two_sizes() -> Marks:
    """Draw large pores, each among several small ones."""
    marks: list[Mark] = []
    for i, (x, y) in enumerate(hexagonal(33, 0.06, 10)):
        if max(abs(x - 50), abs(y - 50)) < 36:
            marks.append(Disc(x, y, 5.2, SOLID, "large pore"))
            marks += [Disc(*polar(x, y, 12.5, 17 * i + 60 * k), 1.6, SOLID, "small pore")
                      for k in range(6)]  # fmt: skip
    return tuple(marks)


def _pore_rows() -> Marks:
    """Draw a branch with rows of pores along both edges."""
    stem = smooth([(34, 97), (36, 70), (22, 44), (12, 20), (20, 10), (30, 18), (42, 42),
                   (50, 54), (60, 40), (70, 16), (80, 8), (88, 18), (78, 46), (64, 72),
                   (66, 97)])  # fmt: skip
    marks: list[Mark] = [stroke(stem, BOLD, "branch")]
    for edge in (stem[:36], stem[78:]):
        marks += [Disc(x, y, 2, SOLID, "pore") for x, y in spaced(beside(edge, -5.5), 7)]
    return framed(marks)


def _cyclosystem(x: float, y: float, r: float, n: int = 10) -> Marks:
    """Draw a pore within a ring of slits."""
    return (
        Disc(x, y, 0.3 * r, SOLID, "pore"),
        *septa((x, y), [(0.58 * r, r)], n, 0.16 * r, 9.0),
    )


def _cyclosystems() -> Marks:
    """Draw pores, each within a ring of smaller slits, like tiny flowers."""
    places = [(24, 25, 17), (70, 22, 16), (48, 56, 18), (17, 76, 13), (82, 64, 14), (66, 86, 10)]
    return tuple(m for x, y, r in places for m in _cyclosystem(x, y, r))


def _tubes() -> Marks:
    """Draw round tubes without septa, side by side, joined by level floors."""
    marks: list[Mark] = []
    for i, x in enumerate((13.0, 31.5, 50.0, 68.5, 87.0)):
        top = (22.0, 14.0, 20.0, 12.0, 24.0)[i]
        marks.append(stroke(ellipse(x, top, 7.6, 4.6), BOLD, "tube", closed=True))
        marks.append(stroke(ellipse(x, top + 0.6, 4.6, 2.2), SOLID, "opening"))
        marks += [stroke([(x + s * 7.6, top), (x + s * 7.6, 96)], BOLD, "tube") for s in (-1, 1)]
        for level in (50.0, 78.0):
            marks.append(stroke([(x - 9.2, level), (x + 9.2, level)], LINE, "floor"))
            marks.append(stroke([(x - 9.2, level + 4), (x + 9.2, level + 4)], LINE, "floor"))
    return tuple(marks)


def _pores() -> Marks:
    """Draw a surface with pores only: of one size, of two, in rows and in flowers."""
    one = [Disc(x, y, 2.4, SOLID, "pore") for x in (10, 22, 34) for y in (12, 24, 36)]
    two = [Disc(74, 24, 5.5, SOLID, "pore"),
           *(Disc(*polar(74, 24, 14, 60 * k), 1.7, SOLID, "pore") for k in range(6))]  # fmt: skip
    rows = [Disc(x, y, 1.8, SOLID, "pore") for y in (68, 84) for x in np.arange(8, 42, 6.5)]
    cross = (stroke([(50, 4), (50, 96)], FINE, "frame"), stroke([(4, 50), (96, 50)], FINE, "frame"))
    return (*one, *two, *rows, *_cyclosystem(74, 75, 16), *cross)


def _shared() -> Marks:
    """Draw two neighbours that meet in one wall."""
    left, right = _pair(0.0)
    return _two(left, right)


def _own() -> Marks:
    """Draw two neighbours, each with a wall of its own."""
    return (*ring((26, 50), 19, 14, BOLD), *ring((74, 50), 19, 14, BOLD))


def _pair(gap: float) -> tuple[Points, Points]:
    """Return two hexagons side by side, ``gap`` apart."""
    left = np.array([(50 - gap, 28.0), (50 - gap, 72), (27, 86), (5, 72), (5, 28), (27, 14)])
    return left, np.column_stack((100 - left[:, 0], left[:, 1]))


def _two(left: Points, right: Points) -> Marks:
    """Draw two polygons with septa and centres."""
    marks: list[Mark] = [stroke(p, BOLD, "wall", closed=True) for p in (left, right)]
    for cell in (left, right):
        centre = cell.mean(axis=0)
        marks += _inward(cell, centre, 8.0, (0.0, 0.45))
        marks.append(mouth(float(centre[0]), float(centre[1]), 2.6))
    return tuple(marks)


def _calices() -> Marks:
    """Draw calices with septa."""
    return (*ring((28, 30), 22, 16, BOLD), *ring((72, 70), 22, 16, BOLD),
            *ring((76, 22), 13, 12), *ring((24, 78), 13, 12))  # fmt: skip


_ARRANGEMENTS: Mapping[str, Callable[[], Marks]] = {
    "plocoid": plocoid,
    "cerioid": cerioid,
    "phaceloid": _phaceloid,
    "dendroid": _dendroid,
    "meandroid": _meandroid,
    "flabello_meandroid": _flabello_meandroid,
    "hydnophoroid": _hydnophoroid,
    "thamnasterioid": _thamnasterioid,
    "polystomatous": _polystomatous,
    "solitary": _solitary,
    "pores_one_size": _pores_one_size,
    "pores_two_sizes": _pores_two_sizes,
    "pore_rows": _pore_rows,
    "cyclosystems": _cyclosystems,
    "tubes": _tubes,
    "pores": _pores,
}

DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    **{("corallite_arrangement", state): draw for state, draw in _ARRANGEMENTS.items()},
    ("shared_wall", "yes"): _shared,
    ("shared_wall", "no"): _own,
    ("openings", "calices"): _calices,
    **{
        ("openings", state): _ARRANGEMENTS[state]
        for state in ("pores_one_size", "pores_two_sizes", "pore_rows", "cyclosystems", "tubes")
    },
}
