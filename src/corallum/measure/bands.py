"""One picture at many scales, by one cosine transform.

The transform mirrors the picture at its border, so nothing wraps round. A coarse
scale needs few coefficients and is made small: all scales together cost little more
than the finest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray
from scipy import ndimage

__all__ = ["Band", "Bands", "flatten_light"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
# Pixels of a band's own grid to its sigma.
_SIGMA_ON_GRID = 1.8


@dataclass(frozen=True, slots=True)
class Band:
    """A picture filtered at one scale, on a grid of its own.

    Parameters
    ----------
    sigma : float
        Scale, in pixels of the picture.
    ridges : ndarray of float32, (h, w)
        Response, high on bright blobs of this scale (minus the Laplacian of a Gaussian).
    smooth : ndarray of float32, (h, w)
        The picture at a third of the scale, on the same grid.
    step : tuple of float
        Pixels of the picture to one of the grid, x and y.
    """

    sigma: float
    ridges: Singles
    smooth: Singles
    step: tuple[float, float]

    def to_picture(self, points: Floats) -> Floats:
        """Turn x, y on the grid (n, 2) into x, y of the picture."""
        moved: Floats = (points + 0.5) * np.array(self.step) - 0.5
        return moved

    def to_grid(self, points: Floats) -> Floats:
        """Turn x, y of the picture (n, 2) into x, y on the grid."""
        moved: Floats = (points + 0.5) / np.array(self.step) - 0.5
        return moved


class Bands:
    """Band-passed views of one picture.

    Parameters
    ----------
    image : ndarray, (h, w)
        Grey picture.
    """

    def __init__(self, image: Singles) -> None:
        self.shape = image.shape
        self.waves = scipy.fft.dctn(image, norm="ortho")

    def band(self, sigma: float) -> Band:
        """Filter the picture at one scale.

        Parameters
        ----------
        sigma : float
            Scale, in pixels: a disc of radius 1.4 sigma answers most.
        """
        h, w = self.shape
        shrink = min(1.0, _SIGMA_ON_GRID / sigma)
        rows, columns = max(8, round(h * shrink)), max(8, round(w * shrink))
        waves = self.waves[:rows, :columns] * np.float32(np.sqrt(rows * columns / (h * w)))
        fy = (np.pi * np.arange(rows, dtype=np.float32) / h)[:, None] * np.float32(sigma)
        fx = (np.pi * np.arange(columns, dtype=np.float32) / w)[None] * np.float32(sigma)
        gauss = np.exp(-(fy**2) / 2) * np.exp(-(fx**2) / 2)
        little = np.exp(-(fy**2) / 18) * np.exp(-(fx**2) / 18)
        return Band(
            sigma,
            scipy.fft.idctn((fy**2 + fx**2) * gauss * waves, norm="ortho"),
            scipy.fft.idctn(waves * little, norm="ortho"),
            (w / columns, h / rows),
        )


def flatten_light(image: Singles) -> Singles:
    """Even out light and contrast that change slowly over the picture.

    Parameters
    ----------
    image : ndarray, (h, w)
        Grey picture.

    Returns
    -------
    ndarray of float32, (h, w)
        Mean near 0 and standard deviation near 1 everywhere; flat parts stay flat.
    """
    step = max(1, min(image.shape) // 64)
    h, w = (n // step * step for n in image.shape)
    blocks = image[:h, :w].reshape(h // step, step, w // step, step)
    mean = blocks.mean((1, 3))
    square = (blocks**2).mean((1, 3))
    wide = 8.0
    low = ndimage.gaussian_filter(mean, wide)
    spread = np.sqrt(np.maximum(ndimage.gaussian_filter(square, wide) - low**2, 0))
    floor = 0.25 * float(np.median(spread)) + 1e-6
    deep: Singles = _enlarge(spread, image.shape) + np.float32(floor)
    flat: Singles = (image - _enlarge(low, image.shape)) / deep
    return flat


def _enlarge(small: Singles, shape: tuple[int, int]) -> Singles:
    """Enlarge a smooth field to a shape, by straight lines between its points."""
    rows = np.linspace(0, small.shape[0] - 1, shape[0], dtype=np.float32)
    columns = np.linspace(0, small.shape[1] - 1, shape[1], dtype=np.float32)
    return _along(_along(small, rows).T, columns).T


def _along(field: Singles, at: Singles) -> Singles:
    """Read rows of a field between its rows."""
    low = np.minimum(at.astype(np.int64), max(field.shape[0] - 2, 0))
    part = (at - low).astype(np.float32)[:, None]
    high = np.minimum(low + 1, field.shape[0] - 1)
    between: Singles = (field[low] * (1 - part) + field[high] * part).astype(np.float32)
    return between
