"""What lies over a surface, and how much of it is seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from corallum.draw.surface.camera import Floats32

__all__ = ["Cover", "half_round", "no_cover"]


@dataclass(frozen=True)
class Cover:
    """A cover; arrays of the picture's shape.

    Attributes
    ----------
    on : ndarray
        0 to 1: how far the cover hides what is below.
    height : ndarray
        mm over the plane of the crests.
    accent, pale, dark : ndarray
        As of a relief.
    shade : ndarray
        0 to 1: how far it shades what is below and beside it.
    """

    on: Floats32
    height: Floats32
    accent: Floats32
    pale: Floats32
    dark: Floats32
    shade: Floats32


def half_round(share: Floats32) -> Floats32:
    """Height of a rod of unit radius over its axis, 0 beyond it."""
    return np.asarray(np.sqrt(np.maximum(1.0 - share * share, 0.0)), dtype=np.float32)


def no_cover(x: Floats32) -> Cover:
    """Cover nothing, over a picture of the shape of ``x``."""
    blank = np.zeros_like(x)
    return Cover(blank, blank, blank, blank, blank, blank)
