"""The surface between corallites: above as seen from above, below in section."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from corallum.draw.calice import section
from corallum.draw.geometry import (
    arc,
    capsule,
    ellipse,
    hatched,
    hexagonal,
    outline_of_all,
    outside,
    polar,
    smooth,
    wave,
)
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Mark, Marks, Points, Stroke, stroke
from corallum.draw.walls import framed

__all__ = ["DRAWN"]

_LEVEL, _BOTTOM = 80.0, 97.0
# Two calices at the sides of the upper part, and what lies between them.
_CALICES = ((2.0, 28.0), (98.0, 28.0))
_RADIUS = 22.0
_UPPER = np.array([(4.0, 3.0), (96, 3), (96, 56), (4, 56)])


def _calices() -> Marks:
    """Draw the near halves of two calices from above."""
    marks: list[Stroke] = []
    for x, y in _CALICES:
        marks.append(stroke(ellipse(x, y, _RADIUS, _RADIUS), BOLD, "wall", closed=True))
        for angle in range(-84, 90, 21):
            turn = angle if x < 50 else angle + 180
            ends = [polar(x, y, r, turn) for r in (12, _RADIUS)]
            marks.append(stroke(ends, FINE, "septum"))
    return framed(marks, _UPPER)


def _free(points: Points, r: float) -> Points:
    """Keep the points of the upper part that lie clear of the calices and the edge."""
    clear = np.all(
        [np.hypot(points[:, 0] - x, points[:, 1] - y) > _RADIUS + r + 2.5 for x, y in _CALICES],
        axis=0,
    )
    shrunk = (points[:, 0] > 4 + r) & (points[:, 0] < 96 - r)
    kept: Points = points[clear & shrunk & (points[:, 1] > 4 + r) & (points[:, 1] < 55 - r)]
    return kept


def _ground(bumps: Sequence[Points], pen: float = LINE) -> Marks:
    """Draw the section: level skeleton with bumps on it."""
    base = np.array([(4, _LEVEL), (96, _LEVEL), (96, _BOTTOM), (4, _BOTTOM)])
    shapes = [base, *bumps]
    frame = np.array([(3.0, 58.0), (97, 58), (97, 96), (3, 96)])
    lines = outline_of_all(shapes, pen, "surface")
    return (*framed(lines, frame), *hatched(base, 6))


def _level() -> Marks:
    """Draw an even section."""
    return section(np.array([(4, _LEVEL), (96, _LEVEL)]), _BOTTOM)


def _none() -> Marks:
    """Draw two calices that meet in one wall, from above and in section."""
    marks: list[Mark] = [stroke([(50, 4), (50, 54)], BOLD, "wall")]
    for y in (8, 17, 26, 35, 44, 52):
        marks += [stroke([(50, y), (50 + s * 26, y)], FINE, "septum") for s in (-1, 1)]
    marks += [Disc(12, 29, 3.5, SOLID, "centre"), Disc(88, 29, 3.5, SOLID, "centre")]
    surface = smooth([(4, 86), (30, 86), (44, 78), (50, 62), (56, 78), (70, 86), (96, 86)])
    return (*marks, *section(surface, _BOTTOM))


def _smooth() -> Marks:
    """Draw a blank surface."""
    return (*_calices(), *_level())


def _granular() -> Marks:
    """Draw low grains."""
    grains = [Disc(x, y, 1.4, SOLID, "grain") for x, y in _free(hexagonal(7, 0.12), 1.4)]
    bumps = [arc(x, _LEVEL + 0.5, 2, 2.6, (180, 360)) for x in np.arange(7, 96, 4.3)]
    return (*_calices(), *grains, *_ground(bumps))


def _spinose() -> Marks:
    """Draw fine pointed spines."""
    spines: list[Mark] = []
    for x, y in _free(hexagonal(12.5, 0.1), 3.0):
        spines += [stroke([polar(x, y, 3.2, a), polar(x, y, 3.2, a + 180)], FINE, "spine")
                   for a in (0, 60, 120)]  # fmt: skip
    bumps = [np.array([(x - 1.8, _LEVEL + 1), (x, 60), (x + 1.8, _LEVEL + 1)])
             for x in np.arange(8, 95, 7)]  # fmt: skip
    return (*_calices(), *spines, *_ground(bumps))


def _papillate() -> Marks:
    """Draw small rounded columns, narrower than a calice."""
    tops = [Disc(x, y, 3.2, LINE, "papilla") for x, y in _free(hexagonal(11.5, 0.05), 3.2)]
    bumps = [capsule((x, _LEVEL + 3), (x, 65), 3.4, 3.8) for x in np.arange(9, 94, 11.6)]
    return (*_calices(), *tops, *_ground(bumps))


def _tuberculate() -> Marks:
    """Draw bumps as wide as a calice, without calices."""
    rings = [ellipse(x, y, _RADIUS, _RADIUS) for x, y in _CALICES]
    places = ((50.0, 28.0), (27.0, -12.0), (73.0, -12.0), (27.0, 68.0), (73.0, 68.0))
    tops = [ellipse(x, y, 22.5, 22.5) for x, y in places]
    nearest, *others = (stroke(top, LINE, "tubercle", closed=True) for top in tops)
    upper = [nearest, *outside(others, [*rings, tops[0]])]
    bumps = [arc(x, _LEVEL + 2, 22.5, 20, (180, 360)) for x in (27, 73)]
    shade = stroke(arc(50, 28, 15, 15, (190, 275)), FINE, "light")
    return (*_calices(), *framed(upper, _UPPER), shade, *_ground(bumps, BOLD))


def _reticulate() -> Marks:
    """Draw an open mesh."""
    rings = [ellipse(x, y, _RADIUS + 1, _RADIUS + 1) for x, y in _CALICES]
    net = [line for angle in (45, -45) for line in hatched(_UPPER, 8.5, angle)]
    net = [Stroke(s.points, LINE, part="mesh") for s in outside(net, rings)]
    base = np.array([(4, 64.0), (96, 64), (96, _BOTTOM), (4, _BOTTOM)])
    below = [Stroke(s.points, LINE, part="mesh")
             for angle in (45, -45) for s in hatched(base, 8.5, angle)]  # fmt: skip
    return (*_calices(), *net, *below, stroke(base[:2], LINE, "surface"))


def _ridged() -> Marks:
    """Draw ridges that run past the corallites without continuing the septa."""
    rings = [ellipse(x, y, _RADIUS + 3, _RADIUS + 3) for x, y in _CALICES]
    lines = [
        stroke(np.column_stack((x + 2.2 * np.sin(np.linspace(0, 9, 60) + x),
                                np.linspace(4, 55, 60))), LINE, "ridge")
        for x in np.arange(12, 92, 7.6)
    ]  # fmt: skip
    crenels: list[tuple[float, float]] = [(4, _LEVEL)]
    for x in range(8, 92, 12):
        crenels += [(x, _LEVEL), (x + 3, 64), (x + 6, _LEVEL)]
    return (*_calices(), *framed(outside(lines, rings), _UPPER),
            *section(np.array([*crenels, (96, _LEVEL)]), _BOTTOM))  # fmt: skip


def _costate() -> Marks:
    """Draw ribs that continue the septa over the wall and across the surface."""
    ribs: list[Stroke] = []
    for i in range(-3, 4):
        turn = 24.0 * i
        inner, rim = polar(*_CALICES[0], 11, turn), polar(*_CALICES[0], _RADIUS, turn)
        rib = smooth([inner, rim, (50, 28 + 8 * i)])
        whole = np.vstack((rib, np.column_stack((100 - rib[:, 0], rib[:, 1]))[::-1]))
        ribs.append(stroke(whole, LINE, "costa"))
    surface = wave((4, 96), lambda x: _LEVEL - 4 - 4 * np.cos(2 * np.pi * (x - 50) / 11.5), 200)
    walls = [stroke(ellipse(x, y, _RADIUS, _RADIUS), BOLD, "wall", closed=True)
             for x, y in _CALICES]  # fmt: skip
    return (*framed([*walls, *ribs], _UPPER), *section(surface, _BOTTOM))


def _vesicular() -> Marks:
    """Draw blister-like bubbles."""
    rings = [ellipse(x, y, _RADIUS + 1, _RADIUS + 1) for x, y in _CALICES]
    tops = [ellipse(x, y, 9.6, 8) for x, y in hexagonal(15, 0.14)
            if 8 < y < 50 and all(np.hypot(x - a, y - b) > 27 for a, b in _CALICES)]  # fmt: skip
    lines = [
        s for i, top in enumerate(tops)
        for s in outside([stroke(top, LINE, "blister", closed=True)], [*tops[:i], *rings])
    ]  # fmt: skip
    rows = [(x + off, y) for y, off in ((95, 0), (84, 7), (73, 0)) for x in range(6, 100, 14)]
    arcs = [stroke(arc(x, y, 8.5, 10, (188, 352)), LINE, "blister") for x, y in rows]
    frame = np.array([(4.0, 60.0), (96, 60), (96, 97), (4, 97)])
    return (*_calices(), *framed(lines, _UPPER), *framed(arcs, frame))


_TEXTURES: Mapping[str, Callable[[], Marks]] = {
    "none": _none,
    "smooth": _smooth,
    "granular": _granular,
    "spinose": _spinose,
    "papillate": _papillate,
    "tuberculate": _tuberculate,
    "reticulate": _reticulate,
    "ridged": _ridged,
    "costate": _costate,
    "vesicular": _vesicular,
}

DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    ("coenosteum_texture", state): draw for state, draw in _TEXTURES.items()
}
