"""Septa and what stands in the middle of a calice: in plan above, in section below."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from corallum.draw.calice import between_arrows, dashed, section, septa
from corallum.draw.geometry import capsule, ellipse, hatched, polar, smooth
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Mark, Marks, Points, Stroke, stroke

__all__ = ["DRAWN", "plan"]

_MIDDLE = (50.0, 50.0)
# The plan in the upper part of a drawing that has a section below it.
_PLAN, _R = (50.0, 30.0), 27.0


def plan(r: float = 44.0, at: tuple[float, float] = _MIDDLE) -> Disc:
    """Draw the wall of a calice from above."""
    return Disc(*at, r, BOLD, "wall")


def _count() -> Marks:
    """Draw a calice with the septa that count, those a third of the way in, in bold."""
    mark = stroke(ellipse(*_MIDDLE, 29.3, 29.3), FINE, "third", closed=True)
    reaching = septa(_MIDDLE, [(18, 43)], 12, BOLD)
    short = septa(_MIDDLE, [(35, 43)], 12, FINE, -75)
    return (plan(), mark, *reaching, *short)


def _equal() -> Marks:
    """Draw septa all alike."""
    return (plan(), *septa(_MIDDLE, [(17, 43)], 20, 2.4))


def _alternating() -> Marks:
    """Draw thick and thin septa in turn."""
    return (
        plan(),
        *septa(_MIDDLE, [(14, 43)], 12, 4.5),
        *septa(_MIDDLE, [(24, 43)], 12, FINE, -75),
    )


def _unequal() -> Marks:
    """Draw septa of several sizes."""
    return (
        plan(),
        *septa(_MIDDLE, [(10, 43)], 6, 5.5),
        *septa(_MIDDLE, [(20, 43)], 6, 3, -60),
        *septa(_MIDDLE, [(30, 43)], 12, LINE, -75),
        *septa(_MIDDLE, [(37, 43)], 24, FINE, -82.5),
    )


def _indistinct() -> Marks:
    """Draw a calice in which septa can hardly be made out."""
    traces = [stroke([polar(*_PLAN, r, a) for r in (23, 25)], FINE, "septum")
              for a in range(0, 360, 40)]  # fmt: skip
    surface = smooth([(4, 68), (16, 68), (30, 80), (50, 84), (70, 80), (84, 68), (96, 68)])
    return (plan(_R, _PLAN), *traces, *section(surface, 96))


def _comb(heights: Sequence[float], wall: float) -> Marks:
    """Draw septa standing in a row behind a wall, seen from the side."""
    xs = np.linspace(10, 90, len(heights))
    fins = [stroke([(x - 1.2, wall), (x - 1.2, wall - h), (x + 1.2, wall - h), (x + 1.2, wall)],
                   SOLID, "septum") for x, h in zip(xs, heights, strict=True)]  # fmt: skip
    base = np.array([(4, wall), (96, wall), (96, 97), (4, 97)])
    return (stroke(base[:2], BOLD, "wall"), *fins, *hatched(base, 6))


def _even() -> Marks:
    """Draw plain septa of one height."""
    return (plan(_R, _PLAN), *septa(_PLAN, [(9, 26)], 20, LINE), *_comb([8.0] * 14, 84))


def _prominent() -> Marks:
    """Draw septa of which some stand well above the wall."""
    heights = [22.0 if i % 3 == 1 else 4.0 for i in range(14)]
    return (plan(19, _PLAN), *septa(_PLAN, [(6, 18), (11, 18), (11, 18)], 21, LINE),
            *septa(_PLAN, [(6, 27)], 7, 4), *_comb(heights, 88))  # fmt: skip


def _septum(edge: Points) -> Marks:
    """Draw one septum from its side: wall at the left, upper edge sloping to the middle."""
    outline = np.vstack(([(8, 92), (8, 28)], edge, [(86, 92)]))
    return (stroke(outline, BOLD, "septum", closed=True), *hatched(outline, 7))


_TOP, _FOOT = np.array([14.0, 28.0]), np.array([86.0, 80.0])


def _slope(share: float) -> Points:
    """Return a point of the plain upper edge."""
    bend = np.array([0.0, -16.0]) * np.sin(np.pi * share)
    at: Points = _TOP + share * (_FOOT - _TOP) + bend
    return at


def _out(share: float) -> Points:
    """Return the direction straight out of the upper edge."""
    along = _slope(min(share + 0.01, 1)) - _slope(max(share - 0.01, 0))
    out: Points = np.array([along[1], -along[0]]) / float(np.hypot(*along))
    return out


def _smooth_edge() -> Marks:
    """Draw a septum with a smooth edge."""
    return _septum(np.array([_slope(s) for s in np.linspace(0, 1, 30)]))


def _toothed(n: int, height: float, shape: Sequence[tuple[float, float]]) -> Points:
    """Return the upper edge with ``n`` teeth; a shape is steps along and heights, 0 to 1."""
    edge = []
    for i in range(n):
        for step, rise in shape:
            share = (i + step) / n
            edge.append(_slope(share) + rise * height * _out((i + 0.5) / n))
    return np.array([*edge, _slope(1.0)])


def _fine() -> Marks:
    """Draw a septum with an edge like a file."""
    return _septum(_toothed(17, 5, [(0, 0), (0.5, 1)]))


def _spiny() -> Marks:
    """Draw a septum with coarse pointed spines."""
    return _septum(_toothed(6, 18, [(0.12, 0), (0.5, 1), (0.88, 0)]))


def _lobed() -> Marks:
    """Draw a septum with broad rounded lobes."""
    bow = [(0.5 - 0.5 * np.cos(t), float(np.sin(t)) ** 0.6) for t in np.linspace(0, np.pi, 13)]
    return _septum(_toothed(3, 15, bow))


def _tooth_height() -> Marks:
    """Draw one large tooth between two others, measured from base to tip."""
    edge = np.array([(4, 70), (10, 70), (20, 44), (30, 70), (36, 70), (50, 22), (64, 70), (70, 70),
                     (80, 44), (90, 70), (96, 70)])  # fmt: skip
    guides = [stroke([(52, 22), (92, 22)], FINE, "guide")]
    return (*section(edge, 95), *guides, *between_arrows((86, 22), (86, 70), 5))


def _broken() -> Marks:
    """Draw two neighbours whose septa stop at the wall between them."""
    marks: list[Mark] = [stroke([(50, 5), (50, 95)], BOLD, "wall")]
    for y in range(12, 96, 11):
        for side in (-1, 1):
            at = y + (0 if side < 0 else 5)
            if at < 95:
                marks.append(stroke([(50 + side * 36, at), (50 + side * 7, at)], LINE, "septum"))
    marks += [Disc(8, 50, 4, SOLID, "centre"), Disc(92, 50, 4, SOLID, "centre")]
    return tuple(marks)


def _running_on() -> Marks:
    """Draw septa that run from one centre over to the next without a break."""
    marks: list[Mark] = [Disc(8, 50, 4, SOLID, "centre"), Disc(92, 50, 4, SOLID, "centre")]
    t = np.linspace(0, 1, 41)
    for bow in np.linspace(-44, 44, 9):
        line = np.column_stack((17 + 66 * t, 50 + bow * np.sin(np.pi * (0.06 + 0.88 * t)) ** 0.8))
        marks.append(stroke(line, LINE, "septum"))
    wall = np.column_stack((np.full(19, 50.0), np.linspace(4, 96, 19)))
    return (*marks, *dashed(wall, BOLD, 2))


def _cup_floor(floor: float) -> list[tuple[float, float]]:
    """Return the left half of a calice in section, down to its floor."""
    return [(6, 92), (10, 66), (16, 64), (26, 78), (34, floor)]


def _calice(r_inner: float, *, n: int = 16) -> Marks:
    """Draw a calice from above with an open middle."""
    return (plan(_R, _PLAN), *septa(_PLAN, [(r_inner, 26), (r_inner + 5, 26)], n))


def _below(middle: Sequence[Points], pen: float = LINE) -> Marks:
    """Draw a calice in section with what stands on its floor."""
    left = _cup_floor(91)
    surface = np.array([*left, *((100 - x, y) for x, y in reversed(left))])
    marks = [stroke(shape, pen, "columella section", closed=pen == SOLID) for shape in middle]
    return (*section(surface, 97), *marks)


def _no_columella() -> Marks:
    """Draw an open pit in the middle."""
    pit = np.array([(6, 92), (10, 66), (16, 64), (28, 76), (38, 95), (62, 95), (72, 76), (84, 64),
                    (90, 66), (94, 92)])  # fmt: skip
    return (*_calice(13), *section(pit, 98))


def _styliform() -> Marks:
    """Draw a single rod."""
    rod = np.array([(45.5, 91), (47.5, 70), (50, 64), (52.5, 70), (54.5, 91)])
    return (*_calice(11), Disc(*_PLAN, 4, SOLID, "columella"), *_below([rod], SOLID))


def _tangle(at: tuple[float, float], a: float, b: float) -> list[Stroke]:
    """Draw threads twisted through one another within an ellipse."""
    loops = ((-0.45, -0.1, 20), (0.4, 0.2, 75), (0, -0.4, 130), (0.1, 0.4, 160), (-0.2, 0.25, 100),
             (0.35, -0.35, 40))  # fmt: skip
    return [
        stroke(ellipse(at[0] + x * a, at[1] + y * b, 0.6 * a, 0.28 * b, tilt), LINE, "columella",
               closed=True)
        for x, y, tilt in loops
    ]  # fmt: skip


def _spongy() -> Marks:
    """Draw a tangle of threads."""
    return (*_calice(16), *_tangle(_PLAN, 11, 13), *_below([]), *_tangle((50, 80), 13, 14))


def _lamellar() -> Marks:
    """Draw an upright plate."""
    plate = np.array([(33, 91), (35, 71), (65, 71), (67, 91)])
    return (*_calice(14), stroke([(40, 30), (60, 30)], 4.5, "columella"), *_below([plate], SOLID))


def _papillose() -> Marks:
    """Draw a cluster of small pillars."""
    dots = [Disc(*_PLAN, 2, SOLID, "columella")]
    dots += [Disc(*polar(*_PLAN, 7.5, 60 * k), 2, SOLID, "columella") for k in range(6)]
    pillars = [np.array([(x - 1.8, 91), (x - 1.8, y + 2), (x, y), (x + 1.8, y + 2), (x + 1.8, 91)])
               for x, y in ((36, 81), (43, 76), (50, 79), (57, 75), (64, 80))]  # fmt: skip
    return (*_calice(14), *dots, *_below(pillars, SOLID))


def _no_crown() -> Marks:
    """Draw septa that slope evenly to the columella."""
    middle = np.array([(43, 91), (45, 84), (55, 84), (57, 91)])
    return (*_calice(12, n=12), Disc(*_PLAN, 5.5, LINE, "columella"), *_below([middle]))


def _crown() -> Marks:
    """Draw a ring of lobes at the inner ends of the septa, before the columella."""
    lobes = [stroke(ellipse(*polar(*_PLAN, 12, 30 * k - 90), 3.4, 2.1, 30 * k - 90), SOLID, "lobe")
             for k in range(12)]  # fmt: skip
    middle = np.array([(45, 91), (46, 85), (54, 85), (55, 91)])
    upright = [capsule((x, 91), (x, 71), 3.6, 3.2) for x in (36, 64)]
    return (plan(_R, _PLAN), *septa(_PLAN, [(15.5, 26)], 12), *lobes,
            Disc(*_PLAN, 4.5, LINE, "columella"), *_below([middle]),
            *(stroke(u, SOLID, "lobe section") for u in upright))  # fmt: skip


DRAWN: Mapping[tuple[str, str], Callable[[], Marks]] = {
    ("septa_count", ""): _count,
    ("septa_order", "equal"): _equal,
    ("septa_order", "alternating"): _alternating,
    ("septa_order", "unequal"): _unequal,
    ("septa_relief", "indistinct"): _indistinct,
    ("septa_relief", "even"): _even,
    ("septa_relief", "prominent"): _prominent,
    ("septal_teeth", "none"): _smooth_edge,
    ("septal_teeth", "fine"): _fine,
    ("septal_teeth", "spiny"): _spiny,
    ("septal_teeth", "lobed"): _lobed,
    ("tooth_height_mm", ""): _tooth_height,
    ("septo_costae_confluent", "absent"): _broken,
    ("septo_costae_confluent", "present"): _running_on,
    ("columella", "absent"): _no_columella,
    ("columella", "styliform"): _styliform,
    ("columella", "spongy"): _spongy,
    ("columella", "lamellar"): _lamellar,
    ("columella", "papillose"): _papillose,
    ("paliform_crown", "absent"): _no_crown,
    ("paliform_crown", "present"): _crown,
}
