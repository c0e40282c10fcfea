"""One corallite: how far it stands out, its outline, its lean, its lip, its width."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from corallum.draw.calice import arrow, between_arrows, section, septa
from corallum.draw.geometry import ellipse, hatched, outside, polar, smooth
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Mark, Marks, Points, stroke

__all__ = ["DRAWN"]

_SURFACE = 66.0


def _relief(half: list[tuple[float, float]]) -> Marks:
    """Draw a section from its left half, x from the middle and y above the surface."""
    left = [(50 - x, _SURFACE - y) for x, y in half]
    right = [(100 - x, y) for x, y in reversed(left)]
    line = np.array([(4, _SURFACE), *left, *right, (96, _SURFACE)])
    return section(line, 96)


def _immersed() -> Marks:
    """Draw a calice sunk below the surface."""
    level = tuple(stroke([(x, _SURFACE), (x + 4, _SURFACE)], FINE, "level")
                  for x in range(25, 74, 8))  # fmt: skip
    return (
        *_relief([(34, 0), (25, -13), (18, -15), (15, -10), (12, -15), (9, -25), (4, -26)]),
        *level,
    )


def _flush() -> Marks:
    """Draw a calice level with the surface."""
    walls = [stroke([(50 + s * x, _SURFACE), (50 + s * (x - 3), _SURFACE + 22)], LINE, "wall")
             for s in (-1, 1) for x in (23, 17)]  # fmt: skip
    return (*_relief([(17, 0), (14, -18), (6, -21)]), *walls)


def _domed() -> Marks:
    """Draw a calice on a low rounded rise."""
    dome = [(44 * np.cos(t), 24 * np.sin(t)) for t in np.linspace(0.0, 1.2, 12)]
    return _relief([*dome, (12, 8), (6, 4)])


def _conical() -> Marks:
    """Draw a calice on top of a cone."""
    return _relief([(40, 0), (10, 48), (7, 32), (4, 28)])


def _tubular() -> Marks:
    """Draw a tube taller than wide."""
    return _relief([(15, 0), (14, 58), (9, 58), (8, 28), (5, 26)])


def _outlined(outline: Points) -> Marks:
    """Draw a calice of a given outline from above, with septa."""
    middle = outline.mean(axis=0)
    x, y = (float(value) for value in middle)
    inner = [
        stroke([middle + s * (p - middle) for s in (1.0, 0.66 if i % 2 else 0.5)], FINE, "septum")
        for i, p in enumerate(outline[:: max(1, len(outline) // 24)])
    ]
    return (stroke(outline, BOLD, "wall", closed=True), *inner, Disc(x, y, 4, SOLID, "centre"))


def _round() -> Marks:
    """Draw a circle."""
    return _outlined(ellipse(50, 50, 40, 40))


def _polygonal() -> Marks:
    """Draw an outline with corners."""
    corners = np.array([(30.0, 8), (72, 12), (94, 46), (74, 90), (28, 88), (6, 50)])
    points = [a + (b - a) * k / 4 for a, b in zip(corners, np.roll(corners, -1, axis=0),
                                                  strict=True) for k in range(4)]  # fmt: skip
    return _outlined(np.array(points))


def _elongate() -> Marks:
    """Draw a long oval."""
    return _outlined(ellipse(50, 50, 45, 19, -20))


def _irregular() -> Marks:
    """Draw an outline without rule."""
    return _outlined(smooth([(12, 22), (34, 10), (50, 28), (76, 8), (93, 34), (78, 54), (86, 86),
                             (56, 78), (32, 93), (24, 66), (6, 52)], closed=True))  # fmt: skip


def _sheet(lean: float) -> Marks:
    """Draw a sheet in section, thin at its margin, with corallites that lean so far."""
    top = smooth([(3, 62), (40, 61), (76, 62), (97, 68)])
    lower = smooth([(3, 84), (40, 84), (76, 78), (97, 68)])
    marks: list[Mark] = [stroke(lower, BOLD, "sheet")]
    cups = []
    for x in (20.0, 58.0):
        height, half, tilt = 27.0, 10.0, np.radians(lean)
        axis = np.array([np.sin(tilt), -np.cos(tilt)])
        across = np.array([np.cos(tilt), np.sin(tilt)])
        foot = np.array([x, 62.5])
        rim = foot + height * axis
        cup = np.array([foot - 1.35 * half * across, rim - half * across,
                        rim - 0.45 * half * across,
                        rim - 0.55 * height * axis, rim + 0.45 * half * across,
                        rim + half * across, foot + 1.35 * half * across])  # fmt: skip
        cups.append(cup)
        marks.append(stroke(cup, BOLD, "wall"))
        if lean:
            marks += arrow(tuple(rim + 2 * axis), tuple(rim + 19 * axis), 7)
        else:
            marks += arrow(tuple(rim + 4 * axis), tuple(rim + 24 * axis), 7)
    body = np.vstack((top, lower[::-1]))
    return (*outside([stroke(top, BOLD, "sheet")], [_wide(c) for c in cups]), *marks,
            *hatched(body, 6))  # fmt: skip


def _wide(cup: Points) -> Points:
    """Return the foot of a corallite, which breaks the line of the sheet."""
    return np.array([cup[0] + (0, 4), cup[0] - (0, 4), cup[-1] - (0, 4), cup[-1] + (0, 4)])


def _pitted(*, pits: bool) -> Marks:
    """Draw a corallite from above with ribs around it, with pits between their feet or none."""
    at = (50.0, 50.0)
    marks: list[Mark] = [
        Disc(*at, 19, BOLD, "wall"),
        *septa(at, [(8, 18)], 12, LINE),
        *septa(at, [(21, 46)], 12, LINE),
    ]
    if pits:
        for i in range(12):
            angle = -75 + 30 * i
            marks.append(stroke(ellipse(*polar(*at, 27, angle), 5, 2.6, angle), SOLID, "pit"))
    return tuple(marks)


def _no_hood() -> Marks:
    """Draw a corallite with an even wall."""
    return section(np.array([(4, 80), (26, 80), (30, 42), (37, 42), (41, 66), (59, 66), (63, 42),
                             (70, 42), (74, 80), (96, 80)]), 97)  # fmt: skip


def _hood() -> Marks:
    """Draw a corallite with a lip on one side that arches over it."""
    lip = smooth([(26, 80), (24, 50), (28, 26), (44, 12), (62, 13), (74, 22), (62, 22), (48, 25),
                  (39, 38), (41, 66)])  # fmt: skip
    rest = np.array([(59, 66), (63, 52), (70, 52), (74, 80), (96, 80)])
    return section(np.vstack(([(4, 80)], lip, rest)), 97)


_CUP = np.array([(4.0, 84), (18, 84), (23, 46), (29, 42), (38, 62), (42, 68), (58, 68), (62, 62),
                 (71, 42), (77, 46), (82, 84), (96, 84)])  # fmt: skip


def _calice_diameter() -> Marks:
    """Draw a corallite in section, measured inside from crest to crest."""
    guides = [stroke([(x, 14), (x, 38)], FINE, "guide") for x in (29, 71)]
    return (*section(_CUP, 97), *guides, *between_arrows((29, 20), (71, 20)))


def _corallite_diameter() -> Marks:
    """Draw a corallite in section, measured outside with its wall, halfway up."""
    cup = _CUP - (0, 10)
    arrows = (*arrow((2, 54), (20, 54)), *arrow((98, 54), (80, 54)))
    dashes = [stroke([(x, 54), (x + 4, 54)], LINE, "measure") for x in range(24, 76, 8)]
    ticks = [stroke([(x, 44), (x, 64)], LINE, "tick") for x in (20.6, 79.4)]
    return (stroke(cup, BOLD, "surface"), *arrows, *dashes, *ticks,
            *hatched(np.vstack((cup, [(96, 92), (4, 92)])), 6))  # fmt: skip


DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    ("corallite_relief", "immersed"): _immersed,
    ("corallite_relief", "flush"): _flush,
    ("corallite_relief", "domed"): _domed,
    ("corallite_relief", "conical"): _conical,
    ("corallite_relief", "tubular"): _tubular,
    ("corallite_outline", "round"): _round,
    ("corallite_outline", "polygonal"): _polygonal,
    ("corallite_outline", "elongate"): _elongate,
    ("corallite_outline", "irregular"): _irregular,
    ("corallite_tilt", "upright"): lambda: _sheet(0),
    ("corallite_tilt", "towards_edge"): lambda: _sheet(42),
    ("costal_pits", "absent"): lambda: _pitted(pits=False),
    ("costal_pits", "present"): lambda: _pitted(pits=True),
    ("corallite_hood", "absent"): _no_hood,
    ("corallite_hood", "present"): _hood,
    ("calice_diameter_mm", ""): _calice_diameter,
    ("corallite_diameter_mm", ""): _corallite_diameter,
}
