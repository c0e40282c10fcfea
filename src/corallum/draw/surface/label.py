"""The line that says what a picture is: a drawing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.strokes import cover_of_text, width_of_text

__all__ = ["LABEL", "write_label"]

LABEL = "drawing, not a photograph"
# Height of a capital as a share of the picture's height, and the least that is read.
_SHARE, _LEAST_PX = 0.017, 9.0
_DIM, _INK = 0.5, 228.0
# Under a capital there is room for letters that hang.
_ABOVE, _BELOW, _BESIDE = 0.45, 0.65, 0.6


def write_label(image: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Write along the lower edge that a picture is a drawing.

    Parameters
    ----------
    image : ndarray of uint8, shape (height, width, 3)
        A finished picture.

    Returns
    -------
    ndarray of uint8, shape (height, width, 3)
        Another with a dim strip in its lower left corner and the line on it; the
        same picture elsewhere. Where it is narrower than the line, the line is
        as small as fits.
    """
    height, width = image.shape[:2]
    wide = width_of_text(LABEL) + 2.0 * _BESIDE
    capital = min(max(_SHARE * height, _LEAST_PX), width / wide)
    tall = capital * (1.0 + _ABOVE + _BELOW)
    rows, columns = min(int(np.ceil(tall)), height), min(int(np.ceil(capital * wide)), width)
    x = (np.arange(columns, dtype=np.float32)[None, :] / capital - _BESIDE).astype(np.float32)
    y = (np.arange(rows, dtype=np.float32)[:, None] / capital - _ABOVE).astype(np.float32)
    ink = cover_of_text(x, y, LABEL, pen=max(0.1, 1.1 / capital), soft=1.0 / capital)[..., None]
    labelled = image.copy()
    strip = labelled[height - rows :, :columns].astype(np.float32) * np.float32(_DIM)
    labelled[height - rows :, :columns] = (strip + (_INK - strip) * ink + 0.5).astype(np.uint8)
    return labelled
