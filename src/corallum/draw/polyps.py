"""The living polyp: how it buds, how thick its tissue is, what it shows by day."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from corallum.draw.calice import ring, section, septa
from corallum.draw.geometry import (
    arc,
    capsule,
    ellipse,
    outline_of_all,
    outside,
    polar,
    smooth,
    wave,
)
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Mark, Marks, Points, stroke

__all__ = ["DRAWN"]


def _dividing(x: float, y: float, size: float) -> Marks:
    """Draw a calice pinched in two within its wall."""
    wall = smooth([(x - 2 * size, y), (x - 1.1 * size, y - size), (x, y - 0.62 * size),
                   (x + 1.1 * size, y - size), (x + 2 * size, y), (x + 1.1 * size, y + size),
                   (x, y + 0.62 * size), (x - 1.1 * size, y + size)], closed=True)  # fmt: skip
    marks: list[Mark] = [stroke(wall, BOLD, "wall", closed=True)]
    for side in (-1, 1):
        at = (x + side * size, y)
        marks.append(Disc(*at, 0.16 * size, SOLID, "centre"))
        marks += septa(at, [(0.4 * size, 0.75 * size)], 12)
    return tuple(marks)


def _within() -> Marks:
    """Draw a calice that divides inside its wall."""
    return _dividing(50, 50, 22)


def _outside() -> Marks:
    """Draw small new calices beside an old one."""
    return (
        *ring((50, 50), 23, 16, BOLD),
        *ring((84, 33), 11, 8, LINE),
        *ring((20, 76), 11, 8, LINE),
    )


def _both() -> Marks:
    """Draw a calice that divides and a small new one beside it."""
    return (*_dividing(42, 40, 17), *ring((79, 76), 12, 8, LINE), *ring((18, 78), 10, 8, LINE))


def _skeleton(x: Points) -> Points:
    """Return the skeleton's surface: three septate humps."""
    return 72 - 17 * np.abs(np.sin(np.pi * (x - 4) / 30.7)) ** 0.8


def _covered(tissue: Points, gap: float) -> Marks:
    """Draw tissue over skeleton: its surface bold, itself dotted, skeleton hatched."""
    skeleton = wave((4, 96), _skeleton, 200)
    marks: list[Mark] = [stroke(tissue, BOLD, "tissue"), *section(skeleton, 95, LINE)]
    if gap:
        for j, y in enumerate(np.arange(14, 74, gap)):
            for x in np.arange(7 + 0.5 * gap * (j % 2), 95, gap):
                top = float(np.interp(x, tissue[:, 0], tissue[:, 1]))
                if top + 4 < y < float(_skeleton(np.array(x))) - 3:
                    marks.append(Disc(float(x), float(y), 1, SOLID, "tissue"))
    return tuple(marks)


def _thin() -> Marks:
    """Draw tissue as a mere film."""
    return _covered(wave((4, 96), lambda x: _skeleton(x) - 4.5, 200), 0)


def _moderate() -> Marks:
    """Draw tissue that covers the skeleton and keeps its relief."""
    return _covered(wave((4, 96), lambda x: 0.75 * _skeleton(x) - 1, 200), 6)


def _fleshy() -> Marks:
    """Draw thick flesh that hides the relief of the skeleton."""
    return _covered(smooth([(4, 30), (20, 13), (50, 9), (80, 13), (96, 30)]), 7)


_CUP = np.array([(4.0, 84), (22, 84), (27, 62), (35, 60), (41, 74), (59, 74), (65, 60), (73, 62),
                 (78, 84), (96, 84)])  # fmt: skip


def _retracted() -> Marks:
    """Draw an empty cup."""
    return (*section(_CUP, 97), stroke(arc(50, 74, 8, 4, (180, 360)), LINE, "polyp"))


def _short() -> Marks:
    """Draw a cup with a fringe of short tentacles."""
    fringe = [stroke([(x, 62), (50 + (x - 50) * 1.35, 48)], BOLD, "tentacle")
              for x in (29, 36, 43, 50, 57, 64, 71)]  # fmt: skip
    return (*section(_CUP, 97), stroke(arc(50, 66, 20, 7, (180, 360)), LINE, "polyp"), *fringe)


