"""The colony as a whole: how it is held, its shape, how its branches stand, its width."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from corallum.draw.calice import between_arrows
from corallum.draw.geometry import (
    arc,
    capsule,
    ellipse,
    hatched,
    hexagonal,
    inside,
    outline_of_all,
    outside,
    polar,
    shaken,
    smooth,
    under,
    wave,
)
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Mark, Marks, Points, stroke

__all__ = ["DRAWN", "dots_in", "ground"]

_FLOOR = 88.0
# What lies below the bottom, and hides what is drawn there.
_BELOW = np.array([(-50.0, _FLOOR), (150, _FLOOR), (150, 150), (-50, 150)])


def ground(level: float = _FLOOR, x: tuple[float, float] = (3.0, 97.0)) -> Marks:
    """Draw the bottom: a level line with hatching below it."""
    ticks = np.arange(x[0] + 6, x[1] + 1, 9)
    return (
        stroke([(x[0], level), (x[1], level)], LINE, "ground"),
        *(stroke([(t, level), (t - 6, level + 7)], FINE, "ground") for t in ticks),
    )


def dots_in(outline: Points, gap: float, r: float, pen: float = FINE) -> Marks:
    """Draw corallites as small circles scattered within an outline, clear of its edge."""
    found = []
    for x, y in hexagonal(gap, 0.12):
        edge = ellipse(x, y, 1.9 * r, 1.9 * r)
        if inside(edge, outline).all():
            found.append(Disc(x, y, r, pen, "corallite"))
    return tuple(found)


def _dome(width: float, height: float, level: float = _FLOOR) -> Points:
    """Return the outline of a dome that sits on the bottom."""
    return arc(50, level, width, height, (180, 360))


def _attached() -> Marks:
    """Draw a dome grown on to a rock over its whole underside."""
    rock = smooth([(6, 90), (14, 70), (34, 64), (58, 68), (80, 64), (94, 90)])
    top = smooth([(14, 70), (18, 50), (34, 28), (56, 22), (74, 34), (84, 52), (85, 68)])
    lower = rock[inside(rock, np.vstack((top, [(85, 99), (14, 99)])))]
    colony = np.vstack((top, lower[::-1]))
    return (
        stroke(top, BOLD, "colony"),
        stroke(rock, LINE, "rock"),
        *hatched(under(rock, 94), 6),
        *dots_in(colony, 13, 2.6),
    )


def _stalked() -> Marks:
    """Draw a cup on a stalk much narrower than itself."""
    left = smooth([(43, 88), (46, 72), (42, 58), (22, 48), (12, 34)])
    right = np.column_stack((100 - left[:, 0], left[:, 1]))
    return (
        stroke(left, BOLD, "colony"),
        stroke(right, BOLD, "colony"),
        stroke(ellipse(50, 32, 38, 11), BOLD, "colony", closed=True),
        *_rays(50, 32, 38, 11, 16),
        *ground(),
    )


def _rays(x: float, y: float, a: float, b: float, n: int) -> Marks:
    """Draw septa of a disc seen aslant, from its edge towards a furrow."""
    angles = np.radians(np.arange(n) * 360 / n + 8)
    return (
        *(
            stroke(
                [(x + s * a * np.cos(t), y + s * b * np.sin(t)) for s in (0.94, 0.38)],
                FINE,
                "septum",
            )
            for t in angles
        ),
        stroke([(x - 0.22 * a, y), (x + 0.22 * a, y)], LINE, "mouth"),
    )


def _free() -> Marks:
    """Draw a disc that lies askew on the bottom, held by nothing, a pebble under one edge."""
    disc = ellipse(52, 52, 36, 12, -24)
    under_side = smooth([(19, 66), (30, 80), (54, 78), (76, 62), (85, 37)])
    return (
        stroke(disc, BOLD, "colony", closed=True),
        stroke(under_side, BOLD, "colony"),
        *_tipped_rays(),
        Disc(80, 76, 8, LINE, "pebble"),
        Disc(94, 81, 4, LINE, "pebble"),
        *ground(),
    )


def _tipped_rays() -> Marks:
    """Draw the septa of the tipped disc."""
    outer, inner = ellipse(52, 52, 33, 10.4, -24), ellipse(52, 52, 13, 3.6, -24)
    return tuple(stroke([outer[i], inner[i]], FINE, "septum") for i in range(0, len(outer), 3))


def _not_seen() -> Marks:
    """Draw a dome whose foot is hidden behind boulders."""
    dome = smooth([(8, 74), (10, 48), (28, 22), (54, 16), (78, 28), (90, 50), (92, 74)])
    stones = [ellipse(20, 76, 18, 15, 8), ellipse(52, 74, 19, 17), ellipse(82, 77, 15, 14, -8)]
    dark = [line for stone in stones for line in hatched(stone, 4, 45)]
    return (
        *outside([stroke(dome, BOLD, "colony")], stones),
        *outline_of_all(stones, LINE, "boulder"),
        *dark,
        *outside(hatched(stones[1], 4, -45), [stones[0], stones[2]]),
    )


def _massive() -> Marks:
    """Draw a dome about as high as wide."""
    dome = _dome(40, 72)
    return (stroke(dome, BOLD, "colony"), *dots_in(dome, 14, 3), *ground())


def _submassive() -> Marks:
    """Draw a solid body with knobs and lobes."""
    knobs = [
        ellipse(20, 60, 12, 14), ellipse(36, 44, 12, 18), ellipse(56, 36, 13, 18),
        ellipse(76, 52, 13, 17), ellipse(84, 74, 10, 14), ellipse(14, 78, 9, 12),
        np.array([(12.0, _FLOOR), (18, 62), (50, 40), (82, 62), (86, _FLOOR)]),
    ]  # fmt: skip
    lines = outside(outline_of_all(knobs, BOLD, "colony"), [_BELOW])
    inner = [stroke(arc(x, y, 9, 9, (200, 300)), FINE, "colony")
             for x, y in ((38, 66), (60, 60), (72, 76), (28, 78), (50, 80))]  # fmt: skip
    return (*lines, *inner, *ground())


def _crust_floor(x: Points) -> Points:
    """Return the rock under a crust."""
    floor: Points = 66 - 14 * np.sin((x - 8) / 12) - 6 * np.cos(x / 23)
    return floor


def _encrusting() -> Marks:
    """Draw a crust that follows an uneven rock."""
    rock = wave((4, 96), _crust_floor)
    crust = wave((12, 88), lambda x: _crust_floor(x) - 11 * np.clip((38 - abs(x - 50)) / 6, 0, 1))
    bumps = tuple(
        Disc(float(x), float(_crust_floor(np.array(x))) - 5.5, 1.8, FINE, "corallite")
        for x in np.arange(20, 82, 10)
    )
    return (stroke(crust, BOLD, "colony"), *bumps, stroke(rock, LINE, "rock"),
            *hatched(under(rock, 96), 6))  # fmt: skip


def _laminar() -> Marks:
    """Draw level plates one above the other, fixed at one side, seen a little from above."""
    rock = smooth([(22, 4), (16, 26), (24, 50), (14, 72), (20, 96)])
    wall = np.vstack(([(3, 4)], rock, [(3, 96)]))
    behind = np.vstack(([(-90, 0)], [(22, 0)], rock, [(20, 100), (-90, 100)]))
    marks: list[Mark] = [stroke(rock, LINE, "rock"), *hatched(wall, 6)]
    for y, a in ((20.0, 72.0), (48.0, 56.0), (76.0, 70.0)):
        face = ellipse(20, y, a, 8)
        edge = arc(20, y + 5.5, a, 9, (0, 90))
        marks += outside([stroke(face, BOLD, "plate", closed=True)], [behind])
        marks += outside([stroke(edge, BOLD, "plate")], [behind])
        marks += [stroke(ellipse(x, y, 2.4, 1.3), SOLID, "corallite")
                  for x in np.arange(34, 12 + a, 13)]  # fmt: skip
    return tuple(marks)


def _leaf(angle: float, length: float, width: float) -> Points:
    """Return the outline of a frond that rises from the middle of the bottom and widens."""
    along = [(0.0, 2.0), (0.4, 0.3 * width), (0.8, width), (0.97, 0.75 * width),
             (0.93, 0.35 * width), (1.03, 0.0)]  # fmt: skip
    half = [(length * share, off) for share, off in along]
    loop = np.array([*half, *((x, -y) for x, y in half[-2::-1])])
    turn = np.radians(angle)
    across = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return smooth(loop @ across + (50, 86), closed=True)


def _foliaceous() -> Marks:
    """Draw thin upright fronds in a whorl, the nearer before the farther."""
    nearer_first = [(-112, 42, 13), (-62, 44, 13), (-158, 42, 9), (-22, 42, 9), (-88, 60, 15),
                    (-132, 60, 13), (-48, 60, 13), (-106, 74, 14), (-70, 74, 14)]  # fmt: skip
    shapes = [_leaf(*leaf) for leaf in nearer_first]
    lines = [
        line
        for i, shape in enumerate(shapes)
        for line in outside([stroke(shape, LINE, "frond", closed=True)], [*shapes[:i], _BELOW])
    ]
    return (*lines, *ground())


def _tabular() -> Marks:
    """Draw a flat table on a stalk, short branchlets on its top."""
    stalk = smooth([(40, 88), (44, 70), (40, 56), (22, 47), (4, 40)])
    other = np.column_stack((100 - stalk[:, 0], stalk[:, 1]))
    teeth: list[tuple[float, float]] = [(4, 40)]
    for x in range(8, 92, 8):
        teeth += [(x, 36), (x, 27), (x + 4, 27), (x + 4, 36)]
    return (
        stroke(stalk, BOLD, "colony"),
        stroke(other, BOLD, "colony"),
        stroke([*teeth, (96, 40)], LINE, "branchlets"),
        *ground(),
    )


def _columnar() -> Marks:
    """Draw upright columns that do not divide."""
    columns = [capsule((x, 86), (x + lean, top), 8, 8) for x, lean, top in
               ((17, -1, 30), (39, 0, 14), (62, 1, 24), (84, 1, 42))]  # fmt: skip
    lines = outside([stroke(c, BOLD, "column", closed=True) for c in columns], [_BELOW])
    dots = (d for c in columns for d in dots_in(np.minimum(c, [[100, 83]]), 9, 1.8))
    return (*lines, *dots, *ground())


def _digitate() -> Marks:
    """Draw short fingers on a solid base."""
    base = arc(50, _FLOOR, 44, 34, (180, 360))
    shapes = [np.vstack((base, [(94, 94), (6, 94)]))]
    for angle in (-150, -126, -102, -78, -54, -30):
        foot = (50 + 36 * np.cos(np.radians(angle)), _FLOOR + 26 * np.sin(np.radians(angle)))
        tip = (50 + 44 * np.cos(np.radians(angle)), _FLOOR - 24 + 40 * np.sin(np.radians(angle)))
        shapes.append(capsule(foot, tip, 6.5, 5))
    return (*outside(outline_of_all(shapes, BOLD, "colony"), [_BELOW]), *ground())


Limb = tuple[tuple[float, float], tuple[float, float], float, float]


def _limbs(limbs: list[Limb], pen: float = BOLD) -> Marks:
    """Draw branches run together, cut off at the bottom."""
    shapes = [capsule(*limb) for limb in limbs]
    return (*outside(outline_of_all(shapes, pen, "branch"), [_BELOW]), *ground())


def _branching() -> Marks:
    """Draw thick branches that divide twice."""
    return _limbs([
        ((50, 90), (50, 62), 8, 7), ((50, 62), (26, 40), 7, 5.5), ((50, 62), (72, 42), 7, 5.5),
        ((26, 40), (10, 24), 5, 4), ((26, 40), (36, 12), 5, 4),
        ((72, 42), (62, 14), 5, 4), ((72, 42), (90, 22), 5, 4),
    ])  # fmt: skip


def _solitary() -> Marks:
    """Draw one cup on the bottom."""
    left = smooth([(34, 88), (32, 70), (26, 52), (20, 34)])
    right = np.column_stack((100 - left[:, 0], left[:, 1]))
    ribs = [stroke(smooth([(50 + s * 6, 87), (50 + s * 7.5, 66), (50 + s * 10, 48)]), FINE, "rib")
            for s in (-1.8, -0.9, 0, 0.9, 1.8)]  # fmt: skip
    return (
        stroke(left, BOLD, "colony"), stroke(right, BOLD, "colony"),
        stroke(ellipse(50, 32, 30, 13), BOLD, "colony", closed=True),
        *_rays(50, 32, 30, 13, 18), *ribs, *ground(),
    )  # fmt: skip


def _free_living() -> Marks:
    """Draw a loose disc with a furrow that lies on pebbles."""
    pebbles = (Disc(9, 84, 3, LINE, "pebble"), Disc(90, 82, 4, LINE, "pebble"),
               Disc(26, 91, 3.5, LINE, "pebble"), Disc(52, 93, 2.5, LINE, "pebble"),
               Disc(75, 92, 3, LINE, "pebble"))  # fmt: skip
    return (
        stroke(ellipse(50, 46, 45, 27), BOLD, "colony", closed=True),
        stroke(arc(50, 52, 45, 29, (8, 172)), LINE, "colony"),
        *_rays(50, 46, 45, 27, 28), *pebbles,
    )  # fmt: skip


def _arborescent() -> Marks:
    """Draw open long branches that divide like a tree."""
    return _limbs([
        ((50, 92), (48, 66), 3.6, 3), ((48, 66), (26, 44), 3, 2.4), ((48, 66), (66, 46), 3, 2.4),
        ((26, 44), (8, 34), 2.2, 1.8), ((26, 44), (26, 12), 2.2, 1.8),
        ((66, 46), (56, 8), 2.2, 1.8), ((66, 46), (88, 36), 2.4, 2), ((88, 36), (93, 12), 2, 1.6),
        ((75, 41), (76, 14), 2, 1.6),
    ], LINE)  # fmt: skip


def _caespitose() -> Marks:
    """Draw a dense bush of short branches that divide and cross one another."""
    limbs: list[Limb] = []
    for i in range(11):
        angle = -160 + 140 * i / 10
        tall = 0.92 + 0.5 * abs(np.sin(np.radians(angle))) ** 2
        bend = polar(50, 88, (19 + 9 * (i % 2)) * tall, angle)
        limbs.append((polar(50, 90, 4, angle), bend, 2.4, 2.2))
        for side in (-1, 1):
            end = polar(*bend, 11 * tall, angle + side * 32)
            limbs.append((bend, end, 2.2, 2.2))
            limbs.append((end, polar(*end, 9 * tall, angle - side * 10), 2.2, 2.2))
    return _limbs(limbs, LINE)


def _corymbose() -> Marks:
    """Draw upright branchlets that end at one level."""
    limbs: list[Limb] = [((50, 92), (50, 78), 7, 6)]
    for x in (8, 20, 32, 44, 56, 68, 80, 92):
        knee = (50 + 0.86 * (x - 50), 64 - 0.1 * abs(x - 50))
        limbs += [((50 + 0.1 * (x - 50), 80), knee, 3.2, 3), (knee, (x, 32), 3, 3)]
    level = tuple(stroke([(x, 20), (x + 5, 20)], LINE, "level") for x in range(5, 95, 11))
    return (*_limbs(limbs, LINE), *level)


def _hispidose() -> Marks:
    """Draw a main stem with short branchlets all round it."""
    limbs: list[Limb] = [((50, 92), (50, 12), 5.5, 4)]
    for i, y in enumerate(np.arange(16, 84, 8.5)):
        for side in (-1, 1):
            length = 17 + 5 * shaken(i)[0]
            at = y + (2 if side > 0 else 0)
            limbs.append(((50, at), (50 + side * (length + 4), at - 9), 2.6, 2))
    return _limbs(limbs, LINE)


def _colony_diameter() -> Marks:
    """Draw a colony from above with its greatest width."""
    outline = smooth(
        [(10, 56), (20, 34), (42, 22), (66, 24), (86, 36), (91, 58), (76, 74), (54, 84), (28, 78)],
        closed=True,
    )
    outline = outline * (1, 0.78) + (0, -8)
    widest = between_arrows((9.5, 88), (91.5, 88))
    return (stroke(outline, BOLD, "colony", closed=True), *dots_in(outline, 12, 2.4), *widest,
            *(stroke([(x, 50), (x, 84)], FINE, "guide") for x in (9.5, 91.5)))  # fmt: skip


DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    ("attachment", "attached"): _attached,
    ("attachment", "stalked"): _stalked,
    ("attachment", "free"): _free,
    ("attachment", "not_seen"): _not_seen,
    ("growth_form", "massive"): _massive,
    ("growth_form", "submassive"): _submassive,
    ("growth_form", "encrusting"): _encrusting,
    ("growth_form", "laminar"): _laminar,
    ("growth_form", "foliaceous"): _foliaceous,
    ("growth_form", "tabular"): _tabular,
    ("growth_form", "columnar"): _columnar,
    ("growth_form", "digitate"): _digitate,
    ("growth_form", "branching"): _branching,
    ("growth_form", "solitary"): _solitary,
    ("growth_form", "free_living"): _free_living,
    ("branch_habit", "arborescent"): _arborescent,
    ("branch_habit", "caespitose"): _caespitose,
    ("branch_habit", "corymbose"): _corymbose,
    ("branch_habit", "hispidose"): _hispidose,
    ("colony_diameter_cm", ""): _colony_diameter,
}
