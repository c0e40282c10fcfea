"""Digits and a few letters as strokes, so that pictures need no font.

A glyph is a set of broken lines in a box one unit high: y is 0 at the top of a
capital and 1 at its foot; letters that hang reach 1.3.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.camera import Floats32

__all__ = ["cover_of_text", "width_of_text"]

_Line = tuple[tuple[float, float], ...]
_BOWL: _Line = (
    (0.45, 0.5), (0.36, 0.37), (0.22, 0.33), (0.08, 0.4), (0.0, 0.56), (0.0, 0.77), (0.08, 0.93),
    (0.22, 1.0), (0.36, 0.96), (0.45, 0.83),
)  # fmt: skip
_ARCH: _Line = ((0.0, 0.5), (0.12, 0.38), (0.26, 0.34), (0.38, 0.41), (0.42, 0.55), (0.42, 1.0))
_ROUND: _Line = (
    (0.25, 0.0), (0.1, 0.07), (0.0, 0.28), (0.0, 0.72), (0.1, 0.93), (0.25, 1.0), (0.4, 0.93),
    (0.5, 0.72), (0.5, 0.28), (0.4, 0.07), (0.25, 0.0),
)  # fmt: skip


def _moved(line: _Line, across: float) -> _Line:
    """Shift a broken line to the right."""
    return tuple((x + across, y) for x, y in line)


# Width, then lines.
_GLYPHS: dict[str, tuple[float, tuple[_Line, ...]]] = {
    "0": (0.5, (_ROUND,)),
    "1": (0.3, (((0.0, 0.2), (0.22, 0.0), (0.22, 1.0)),)),
    "2": (0.5, (((0.02, 0.24), (0.1, 0.07), (0.26, 0.0), (0.42, 0.07), (0.48, 0.24), (0.42, 0.44),
                 (0.0, 1.0), (0.5, 1.0)),)),
    "3": (0.5, (((0.02, 0.14), (0.2, 0.0), (0.4, 0.07), (0.46, 0.24), (0.38, 0.4), (0.2, 0.46),
                 (0.4, 0.53), (0.5, 0.72), (0.4, 0.92), (0.22, 1.0), (0.0, 0.86)),)),
    "4": (0.52, (((0.38, 1.0), (0.38, 0.0), (0.0, 0.68), (0.52, 0.68)),)),
    "5": (0.5, (((0.46, 0.0), (0.08, 0.0), (0.04, 0.44), (0.22, 0.38), (0.42, 0.45), (0.5, 0.68),
                 (0.42, 0.9), (0.22, 1.0), (0.0, 0.9)),)),
    "6": (0.5, (((0.42, 0.04), (0.24, 0.0), (0.08, 0.2), (0.0, 0.6), (0.06, 0.9), (0.24, 1.0),
                 (0.42, 0.92), (0.5, 0.7), (0.42, 0.48), (0.24, 0.41), (0.06, 0.5),
                 (0.0, 0.65)),)),
    "7": (0.5, (((0.0, 0.0), (0.5, 0.0), (0.18, 1.0)),)),
    "8": (0.5, (((0.25, 0.0), (0.08, 0.08), (0.04, 0.24), (0.12, 0.4), (0.25, 0.46), (0.42, 0.56),
                 (0.5, 0.74), (0.42, 0.93), (0.25, 1.0), (0.08, 0.93), (0.0, 0.74), (0.08, 0.56),
                 (0.25, 0.46), (0.38, 0.4), (0.46, 0.24), (0.42, 0.08), (0.25, 0.0)),)),
    "9": (0.5, (((0.08, 0.96), (0.26, 1.0), (0.42, 0.8), (0.5, 0.4), (0.44, 0.1), (0.26, 0.0),
                 (0.08, 0.08), (0.0, 0.3), (0.08, 0.52), (0.26, 0.59), (0.44, 0.5),
                 (0.5, 0.35)),)),
    ".": (0.1, (((0.05, 0.97), (0.05, 1.0)),)),
    ",": (0.1, (((0.08, 0.93), (0.08, 1.02), (0.0, 1.16)),)),
    "a": (0.45, (_BOWL, ((0.45, 0.34), (0.45, 1.0)))),
    "d": (0.45, (_BOWL, ((0.45, 0.0), (0.45, 1.0)))),
    "g": (0.45, (_BOWL, ((0.45, 0.34), (0.45, 1.12), (0.36, 1.26), (0.2, 1.3), (0.05, 1.24)))),
    "h": (0.42, (((0.0, 0.0), (0.0, 1.0)), _ARCH)),
    "i": (0.08, (((0.04, 0.34), (0.04, 1.0)), ((0.04, 0.08), (0.04, 0.1)))),
    "m": (0.84, (((0.0, 0.34), (0.0, 1.0)), _ARCH, _moved(_ARCH, 0.42))),
    "n": (0.42, (((0.0, 0.34), (0.0, 1.0)), _ARCH)),
    "o": (0.48, (((0.24, 0.33), (0.08, 0.4), (0.0, 0.56), (0.0, 0.77), (0.08, 0.93), (0.24, 1.0),
                  (0.4, 0.93), (0.48, 0.77), (0.48, 0.56), (0.4, 0.4), (0.24, 0.33)),)),
    "p": (0.45, (tuple((0.45 - x, y) for x, y in _BOWL), ((0.0, 0.34), (0.0, 1.3)))),
    "r": (0.28, (((0.0, 0.34), (0.0, 1.0)), ((0.0, 0.52), (0.1, 0.4), (0.28, 0.35)))),
    "t": (0.32, (((0.14, 0.1), (0.14, 0.85), (0.2, 0.97), (0.32, 1.0)),
                 ((0.0, 0.35), (0.3, 0.35)))),
    "w": (0.64, (((0.0, 0.34), (0.16, 1.0), (0.32, 0.42), (0.48, 1.0), (0.64, 0.34)),)),
    " ": (0.28, ()),
}  # fmt: skip
_BETWEEN = 0.2


def width_of_text(text: str) -> float:
    """Width of a line of text, in heights of a capital."""
    return sum(_GLYPHS[letter][0] for letter in text) + _BETWEEN * max(len(text) - 1, 0)


def cover_of_text(
    x: Floats32, y: Floats32, text: str, pen: float = 0.11, soft: float = 0.04
) -> Floats32:
    """How far strokes cover points, 0 to 1.

    Parameters
    ----------
    x, y : ndarray
        Points in heights of a capital, from the upper left corner of the text.
    text : str
        Digits and the letters that have glyphs here.
    pen : float
        Width of the stroke.
    soft : float
        Width of its edge: that of a pixel.

    Returns
    -------
    ndarray, shape of x
        1 on a stroke.
    """
    away = np.full(np.broadcast_shapes(x.shape, y.shape), np.inf, dtype=np.float32)
    left = 0.0
    for letter in text:
        width, lines = _GLYPHS[letter]
        for line in lines:
            for start, end in pairwise(line):
                np.minimum(away, _to_segment(x - np.float32(left), y, start, end), out=away)
        left += width + _BETWEEN
    ink = (np.float32(0.5 * (pen + soft)) - away) / np.float32(soft)
    return np.asarray(np.clip(ink, 0.0, 1.0))


def _to_segment(
    x: Floats32, y: Floats32, start: tuple[float, float], end: tuple[float, float]
) -> NDArray[np.float32]:
    """Distance of points from a segment."""
    ax, ay = (np.float32(value) for value in start)
    bx, by = np.float32(end[0] - start[0]), np.float32(end[1] - start[1])
    share = np.clip(((x - ax) * bx + (y - ay) * by) / max(bx * bx + by * by, 1e-9), 0.0, 1.0)
    away = np.hypot(x - ax - share * bx, y - ay - share * by)
    return np.asarray(away, dtype=np.float32)
