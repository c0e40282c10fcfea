"""How a practice colony is looked at, and the truth kept beside the picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.draw.surface.refusals import Refusals

__all__ = ["PRACTICE_VIEW", "Rendered", "Truth", "ViewOptions"]

_STEEPEST_VIEW = 60.0
_WORST_BLUR_PX, _MOST_CONTRAST = 100.0, 4.0
_LEAST_SIDE, _MOST_SIDE = 16, 8000


@dataclass(frozen=True, slots=True)
class ViewOptions:
    """Camera, water and faults of a rendered picture.

    Parameters
    ----------
    px_per_mm : float or None
        Scale in the middle of the picture; None chooses one that puts 8 to 20
        units across the width (half as many where expanded polyps hide them).
    oblique_degrees : float
        Angle between the line of sight and the upright on the surface, 0 to 60.
    blur_px : float
        Standard deviation of the blur, pixels.
    noise : float
        Standard deviation of the noise of the sensor, share of full scale.
    contrast : float
        1 as lit; lower is flatter.
    water : float
        0 (none) to 1: how far red is lost and haze lies over the picture.
    scale_bar : bool
        Lay a ruler with ticks of millimetres in the plane of the surface.
    width, height : int
        Pixels.
    label : bool
        Write along the lower edge that the picture is a drawing. Pictures that
        people see or keep have it (``PRACTICE_VIEW``); those that are measured do not.
    """

    px_per_mm: float | None = None
    oblique_degrees: float = 0.0
    blur_px: float = 0.8
    noise: float = 0.02
    contrast: float = 1.0
    water: float = 0.3
    scale_bar: bool = False
    width: int = 1600
    height: int = 1200
    label: bool = False

    def __post_init__(self) -> None:
        """Refuse a view that can't be drawn, all faults at once."""
        refusals = Refusals("view")
        refusals.bounds("oblique_degrees", self.oblique_degrees, 0.0, _STEEPEST_VIEW)
        if self.px_per_mm is not None and not 0.0 < self.px_per_mm < np.inf:
            found, remedy = (
                f"{self.px_per_mm:g}",
                "Give pixels per mm, or None to let it be chosen.",
            )
            refusals.add("px_per_mm", "a number above 0, or None", found, remedy)
        refusals.bounds("blur_px", self.blur_px, 0.0, _WORST_BLUR_PX)
        refusals.bounds("noise", self.noise, 0.0, 1.0)
        refusals.bounds("contrast", self.contrast, 0.0, _MOST_CONTRAST)
        refusals.bounds("water", self.water, 0.0, 1.0)
        for side in ("width", "height"):
            refusals.bounds(side, getattr(self, side), _LEAST_SIDE, _MOST_SIDE)
        refusals.raise_any()


# For pictures that people see or keep: they say what they are.
PRACTICE_VIEW = ViewOptions(label=True)


@dataclass(frozen=True, slots=True)
class Truth:
    """What is so in a rendered picture, from the geometry and not from its pixels.

    Attributes
    ----------
    kind : str
        Always ``drawing``: no photograph.
    arrangement, scene, unit : str
        The arrangement, the scene, and what repeats (calice, mouth, hill, pore,
        cyclosystem, tube), or ``none``.
    centres_px, centres_mm : ndarray, shape (n, 2)
        Centres of the units in view as x, y; x to the right, y down; the middle
        of the first pixel is (0, 0).
    diameters_mm : ndarray, shape (n,)
        Diameter of each unit, inside its wall; of cells that share walls, or have
        none, the diameter of the circle of the same area.
    spacing_mm : float
        Mean distance between adjacent centres (pairs of the Delaunay
        triangulation; along rows, neighbours in a row); NaN where fewer than
        three pairs are in view.
    calice_diameter_mm : float
        Mean of ``diameters_mm``; NaN where the unit has none.
    valley_width_mm : float or None
        Mean width of valleys from crest to crest at right angles to the axis.
    valley_axes_px : tuple of ndarray, each (m, 2)
        Middle lines of the valleys in view.
    px_per_mm : float
        Scale at the middle of the picture, across the tilt.
    homography : ndarray, shape (3, 3)
        Takes (x mm, y mm, 1) of the plane to pixels.
    ruler_px : ndarray, shape (2, 2), or None
        Two ends of the ruler's scale; ``ruler_mm`` apart.
    ruler_mm : float or None
        Length of the ruler's scale.
    covered : bool
        Expanded polyps hide the units; centres and sizes are those below them.
    """

    arrangement: str
    scene: str
    unit: str
    centres_px: NDArray[np.float64]
    centres_mm: NDArray[np.float64]
    diameters_mm: NDArray[np.float64]
    spacing_mm: float
    calice_diameter_mm: float
    valley_width_mm: float | None
    valley_axes_px: tuple[NDArray[np.float64], ...]
    px_per_mm: float
    homography: NDArray[np.float64]
    ruler_px: NDArray[np.float64] | None = None
    ruler_mm: float | None = None
    kind: str = "drawing"
    covered: bool = False


@dataclass(frozen=True, slots=True)
class Rendered:
    """A picture, shape (height, width, 3) as bytes, with its truth."""

    image: NDArray[np.uint8]
    truth: Truth
