"""Branches and plates: what stands at a tip, in rows, in mounds, on faces, on edges."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from corallum.draw.geometry import (
    arc,
    capsule,
    ellipse,
    hatched,
    inside,
    outline_of_all,
    outside,
    polar,
    shaken,
)
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Mark, Marks, Points, stroke

__all__ = ["DRAWN", "stem"]


def _spouts(x: tuple[float, float], heights: list[float]) -> list[Points]:
    """Return corallites that stand out on both sides of a branch."""
    found = []
    for i, y in enumerate(heights):
        for side, edge in zip((-1, 1), x, strict=True):
            foot = (edge - side * 4, y + 3.5 * (i % 2))
            found.append(capsule(foot, (edge + side * 8, foot[1] - 9), 4, 3.2))
    return found


def _scattered(x: tuple[float, float], heights: list[float], r: float) -> Marks:
    """Draw corallites on the face of a branch, without order."""
    marks = []
    for i, y in enumerate(heights):
        dx, dy = shaken(i)
        marks.append(Disc((x[0] + x[1]) / 2 + 0.33 * (x[1] - x[0]) * dx, y + 3 * dy, r, LINE,
                          "corallite"))  # fmt: skip
    return tuple(marks)


def _tip(openings: list[tuple[float, float, float]], *, blunt: bool) -> Marks:
    """Draw a branch with side corallites and, at its tip, tubes at (x, y) of some half-width."""
    body = capsule((50, 110), (50, 44 if blunt else 36), 17, 16 if blunt else 12)
    shapes = [body, *_spouts((33, 67), [52, 68, 84])]
    rims: list[Mark] = []
    for x, y, half in openings:
        lean = (x - 50) * 0.35
        shapes.append(np.array([(x - half - lean, 48), (x - half, y), (x + half, y),
                                (x + half - lean, 48)]))  # fmt: skip
        rims.append(stroke(ellipse(x, y, half, 0.42 * half), BOLD, "axial", closed=True))
        rims.append(stroke(ellipse(x, y, 0.5 * half, 0.18 * half), SOLID, "axial"))
    rim_shapes = [ellipse(x, y, half, 0.42 * half) for x, y, half in openings]
    below = np.array([(0.0, 96), (100, 96), (100, 200), (0, 200)])
    lines = outside(outline_of_all(shapes, BOLD, "branch"), [below, *rim_shapes])
    return (*lines, *rims, *_scattered((33, 67), [60, 70, 80, 90], 2.6))


def _no_axial() -> Marks:
    """Draw a branch whose rounded tip is like its sides."""
    return (
        *_tip([], blunt=True),
        *(
            Disc(x, y, 2.6, LINE, "corallite")
            for x, y in ((44, 38), (56, 36), (50, 48), (40, 50), (61, 48))
        ),
    )


def _single() -> Marks:
    """Draw one large tube at the tip."""
    return _tip([(50, 10, 11)], blunt=False)


def _multiple() -> Marks:
    """Draw three tubes at the tip."""
    return _tip([(28, 20, 8), (50, 10, 8), (72, 20, 8)], blunt=True)


def stem(half: float = 26.0) -> Points:
    """Return the outline of a thick branch, open below."""
    return np.vstack(([(50 - half, 97)], arc(50, 32, half, 27, (180, 360)), [(50 + half, 97)]))


def _rows() -> Marks:
    """Draw corallites in lines along a branch."""
    xs = (32.0, 44, 56, 68)
    marks = [Disc(x, y, 3, SOLID, "corallite") for x in xs for y in np.arange(34, 95, 9.5)]
    lines = [stroke([(x, 14), (x, 94)], FINE, "row") for x in (26.0, 38, 50, 62, 74)]
    return (stroke(stem(30), BOLD, "branch"), *lines, *marks)


def _no_rows() -> Marks:
    """Draw corallites strewn over a branch."""
    marks: list[Disc] = []
    for i in range(90):
        dx, dy = shaken(i)
        x, y = 50 + 24 * dx, 54 + 40 * dy
        if all(np.hypot(x - m.x, y - m.y) > 10 for m in marks) and y > 16 + abs(x - 50) * 0.5:
            marks.append(Disc(x, y, 3, SOLID, "corallite"))
    return (stroke(stem(30), BOLD, "branch"), *marks)


def _mounds() -> Marks:
    """Draw a branch with mounds that bear corallites."""
    mounds = [ellipse(x, y, 10, 9) for x, y in ((24, 84), (26, 60), (30, 36), (50, 18), (70, 36),
                                                (74, 60), (76, 84))]  # fmt: skip
    below = np.array([(0.0, 97), (100, 97), (100, 200), (0, 200)])
    lines = outside(outline_of_all([np.vstack((stem(23), [(73, 120), (27, 120)])), *mounds],
                                   BOLD, "branch"), [below])  # fmt: skip
    marks: list[Mark] = [*lines]
    for x, y in ((50, 46), (50, 78)):
        marks.append(stroke(arc(x, y, 11, 11, (150, 390)), LINE, "mound"))
    for x, y in ((50, 46), (50, 78), (24, 84), (26, 60), (30, 36), (50, 18), (70, 36), (74, 60),
                 (76, 84)):  # fmt: skip
        marks += [Disc(*polar(x, y, 4.8, a), 1.6, SOLID, "corallite") for a in (-90, 30, 150)]
    return tuple(marks)


def _no_mounds() -> Marks:
    """Draw an even branch with corallites."""
    marks = [Disc(x + 5 * (j % 2), y, 1.6, SOLID, "corallite")
             for j, y in enumerate(range(20, 96, 9)) for x in range(30, 70, 10)]  # fmt: skip
    outline = np.vstack((stem(27), [(77, 99), (23, 99)]))
    kept = [m for m in marks if inside(ellipse(m.x, m.y, 4, 4), outline).all()]
    return (stroke(stem(27), BOLD, "branch"), *kept)


def _plate(*, lower: bool) -> Marks:
    """Draw a plate in section with calices on its upper face, and below if wanted."""

    def cups(y: float, side: int) -> list[tuple[float, float]]:
        """Return one face with five calices."""
        line: list[tuple[float, float]] = [(4, y)]
        for x in (15, 38.3, 61.7, 85):
            line += [(x - 9, y), (x - 7, y - side * 12), (x - 4, y - side * 12),
                     (x - 2.5, y + side * 4), (x + 2.5, y + side * 4), (x + 4, y - side * 12),
                     (x + 7, y - side * 12), (x + 9, y)]  # fmt: skip
        return [*line, (96, y)]

    top = cups(40, 1)
    bottom = cups(60, -1) if lower else [(4.0, 60.0), (96.0, 60.0)]
    outline = np.array([*top, *reversed(bottom)])
    return (stroke(outline, BOLD, "plate", closed=True), *hatched(outline, 5))


def _slab(*, columns: bool) -> Marks:
    """Draw a plate seen aslant, with columns on it or none."""
    centre = (50.0, 70.0)
    plate = ellipse(*centre, 45, 17)
    edge = arc(centre[0], centre[1] + 6, 45, 17, (0, 180))
    marks: list[Mark] = [stroke(edge, BOLD, "plate")]
    shapes = []
    if columns:
        places = ((25, 70, -1, 36), (42, 64, 0, 16), (60, 74, 1, 30), (76, 66, 2, 22))
        shapes = [capsule((x, y), (x + lean, top), 6.5, 5.5) for x, y, lean, top in places]
    marks += outside([stroke(plate, BOLD, "plate", closed=True)], shapes)
    for i, shape in enumerate(shapes):
        foot = [
            np.array([(0, 76 if i == 2 else 72), (100, 76 if i == 2 else 72), (100, 100), (0, 100)])
        ]
        marks += outside([stroke(shape, BOLD, "upright", closed=True)], foot)
    for x, y in ((14, 70), (30, 80), (34, 62), (50, 70), (50, 82), (68, 82), (66, 60), (86, 70)):
        dot = ellipse(x, y, 3, 1.8)
        if not any(inside(dot, shape).any() for shape in shapes):
            marks.append(stroke(dot, SOLID, "corallite"))
    return tuple(marks)


def _fan(*, ridges: bool) -> Marks:
    """Draw a fan-shaped plate from above, with ridges parallel to its margin or none."""

    def rim(r: float) -> Points:
        """Return a line parallel to the margin."""
        t = np.radians(np.linspace(-160, -20, 60))
        wavy = r * (1 + 0.025 * np.sin(9 * t))
        return np.column_stack((50 + 0.54 * wavy * np.cos(t), 94 + wavy * np.sin(t)))

    outer = rim(88)
    outline = np.vstack((outer, [(50, 94)]))
    marks: list[Mark] = [stroke(outline, BOLD, "plate", closed=True)]
    radii: tuple[float, ...] = (78.0, 65.0, 52.0, 39.0, 26.0)
    if ridges:
        radii = (67.0, 53.0, 39.0)
        marks += [stroke(rim(r), BOLD, "ridge") for r in (74, 60, 46, 32)]
    for k, radius in enumerate(radii):
        n = max(3, round(radius / 9))
        for i in range(n):
            t = np.radians(-152 + 124 * (i + 0.5 * (k % 2) + 0.25) / n)
            jitter = 0 if ridges else 5 * shaken(7 * k + i)[0]
            spot = (50 + 0.54 * (radius + jitter) * np.cos(t), 94 + (radius + jitter) * np.sin(t))
            marks.append(Disc(*spot, 1.7, SOLID, "corallite"))
    return tuple(marks)


DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    ("axial_corallite", "absent"): _no_axial,
    ("axial_corallite", "single"): _single,
    ("axial_corallite", "multiple"): _multiple,
    ("corallite_rows", "absent"): _no_rows,
    ("corallite_rows", "present"): _rows,
    ("verrucae", "absent"): _no_mounds,
    ("verrucae", "present"): _mounds,
    ("plate_faces", "one"): lambda: _plate(lower=False),
    ("plate_faces", "both"): lambda: _plate(lower=True),
    ("plate_uprights", "absent"): lambda: _slab(columns=False),
    ("plate_uprights", "present"): lambda: _slab(columns=True),
    ("concentric_ridges", "absent"): lambda: _fan(ridges=False),
    ("concentric_ridges", "present"): lambda: _fan(ridges=True),
}