def _long() -> Marks:
    """Draw a polyp that stands out far, with long tentacles."""
    column = [smooth([(50 + s * 12, 70), (50 + s * 9, 52), (50 + s * 12, 36)]) for s in (-1, 1)]
    arms = [stroke(smooth([(50 + 0.5 * s, 36), (50 + s, 24), (50 + 1.7 * s, 8 + 0.3 * abs(s))]),
                   BOLD, "tentacle") for s in (-24, -14, -5, 5, 14, 24)]  # fmt: skip
    cup = section(_CUP + np.array([0, 4]), 97)
    return (*cup, *(stroke(c, BOLD, "polyp") for c in column), *arms,
            stroke(arc(50, 36, 12, 3, (180, 360)), LINE, "polyp"))  # fmt: skip


def _vesicles() -> Marks:
    """Draw swollen bubbles over a cup."""
    bubbles = [ellipse(x, y, r, r) for x, y, r in ((50, 46, 14), (26, 50, 13), (74, 50, 13),
                                                  (37, 26, 12), (63, 26, 12), (88, 64, 9),
                                                  (12, 64, 9))]  # fmt: skip
    lines = [s for i, b in enumerate(bubbles)
             for s in outside([stroke(b, BOLD, "vesicle", closed=True)], bubbles[:i])]  # fmt: skip
    shine = [stroke(arc(x, y, 8, 8, (190, 260)), FINE, "light")
             for x, y in ((50, 46), (37, 26), (63, 26), (26, 50), (74, 50))]  # fmt: skip
    cup = _CUP
    return (
        *outside([stroke(cup, BOLD, "surface")], bubbles),
        *section(cup, 97)[1:],
        *lines,
        *shine,
    )


def _stalk(tip: float) -> Points:
    """Return a tentacle up to some height, tapering slightly."""
    return np.array([(38.0, 97.0), (44, tip), (56, tip), (62, 97)])


def _tapered() -> Marks:
    """Draw a tentacle that narrows to a point."""
    return (stroke(smooth([(34, 96), (40, 60), (47, 22), (50, 5), (53, 22), (60, 60), (66, 96)]),
                   BOLD, "tentacle"),)  # fmt: skip


def _knobbed() -> Marks:
    """Draw a tentacle that ends in a ball."""
    ball = ellipse(50, 26, 20, 20)
    return (stroke(ball, BOLD, "tip", closed=True),
            *outside([stroke(_stalk(30)[:2], BOLD, "tentacle"),
                      stroke(_stalk(30)[2:], BOLD, "tentacle")], [ball]))  # fmt: skip


def _anchor() -> Marks:
    """Draw a tentacle that ends in a crescent."""
    crescent = np.vstack((arc(50, 56, 44, 44, (195, 345)), arc(50, 62, 33, 30, (338, 202))))
    stalks = [
        stroke([(40, 97), (44, 34)], BOLD, "tentacle"),
        stroke([(56, 34), (60, 97)], BOLD, "tentacle"),
    ]
    return (stroke(crescent, BOLD, "tip", closed=True), *outside(stalks, [crescent]))


def _branched() -> Marks:
    """Draw a tentacle with small side branches."""
    shapes = [capsule((50, 110), (50, 16), 8, 5)]
    for y, side, reach in ((30, -1, 18), (30, 1, 18), (48, -1, 24), (48, 1, 24), (68, -1, 28),
                           (68, 1, 28)):  # fmt: skip
        shapes.append(capsule((50, y + 6), (50 + side * reach, y - 8), 4, 4.5))
    below = np.array([(0.0, 97), (100, 97), (100, 200), (0, 200)])
    return tuple(outside(outline_of_all(shapes, BOLD, "tip"), [below]))


def _arms(n: int, radii: tuple[float, float], pen: float) -> Marks:
    """Draw a polyp from above with ``n`` tentacles."""
    rays = [stroke([polar(50, 50, r, 360 * i / n - 90) for r in radii], pen, "tentacle")
            for i in range(n)]  # fmt: skip
    return (Disc(50, 50, radii[0] - pen / 2, LINE, "disc"), Disc(50, 50, 3, SOLID, "mouth"), *rays)


