"""Where a colony grows, and its colour.

Places are marked on one section through a reef, land to the left and sea to the right.
Colours are hatched as heralds have done since Petra Sancta (1638, from memory): vertical for red,
horizontal for blue, slanting for green, dots for gold, crossed for black, plain for
white; beside them stands a thing that everybody knows to have that colour.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from corallum.draw.calice import arrow
from corallum.draw.geometry import (
    arc,
    ellipse,
    hatched,
    hexagonal,
    inside,
    outline_of_all,
    outside,
    polar,
    smooth,
    under,
    wave,
)
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Mark, Marks, Points, Stroke, stroke

__all__ = ["DRAWN"]

_SEA = 28.0
_REEF = smooth([(3, 52), (10, 62), (20, 64), (29, 52), (34, 42), (44, 41), (55, 41), (61, 34),
                (67, 38), (76, 58), (86, 76), (97, 88)])  # fmt: skip


def _reef(at: float) -> Marks:
    """Draw the reef in section, with an arrow down to the place at ``at`` across."""
    sea = wave((3, 97), lambda x: _SEA + 1.2 * np.sin(x / 2.4), 120)
    y = float(np.interp(at, _REEF[:, 0], _REEF[:, 1]))
    dome = arc(at, y + 1, 6, 8, (180, 360))
    return (
        stroke(sea, FINE, "sea"),
        stroke(_REEF, BOLD, "reef"),
        *hatched(under(_REEF, 97), 8),
        *arrow((at, 4), (at, y - 9), 9),
        stroke(dome, SOLID, "colony"),
    )


def _reef_flat() -> Marks:
    """Mark the shallow flat behind the crest."""
    return _reef(47)


def _crest() -> Marks:
    """Mark the crest, under a breaking wave."""
    breaker = smooth([(70, 28), (76, 12), (88, 8), (92, 16), (86, 20), (83, 15)])
    return (*_reef(61), stroke(breaker, BOLD, "breaker"))


def _slope() -> Marks:
    """Mark the seaward slope."""
    return _reef(80)


def _lagoon() -> Marks:
    """Mark the sheltered water behind the reef."""
    return _reef(16)


def _overhang() -> Marks:
    """Draw colonies that hang under a ledge."""
    rock = smooth([(97, 22), (60, 16), (24, 20), (18, 32), (34, 42), (58, 44), (72, 56), (70, 74),
                   (50, 84), (24, 86), (3, 88)])  # fmt: skip
    solid = np.vstack((rock, [(3, 97), (97, 97)]))
    hanging = [arc(x, y, 7, 12, (0, 180)) for x, y in ((34, 42), (52, 44))]
    return (
        stroke(rock, BOLD, "rock"),
        *hatched(solid, 7),
        *(stroke(h, SOLID, "colony") for h in hanging),
        *arrow((20, 68), (34, 58), 9),
    )


def _loose_bottom() -> Marks:
    """Draw a colony on sand with grains and broken pieces."""
    grains = [
        Disc(x, y, 1.1, SOLID, "grain") for x, y in hexagonal(9, 0.3) if 67 < y < 96 and 4 < x < 96
    ]
    strewn = ((16, 58, 20), (84, 58, -25), (30, 60, -10), (70, 60, 12))
    pieces = [
        stroke(ellipse(x, y, 6, 3, tilt), LINE, "rubble", closed=True) for x, y, tilt in strewn
    ]
    return (
        stroke([(3, 63), (97, 63)], BOLD, "bottom"),
        *grains,
        *pieces,
        stroke(arc(50, 62, 12, 16, (180, 360)), SOLID, "colony"),
        *arrow((50, 8), (50, 42), 9),
    )


def _turbid() -> Marks:
    """Draw a colony near the land in water full of particles."""
    bottom = smooth([(3, 20), (20, 34), (30, 66), (50, 76), (97, 82)])
    solid = np.vstack((bottom, [(97, 97), (3, 97)]))
    dome = arc(64, 79, 12, 16, (180, 360))
    keep_off = [solid, ellipse(64, 74, 17, 22)]
    specks = []
    for i, (x, y) in enumerate(hexagonal(7, 0.3)):
        spot = np.array([(x, y)])
        if (
            34 < y < 96
            and 4 < x < 96
            and not any(inside(spot + d, o).any() for o in keep_off for d in ((0, 0), (-3, 3)))
        ):
            specks.append(Disc(x, y, 0.9 + 0.5 * (i % 2), SOLID, "particle"))
    tree = (stroke([(11, 25), (11, 12)], LINE, "tree"), Disc(11, 9, 5, LINE, "tree"))
    sea = wave((17, 97), lambda x: 30 + 1.2 * np.sin(x / 2.4), 120)
    return (stroke(sea, FINE, "sea"), stroke(bottom, BOLD, "bottom"), *hatched(solid, 8), *specks,
            stroke(dome, SOLID, "colony"), *tree)  # fmt: skip


def _depth() -> Marks:
    """Draw the water over a colony, measured down from the surface."""
    sea = wave((3, 97), lambda x: 16 + 2 * np.sin(x / 3), 120)
    return (stroke(sea, LINE, "sea"), stroke([(3, 88), (97, 88)], BOLD, "bottom"),
            *hatched(np.array([(3, 88), (97, 88), (97, 97), (3, 97)]), 8),
            stroke(arc(64, 88, 20, 20, (180, 360)), SOLID, "colony"),
            *arrow((28, 50), (28, 17), 9), *arrow((28, 50), (28, 87), 9))  # fmt: skip


# The coloured thing in the lower left, the well-known thing in the upper right.
_DOME = np.vstack((arc(38, 88, 34, 46, (180, 360)), [(72, 88), (4, 88)]))
_CHUNK = np.array([(8.0, 60), (20, 50), (30, 56), (44, 42), (56, 50), (70, 58), (76, 76), (58, 82),
                   (50, 92), (30, 86), (12, 92), (4, 76)])  # fmt: skip


def _tinct(outline: Points, *angles: float, gap: float = 5.0) -> Marks:
    """Hatch an outline at some angles."""
    return (stroke(outline, BOLD, "colony", closed=True),
            *(Stroke(s.points, LINE, part="tincture") for a in angles
              for s in hatched(outline, gap, a)))  # fmt: skip


def _dotted(outline: Points, gap: float, r: float) -> Marks:
    """Fill an outline with dots."""
    return (stroke(outline, BOLD, "colony", closed=True),
            *(Disc(x, y, r, SOLID, "tincture") for x, y in hexagonal(gap, 0)
              if inside(ellipse(x, y, r + 2, r + 2), outline).all()))  # fmt: skip


def _leaf() -> Marks:
    """Draw a leaf."""
    leaf = smooth([(62, 40), (62, 22), (76, 8), (94, 6), (92, 24), (80, 38)], closed=True)
    veins = [
        stroke([(70, 30), (70, 20)], FINE, "thing"),
        stroke([(79, 21), (79, 12)], FINE, "thing"),
        stroke([(70, 30), (80, 30)], FINE, "thing"),
        stroke([(79, 21), (88, 21)], FINE, "thing"),
    ]
    return (
        stroke(leaf, LINE, "thing", closed=True),
        stroke([(57, 44), (90, 10)], LINE, "thing"),
        *veins,
    )


def _ear() -> Marks:
    """Draw an ear of wheat."""
    grains = [stroke(ellipse(78 + s * 5, y, 5, 2.4, -s * 55), LINE, "thing", closed=True)
              for y in (14, 22, 30) for s in (-1, 1)]  # fmt: skip
    return (stroke([(78, 46), (78, 12)], LINE, "thing"), *grains)


def _sun() -> Marks:
    """Draw a sun."""
    rays = [
        stroke([polar(76, 25, r, a) for r in (14, 20)], BOLD, "thing") for a in range(0, 360, 45)
    ]
    return (Disc(76, 25, 9.5, LINE, "thing"), *rays)


def _heart() -> Marks:
    """Draw a heart."""
    half = smooth([(76, 16), (82, 8), (92, 11), (93, 22), (76, 42)])
    other = np.column_stack((152 - half[:, 0], half[:, 1]))
    return (stroke(np.vstack((half, other[::-1])), LINE, "thing", closed=True),)


def _drop() -> Marks:
    """Draw a drop of water."""
    drop = smooth([(76, 6), (84, 20), (87, 31), (76, 42), (65, 31), (68, 20)], closed=True)
    return (
        stroke(drop, LINE, "thing", closed=True),
        stroke(arc(76, 30, 6, 6, (90, 180)), FINE, "thing"),
    )


def _cloud() -> Marks:
    """Draw a cloud."""
    puffs = [ellipse(64, 30, 9, 8), ellipse(75, 20, 11, 11), ellipse(87, 29, 9, 9),
             ellipse(76, 32, 12, 7)]  # fmt: skip
    return tuple(outline_of_all(puffs, LINE, "thing"))


def _night() -> Marks:
    """Draw a moon and stars in a dark sky."""
    sky = ellipse(77, 25, 19, 19)
    moon = np.vstack((arc(77, 25, 10, 10, (60, 300)), arc(82, 25, 8.2, 8.2, (285, 75))))
    dark = outside(hatched(sky, 2.6, 0), [moon])
    return (stroke(sky, LINE, "thing", closed=True), stroke(moon, LINE, "thing", closed=True),
            *(Stroke(s.points, LINE, part="thing") for s in dark))  # fmt: skip


def _other_skeleton() -> Marks:
    """Draw a piece of skeleton hatched in several ways, with a flower."""
    marks: list[Mark] = [stroke(_CHUNK, BOLD, "colony", closed=True)]
    for box, angle in (((0.0, 27.0), 45.0), ((27.0, 49.0), -45.0), ((49.0, 80.0), 90.0)):
        part = np.array([(box[0], 30), (box[1], 30), (box[1], 96), (box[0], 96)])
        lines = hatched(_CHUNK, 5, angle)
        marks += [Stroke(s.points, LINE, part="tincture") for s in _clip(lines, part)]
    petals = [ellipse(*polar(78, 24, 10, a), 6.5, 4.5, a) for a in range(0, 360, 72)]
    return (*marks, *(stroke(p, LINE, "thing", closed=True) for p in petals),
            Disc(78, 24, 3, SOLID, "thing"))  # fmt: skip


def _clip(lines: list[Stroke], part: Points) -> list[Stroke]:
    """Keep the pieces of lines within a box."""
    far = np.array([(-50.0, -50), (150, -50), (150, 150), (-50, 150)])
    ring = np.vstack((far, far[:1], part[::-1], part[-1:], far[:1]))
    return outside(lines, [ring])


_COLOURS: Mapping[str, Callable[[], Marks]] = {
    "brown_or_green": lambda: (*_tinct(_DOME, 45), *_leaf()),
    "cream_or_yellow": lambda: (*_dotted(_DOME, 11, 1.3), *_ear()),
    "bright_orange_or_yellow": lambda: (*_dotted(_DOME, 7.5, 1.9), *_sun()),
    "pink_or_red": lambda: (*_tinct(_DOME, 90), *_heart()),
    "blue_or_purple": lambda: (*_tinct(_DOME, 0), *_drop()),
    "grey_or_white": lambda: (*_tinct(_DOME), *_cloud()),
    "very_dark": lambda: (*_tinct(_DOME, 0, 90, gap=3.4), *_night()),
}

DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    **{("living_colour", state): draw for state, draw in _COLOURS.items()},
    ("habitat", "reef_flat"): _reef_flat,
    ("habitat", "crest"): _crest,
    ("habitat", "slope"): _slope,
    ("habitat", "lagoon"): _lagoon,
    ("habitat", "overhang_or_cave"): _overhang,
    ("habitat", "sand_or_rubble"): _loose_bottom,
    ("habitat", "turbid_inshore"): _turbid,
    ("depth_m", ""): _depth,
    ("skeleton_colour", "white"): lambda: (*_tinct(_CHUNK), *_cloud()),
    ("skeleton_colour", "blue"): lambda: (*_tinct(_CHUNK, 0), *_drop()),
    ("skeleton_colour", "red"): lambda: (*_tinct(_CHUNK, 90), *_heart()),
    ("skeleton_colour", "other"): _other_skeleton,
}
