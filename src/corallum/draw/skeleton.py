"""What only the cleaned skeleton shows: the build of walls, floors, septa and pali."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

import numpy as np

from corallum.draw.calice import septa
from corallum.draw.geometry import (
    arc,
    ellipse,
    hatched,
    polar,
    smooth,
    within,
)
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Mark, Marks, Stroke, stroke
from corallum.draw.septa import plan

__all__ = ["DRAWN"]

_MIDDLE = (50.0, 50.0)
# A piece of wall from above: septa fan out from a centre far below.
_FAR = (50.0, 150.0)
_ANGLES = (-112.0, -101.0, -90.0, -79.0, -68.0)
_FRAME = np.array([(3.0, 3.0), (97, 3), (97, 97), (3, 97)])


def _fan(thick: float, at_wall: float, *, whole: bool = False) -> list[Stroke]:
    """Draw five septa of a piece of wall, ``at_wall`` as thick where the wall is."""
    found = []
    for angle in _ANGLES:
        half = [(62.0, thick), (86.0, thick), (100.0, at_wall), (116.0, at_wall), (128.0, thick),
                (144.0, thick)]  # fmt: skip
        left = [polar(*_FAR, r, angle - np.degrees(w / r)) for r, w in half]
        right = [polar(*_FAR, r, angle + np.degrees(w / r)) for r, w in reversed(half)]
        found.append(stroke([*left, *right], LINE, "septum", closed=True))
    return found if whole else within(found, _FRAME)


def _septothecate() -> Marks:
    """Draw septa thickened until they meet and form the wall."""
    fill = [
        Stroke(line.points, LINE, part="wall")
        for outline in _fan(2.0, 9.4, whole=True)
        for line in hatched(outline.points, 3.4)
    ]
    return (*_fan(2.0, 9.4), *within(fill, _FRAME))


def _synapticulothecate() -> Marks:
    """Draw rods from septum to septum that form the wall."""
    rods = []
    for a, b in pairwise(_ANGLES):
        for r in (99.0, 108.0, 117.0):
            ends = [
                polar(*_FAR, r, a + np.degrees(2.4 / r)),
                polar(*_FAR, r, b - np.degrees(2.4 / r)),
            ]
            rods.append(stroke(ends, BOLD, "rod"))
    return (*_fan(2.4, 2.4), *within(rods, _FRAME))


def _parathecate() -> Marks:
    """Draw arched dissepiments from septum to septum that form the wall."""
    arches = []
    for a, b in pairwise(_ANGLES):
        for r in (94.0, 103.0, 112.0):
            t = np.linspace(0, 1, 15)
            turn = np.radians(a + 1.3 + (b - a - 2.6) * t)
            out = r + 9 * np.sin(np.pi * t)
            arches.append(
                stroke(
                    np.column_stack((_FAR[0] + out * np.cos(turn), _FAR[1] + out * np.sin(turn))),
                    LINE,
                    "arch",
                )
            )
    return (*_fan(2.4, 2.4), *within(arches, _FRAME))


def _wall(*, porous: bool) -> Marks:
    """Draw a calice from above with a thick wall, whole or full of pores."""
    pores = [ellipse(*polar(*_MIDDLE, r, 360 * (i + 0.5 * k) / 11), 3.1, 3.1)
             for k, r in enumerate((33.5, 41.0)) for i in range(11)] if porous else []  # fmt: skip
    outer, inner = ellipse(*_MIDDLE, 45, 45), ellipse(*_MIDDLE, 29, 29)
    marks: list[Mark] = [stroke(outer, BOLD, "wall", closed=True),
                         stroke(inner, BOLD, "wall", closed=True)]  # fmt: skip
    if porous:
        marks += [stroke(p, LINE, "pore", closed=True) for p in pores]
    else:
        marks += [Stroke(s.points, LINE, part="wall") for s in hatched(outer, 3.2, -45, [inner])]
    return (*marks, *septa(_MIDDLE, [(15, 28)], 12))


def _abortive(*, there: bool) -> Marks:
    """Draw a calice whose thick wall holds thin septa that end in it, or none."""
    marks: list[Mark] = [Disc(*_MIDDLE, 44, BOLD, "wall"), Disc(*_MIDDLE, 29, LINE, "wall"),
                         *septa(_MIDDLE, [(11, 43)], 10, 3.4)]  # fmt: skip
    if there:
        marks += septa(_MIDDLE, [(31, 42)], 10, LINE, -72)
    return tuple(marks)


def _between(filling: Sequence[Mark]) -> Marks:
    """Draw two corallites cut lengthwise at the sides, and what fills the space between."""
    walls = [stroke([(x, 8), (x, 92)], BOLD, "wall") for x in (24, 76)]
    inner = [
        stroke(
            [(x + s * 4, 92), (x + s * 4, 22), (x + s * 16, 50), (x + s * 16, 92)], LINE, "septum"
        )
        for x, s in ((24, -1), (76, 1))
    ]
    return (*walls, *inner, *filling)


_SPACE = np.array([(24.0, 16.0), (76, 16), (76, 92), (24, 92)])


def _no_coenosteum() -> Marks:
    """Draw two corallites that meet in one wall."""
    inner = [
        stroke([(50 + s * 5, 92), (50 + s * 5, 22), (50 + s * 34, 60), (50 + s * 34, 92)], LINE)
        for s in (-1, 1)
    ]
    return (stroke([(50, 8), (50, 92)], 4.5, "wall"), *inner)


def _solid() -> Marks:
    """Fill the space between with dense skeleton."""
    fill = [Stroke(s.points, LINE, part="fill") for s in hatched(_SPACE, 3.4)]
    return _between([stroke(_SPACE[:2], BOLD, "surface"), *fill])


def _mesh() -> Marks:
    """Fill the space between with an open mesh of rods."""
    fill = [stroke([(24, y), (76, y)], LINE, "fill") for y in range(18, 93, 12)]
    posts = [stroke([(x, 16), (x, 92)], LINE, "fill") for x in range(34, 76, 11)]
    return _between([*fill, *posts])


def _ribs() -> Marks:
    """Fill the space between with ribs that continue the septa, seen at their upper edge."""
    ribs = [stroke(smooth([(24, y), (40, y + 7), (60, y + 7), (76, y)]), BOLD, "fill")
            for y in (14, 30, 46, 62, 78)]  # fmt: skip
    through = [stroke([(x, y), (x + s * 16, y - 4)], BOLD, "septum")
               for y in (14, 30, 46, 62, 78) for x, s in ((24, -1), (76, 1))]  # fmt: skip
    walls = [stroke([(x, 5), (x, 95)], LINE, "wall") for x in (24, 76)]
    return (*walls, *ribs, *through)


def _blisters() -> Marks:
    """Fill the space between with arched dissepiments."""
    rows = [(x + off, y) for y, off in ((30, 0), (46, 8.5), (62, 0), (78, 8.5), (92, 0))
            for x in range(15, 90, 17)]  # fmt: skip
    arches = [stroke(arc(x, y, 9.5, 13, (186, 354)), LINE, "fill") for x, y in rows]
    return _between(within(arches, _SPACE))


def _tube(extra: Sequence[Mark]) -> Marks:
    """Draw a corallite from its side, ribbed."""
    body = [stroke([(x, 18), (x, 95)], BOLD, "wall") for x in (24, 76)]
    ribs = [stroke([(x, 31), (x, 95)], LINE, "rib") for x in (34, 45, 56, 67)]
    rim = ellipse(50, 18, 26, 11)
    pit = stroke(ellipse(50, 19, 15, 5), LINE, "rim", closed=True)
    return (stroke(rim, BOLD, "rim", closed=True), pit, *body, *(extra or ribs))


def _sheath() -> Marks:
    """Draw a sheath with rings of growth round the lower part, ribs above it."""
    ribs = [stroke([(x, 31), (x, 41)], LINE, "rib") for x in (34, 45, 56, 67)]
    rings = [stroke(arc(50, y - 6, 29, 8, (0, 180)), BOLD if y == 48 else LINE, "sheath")
             for y in range(48, 95, 8)]  # fmt: skip
    sides = [stroke([(x, 42), (x, 92)], BOLD, "sheath") for x in (20, 80)]
    return _tube([*ribs, *rings, *sides])


def _lengthwise(floors: Sequence[Mark]) -> Marks:
    """Draw a corallite cut lengthwise: two walls and what closes off the space below."""
    marks: list[Mark] = []
    for x in (8.0, 80.0):
        box = np.array([(x, 6), (x + 12, 6), (x + 12, 95), (x, 95)])
        marks += [stroke(box, BOLD, "wall", closed=True), *hatched(box, 6)]
    return (*marks, *floors)


def _level_floors() -> Marks:
    """Draw level floors."""
    return _lengthwise([stroke([(20, y), (80, y)], BOLD, "floor") for y in (34, 49, 64, 79, 93)])


def _arched_floors() -> Marks:
    """Draw arched blisters."""
    space = np.array([(20.0, 24.0), (80, 24), (80, 95), (20, 95)])
    rows = [(x + off, y) for y, off in ((42, 0), (59, 10), (76, 0), (93, 10))
            for x in (10, 30, 50, 70, 90)]  # fmt: skip
    arches = [stroke(arc(x, y, 11, 14, (188, 352)), BOLD, "floor") for x, y in rows]
    return _lengthwise(within(arches, space))


def _plates() -> Marks:
    """Draw septa as whole plates."""
    return (plan(), *septa(_MIDDLE, [(12, 43)], 12, 4))


def _rows_of_spines() -> Marks:
    """Draw septa as rows of spines."""
    marks = [Disc(*polar(*_MIDDLE, r, 30 * i - 90), size, SOLID, "spine") for i in range(12)
             for r, size in ((37.5, 2.6), (28.5, 2.2), (20, 1.8))]  # fmt: skip
    return (plan(), *marks)


def _fused_with_pali() -> Marks:
    """Draw septa joined in pairs at pali."""
    marks: list[Mark] = [plan()]
    for i in range(6):
        angle = 60 * i - 90
        palus = polar(*_MIDDLE, 18, angle)
        marks.append(Disc(*palus, 4.5, SOLID, "palus"))
        marks += [
            stroke([palus, polar(*_MIDDLE, 43, angle + s * 15)], 2.4, "septum") for s in (-1, 1)
        ]
    return (*marks, Disc(*_MIDDLE, 3, SOLID, "columella"))


def _joined(groups: Sequence[tuple[int, ...]]) -> Marks:
    """Draw twelve septa, those of each group bold and joined at their inner ends."""
    marks: list[Mark] = [plan()]
    for group in groups:
        meet = polar(*_MIDDLE, 10, 30 * sum(group) / len(group) - 90)
        for i in group:
            bent = [meet, *(polar(*_MIDDLE, r, 30 * i - 90) for r in (30, 43))]
            marks.append(stroke(bent, 3.6, "septum"))
        marks.append(Disc(*meet, 4, SOLID, "junction"))
    grouped = {i for group in groups for i in group}
    for i in set(range(12)) - grouped:
        free = [polar(*_MIDDLE, r, 30 * i - 90) for r in (21, 43)]
        marks.append(stroke(free, LINE, "septum"))
    return tuple(marks)


def _cycles(n: int) -> Marks:
    """Draw a calice with ``n`` cycles of septa: 6, then 6, 12 and 24 more."""
    inner = (12.0, 20.0, 28.0, 35.0)
    pens = (4.0, 3.0, LINE, FINE)
    marks: list[Mark] = [plan(), *septa(_MIDDLE, [(inner[0], 43)], 6, pens[0])]
    for k in range(1, n):
        count = 6 * 2 ** (k - 1)
        marks += septa(_MIDDLE, [(inner[k], 43)], count, pens[k], -90 + 180 / count)
    return tuple(marks)


def _pali(kind: str) -> Marks:
    """Draw septa that end plainly, in lobes of their own edge, or before pali apart."""
    marks: list[Mark] = [plan(), Disc(*_MIDDLE, 4.5, LINE, "columella")]
    for i in range(10):
        angle = 36 * i - 90
        end = 22.0 if kind == "lobes" else 28.0 if kind == "apart" else 15.0
        marks.append(stroke([polar(*_MIDDLE, r, angle) for r in (end, 43)], LINE, "septum"))
        if kind == "lobes":
            marks.append(Disc(*polar(*_MIDDLE, 23, angle), 3.6, SOLID, "lobe"))
        elif kind == "apart":
            palus = ellipse(*polar(*_MIDDLE, 14.5, angle), 5, 2.3, angle)
            marks.append(stroke(palus, SOLID, "palus"))
    return tuple(marks)


def _threads(n: int) -> Marks:
    """Draw a calice whose columella is ``n`` threads across."""
    gap = 7.5
    xs = 50 + gap * (np.arange(n) - (n - 1) / 2)
    threads = []
    for i, x in enumerate(xs):
        y = np.linspace(50 - 17, 50 + 17, 25)
        bow = 2.4 * np.sin((y - 33) / 34 * 2 * np.pi + i)
        threads.append(stroke(np.column_stack((x + bow, y)), BOLD, "thread"))
    return (plan(), *septa(_MIDDLE, [(29, 43), (35, 43)], 24), *threads)


DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    ("wall_structure", "septothecate"): _septothecate,
    ("wall_structure", "synapticulothecate"): _synapticulothecate,
    ("wall_structure", "parathecate"): _parathecate,
    ("wall_porosity", "solid"): lambda: _wall(porous=False),
    ("wall_porosity", "porous"): lambda: _wall(porous=True),
    ("abortive_septa", "absent"): lambda: _abortive(there=False),
    ("abortive_septa", "present"): lambda: _abortive(there=True),
    ("coenosteum_structure", "absent"): _no_coenosteum,
    ("coenosteum_structure", "solid"): _solid,
    ("coenosteum_structure", "reticulate"): _mesh,
    ("coenosteum_structure", "costate"): _ribs,
    ("coenosteum_structure", "dissepimental"): _blisters,
    ("epitheca", "absent"): lambda: _tube([]),
    ("epitheca", "present"): _sheath,
    ("dissepiments", "absent"): lambda: _lengthwise([]),
    ("dissepiments", "tabular"): _level_floors,
    ("dissepiments", "vesicular"): _arched_floors,
    ("septal_structure", "laminar"): _plates,
    ("septal_structure", "rows_of_spines"): _rows_of_spines,
    ("septal_structure", "fused_with_pali"): _fused_with_pali,
    ("septal_fusion", "free"): lambda: _joined([]),
    ("septal_fusion", "ventral_triplet"): lambda: _joined([(5, 6, 7)]),
    ("septal_fusion", "in_groups"): lambda: _joined([(0, 1, 2), (3, 4, 5), (6, 7, 8), (9, 10, 11)]),
    ("septal_cycles", "one"): lambda: _cycles(1),
    ("septal_cycles", "two"): lambda: _cycles(2),
    ("septal_cycles", "three"): lambda: _cycles(3),
    ("septal_cycles", "four_or_more"): lambda: _cycles(4),
    ("pali", "absent"): lambda: _pali("none"),
    ("pali", "lobes"): lambda: _pali("lobes"),
    ("pali", "true_pali"): lambda: _pali("apart"),
    ("columella_threads", "one_to_three"): lambda: _threads(2),
    ("columella_threads", "more_than_three"): lambda: _threads(6),
}