def _eight() -> Marks:
    """Draw eight tentacles with side branchlets, like feathers."""
    feathers: list[Mark] = []
    for i in range(8):
        angle = 45 * i - 90
        for r in (24, 30, 36, 42):
            for side in (-1, 1):
                ends = [polar(50, 50, r, angle), polar(50, 50, r + 3.5, angle + side * 330 / r)]
                feathers.append(stroke(ends, FINE, "pinnule"))
    return (*_arms(8, (14, 45), 2.4), *feathers)


def _one_mouth() -> Marks:
    """Draw a disc with one mouth."""
    rays = septa((50, 50), [(17, 43), (26, 43)], 32)
    return (Disc(50, 50, 44, BOLD, "disc"), *rays, stroke(ellipse(50, 50, 8, 4.5), SOLID, "mouth"))


def _several_mouths() -> Marks:
    """Draw a disc with mouths scattered over it."""
    mouths = [(50, 48), (28, 32), (66, 26), (75, 58), (50, 76), (25, 64)]
    marks = [stroke(ellipse(x, y, 5.5, 3.2, 25 * x), SOLID, "mouth") for x, y in mouths]
    return (Disc(50, 50, 44, BOLD, "disc"), *septa((50, 50), [(37, 43)], 32), *marks)


def _mouths_along_furrow() -> Marks:
    """Draw an oval with mouths in a line along its furrow."""
    outline = ellipse(50, 50, 46, 30)
    furrow = ellipse(50, 50, 35, 8)
    rays = [stroke([outline[i], 0.25 * outline[i] + 0.75 * furrow[i]], FINE, "septum")
            for i in range(0, 48, 2)]  # fmt: skip
    return (
        stroke(outline, BOLD, "disc", closed=True),
        *rays,
        stroke([(14, 50), (86, 50)], FINE, "furrow"),
        *(stroke(ellipse(x, 50, 4.6, 3.2), SOLID, "mouth") for x in (20, 35, 50, 65, 80)),
    )


def _branch(*, hairs: bool) -> Marks:
    """Draw the tip of a branch with a fuzz of hairs or none."""
    outline = np.vstack(([(34, 97)], arc(50, 38, 16, 18, (180, 360)), [(66, 97)]))
    marks: list[Mark] = [stroke(outline, BOLD, "branch")]
    if hairs:
        for y in np.arange(42, 97, 4.5):
            marks += [
                stroke([(50 + s * 18.5, y), (50 + s * 33, y - 4)], FINE, "hair") for s in (-1, 1)
            ]
        for a in range(-170, -5, 14):
            spots = [(50 + r * np.cos(np.radians(a)), 38 + (r + 2) * np.sin(np.radians(a)))
                     for r in (18.5, 33)]  # fmt: skip
            marks.append(stroke(spots, FINE, "hair"))
    dots = [Disc(x, y, 1.4, SOLID, "pore") for y in range(36, 96, 12) for x in (43, 57)]
    return (*marks, *dots)


DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    ("budding", "within_calice"): _within,
    ("budding", "outside_calice"): _outside,
    ("budding", "both"): _both,
    ("tissue", "thin"): _thin,
    ("tissue", "moderate"): _moderate,
    ("tissue", "fleshy"): _fleshy,
    ("day_expansion", "retracted"): _retracted,
    ("day_expansion", "short_tentacles"): _short,
    ("day_expansion", "long_polyps"): _long,
    ("day_expansion", "vesicles"): _vesicles,
    ("tentacle_tip", "tapered"): _tapered,
    ("tentacle_tip", "knobbed"): _knobbed,
    ("tentacle_tip", "anchor"): _anchor,
    ("tentacle_tip", "branched"): _branched,
    ("tentacle_count", "eight_pinnate"): _eight,
    ("tentacle_count", "twelve"): lambda: _arms(12, (18, 45), 4.5),
    ("tentacle_count", "twenty_four"): lambda: _arms(24, (24, 45), 3),
    ("tentacle_count", "many"): lambda: _arms(60, (30, 46), 1.5),
    ("mouths", "one"): _one_mouth,
    ("mouths", "several"): _several_mouths,
    ("mouths", "along_furrow"): _mouths_along_furrow,
    ("fine_hairs", "absent"): lambda: _branch(hairs=False),
    ("fine_hairs", "present"): lambda: _branch(hairs=True),
}
