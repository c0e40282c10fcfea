"""Walls close up: the gap between them, the groove on them, their crest, their valleys."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from corallum.draw.calice import between_arrows, section, septa
from corallum.draw.geometry import ellipse, smooth, wave
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Mark, Marks, Points, Stroke, stroke
from corallum.draw.valleys import valley
from corallum.draw.walls import mouth

__all__ = ["DRAWN"]


def _profile(points: list[tuple[float, float]]) -> Marks:
    """Draw a section through two calices and what parts them."""
    return section(smooth(points), 97)


def _side_by_side(gap: float) -> Marks:
    """Draw the edges of two neighbours from above, their walls ``gap`` apart."""
    marks: list[Mark] = []
    for side in (-1, 1):
        wall = 50 + side * gap / 2
        marks.append(stroke([(wall, 5), (wall, 43)], BOLD, "wall"))
        marks += [stroke([(wall, y), (wall + side * 20, y)], FINE, "septum")
                  for y in (8, 16, 24, 32, 40)]  # fmt: skip
    return tuple(marks)


def _no_gap() -> Marks:
    """Draw one wall between two calices, from above and in section."""
    return (*_side_by_side(0), *_profile(
        [(3, 60), (12, 84), (28, 86), (40, 76), (47, 60), (50, 57), (53, 60), (60, 76), (72, 86),
         (88, 84), (97, 60)]))  # fmt: skip


def _gap() -> Marks:
    """Draw two walls with a furrow between them, from above and in section."""
    return (
        *_side_by_side(22),
        *_profile(
            [
                (3, 60),
                (8, 84),
                (22, 86),
                (32, 74),
                (36, 60),
                (39, 57),
                (42, 60),
                (46, 78),
                (50, 82),
                (54, 78),
                (58, 60),
                (61, 57),
                (64, 60),
                (68, 74),
                (78, 86),
                (92, 84),
                (97, 60),
            ]
        ),
    )


def _ridge(groove: float) -> Marks:
    """Draw a broad shared wall, with a groove of some depth along its crest."""
    marks: list[Mark] = list(_profile(
        [(3, 90), (16, 89), (26, 80), (33, 62), (40, 56), (46, 56 + 0.35 * groove),
         (50, 56 + groove), (54, 56 + 0.35 * groove), (60, 56), (67, 62), (74, 80), (84, 89),
         (97, 90)]))  # fmt: skip
    for side in (-1, 1):
        x = 50 + 14 * side
        marks.append(stroke([(x, 5), (x, 43)], BOLD, "wall"))
        marks += [stroke([(x, y), (x + 20 * side, y)], FINE, "septum") for y in (8, 16, 24, 32, 40)]
    if groove:
        marks += [stroke([(x, 5), (x, 43)], LINE, "groove") for x in (48, 52)]
    return tuple(marks)


def _crest(points: list[tuple[float, float]], *, curved: bool) -> Marks:
    """Draw a wall in section between two valleys, large."""
    left = [(4.0, 80.0), (14.0, 82.0), (26.0, 78.0)]
    right = [(100 - x, y) for x, y in reversed(left)]
    line: list[tuple[float, float]] = [*left, *points, *right]
    return section(smooth(line) if curved else np.array(line), 95)


def _sharp() -> Marks:
    """Draw a crest narrow as a blade."""
    return _crest([(40, 60), (46, 34), (49.5, 10), (50.5, 10), (54, 34), (60, 60)], curved=True)


def _rounded() -> Marks:
    """Draw an arched crest."""
    return _crest([(30, 56), (36, 30), (50, 20), (64, 30), (70, 56)], curved=True)


def _flat() -> Marks:
    """Draw a broad level crest."""
    return _crest([(27, 56), (28, 22), (72, 22), (73, 56)], curved=False)


def _valleys(axes: list[Points], half: float, step: float) -> Marks:
    """Draw valleys apart."""
    marks: list[Mark] = []
    for axis in axes:
        outline, inner = valley(axis, half, step)
        discs = [Disc(d.x, d.y, 3, SOLID, "centre") for d in inner if isinstance(d, Disc)]
        marks += [stroke(outline, BOLD, "wall", closed=True), *discs]
        marks += [m for m in inner if isinstance(m, Stroke)]
    return tuple(marks)


def _few_centres() -> Marks:
    """Draw short valleys with one, two and three mouths."""
    return _valleys([smooth([(22, 22), (26, 23)]), smooth([(58, 20), (78, 26)]),
                     smooth([(18, 58), (24, 80)]), smooth([(54, 68), (68, 74), (84, 68)])],
                    12, 13)  # fmt: skip


def _many_centres() -> Marks:
    """Draw one long winding valley with many mouths."""
    axis = smooth([(16, 16), (50, 13), (84, 18), (86, 36), (52, 42), (18, 50), (16, 70), (44, 74),
                   (84, 82)])  # fmt: skip
    return _valleys([axis], 9, 14)


def _cone(x: float, foot: float, height: float, half: float) -> tuple[Points, Marks]:
    """Return the outline of a hill and the lines that run down it."""
    outline = smooth([(x - half, foot), (x - 0.45 * half, foot - 0.5 * height), (x, foot - height),
                      (x + 0.45 * half, foot - 0.5 * height), (x + half, foot)])  # fmt: skip
    lines = [stroke([(x + s * 0.15 * half, foot - 0.75 * height), (x + s * 0.62 * half, foot - 3)],
                    FINE, "septum") for s in (-0.9, -0.3, 0.3, 0.9)]  # fmt: skip
    return outline, (stroke(outline, BOLD, "hill"), *lines)


def _hills() -> Marks:
    """Draw rows of cone-shaped hills with the polyps between them."""
    marks: list[Mark] = []
    for foot, xs in ((42.0, (28.0, 72.0)), (90.0, (17.0, 50.0, 83.0))):
        for x in xs:
            marks += _cone(x, foot, 34, 14)[1]
    polyps = [(50, 38), (6, 38), (94, 38), (28, 56), (72, 56), (33.5, 91), (66.5, 91)]
    return (*marks, *(stroke(ellipse(x, y, 4.4, 3), SOLID, "polyp") for x, y in polyps))


def _no_hills() -> Marks:
    """Draw an even surface with calices and nothing raised between them."""
    marks: list[Mark] = []
    for y, xs in ((20.0, (18.0, 50.0, 82.0)), (46.0, (34.0, 66.0)), (72.0, (18.0, 50.0, 82.0))):
        for x in xs:
            marks.append(stroke(ellipse(x, y, 10, 6), LINE, "calice", closed=True))
            marks.append(stroke(ellipse(x, y, 3.4, 2), SOLID, "polyp"))
    return (*marks, stroke([(3, 92), (97, 92)], BOLD, "surface"))


def _valley_width() -> Marks:
    """Draw a valley from above and in section, measured from crest to crest."""
    left, right = 24.0, 76.0
    marks: list[Mark] = [stroke([(x, 4), (x, 40)], BOLD, "wall") for x in (left, right)]
    for y in (8.0, 17.0, 26.0, 35.0):
        for x, side in ((left, 1), (right, -1), (left, -1), (right, 1)):
            marks.append(stroke([(x, y), (x + side * 15, y)], FINE, "septum"))
    marks += [mouth(50, 10), mouth(50, 32)]
    surface = wave((4, 96), lambda x: 80 - 10 * np.cos(2 * np.pi * (x - left) / (right - left)))
    guides = [stroke([(x, 44), (x, 66)], FINE, "guide") for x in (left, right)]
    return (*marks, *section(surface, 97), *guides,
            *between_arrows((left, 55), (right, 55)))  # fmt: skip


def _spacing() -> Marks:
    """Draw three neighbours with the distances between their centres."""
    places = [(26.0, 28.0), (74.0, 28.0), (50.0, 70.0)]
    lines: list[Mark] = []
    for i, place in enumerate(places):
        lines += [Disc(*place, 14, LINE, "wall"), Disc(*place, 3.4, SOLID, "centre")]
        lines += septa(place, [(9, 14)], 14)
        lines.append(stroke([place, places[(i + 1) % 3]], BOLD, "measure"))
    return tuple(lines)


DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    ("groove_between", "absent"): _no_gap,
    ("groove_between", "present"): _gap,
    ("wall_groove", "absent"): lambda: _ridge(0),
    ("wall_groove", "present"): lambda: _ridge(16),
    ("wall_crest", "sharp"): _sharp,
    ("wall_crest", "rounded"): _rounded,
    ("wall_crest", "flat"): _flat,
    ("centres_per_valley", "one_to_three"): _few_centres,
    ("centres_per_valley", "many"): _many_centres,
    ("monticules", "absent"): _no_hills,
    ("monticules", "present"): _hills,
    ("valley_width_mm", ""): _valley_width,
    ("corallite_spacing_mm", ""): _spacing,
}
