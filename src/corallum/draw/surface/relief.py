"""A surface as the light meets it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cells import Cells
from corallum.draw.surface.layout import Layout
from corallum.draw.surface.septa import outline_table

__all__ = ["Relief", "share_of_radius"]


@dataclass(frozen=True)
class Relief:
    """Heights and what the light needs to know besides; arrays of the picture's shape.

    Attributes
    ----------
    height : ndarray
        mm towards the camera.
    accent : ndarray
        0 to 1: share of the colour of the oral disc.
    pale : ndarray
        0 to 1: how much paler than the tissue, as on crests and growing edges.
    dark : ndarray
        0 to 1: how little light gets there, beyond what the height says.
    coral : ndarray of bool, or None
        Where it is coral and not what lies behind; None: everywhere.
    """

    height: Floats32
    accent: Floats32
    pale: Floats32
    dark: Floats32
    coral: NDArray[np.bool_] | None = None


def share_of_radius(
    cells: Cells, layout: Layout, rough: float, rng: np.random.Generator
) -> tuple[Floats32, Floats32]:
    """Radius of the nearest calice, mm, and distance as a share of the way to its outline.

    Parameters
    ----------
    cells : Cells
        Where every point is.
    layout : Layout
        Radii of the calices.
    rough : float
        How far outlines depart from a circle, as a share of the radius.
    rng : numpy.random.Generator
        Draws the outlines.
    """
    radius = layout.radii.astype(np.float32)[cells.label]
    outline = cells.look_up(outline_table(len(layout.centres), rough, rng))
    return radius, cells.r / (radius * outline)
