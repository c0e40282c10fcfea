"""A picture seen at a slant, brought back to its plane."""

from __future__ import annotations

import numpy as np
import pytest
from skimage import transform

from corallum.measure.plane import fit_homography, project
from corallum.measure.scale import MeasureError
from corallum.measure.straighten import straighten

FLAT = np.array([[0, 0], [100, 0], [100, 80], [0, 80]], float)
SEEN = np.array([[60, 40], [560, 70], [500, 420], [110, 380]], float)


def waves(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Brightness of the plane at x, y in millimetres."""
    return 0.5 + 0.25 * np.cos(2 * np.pi * x / 12) + 0.25 * np.cos(2 * np.pi * y / 9)


def slanted() -> tuple[np.ndarray, np.ndarray]:
    """A picture of waves in the plane, made by scikit-image, and its homography."""
    h = fit_homography(SEEN, FLAT)
    theirs = transform.ProjectiveTransform.from_estimate(SEEN, FLAT)
    rows, columns = np.indices((480, 640))
    x, y = theirs(np.c_[columns.ravel(), rows.ravel()]).T
    return waves(x, y).reshape(480, 640).astype(np.float32), h


def test_a_slanted_picture_is_as_the_plane_is() -> None:
    """Each pixel shows the brightness that the plane has there."""
    image, h = slanted()
    straight = straighten(image, h, (100.0, 90.0, 500.0, 360.0), SEEN.mean(0))
    rows, columns = np.indices(straight.image.shape)
    there = project(h @ straight.to_picture, np.c_[columns.ravel(), rows.ravel()].astype(float))
    wanted = waves(*there.T).reshape(straight.image.shape)
    off = np.abs(straight.image - wanted)[straight.inside]
    assert off.max() < 0.02
    step = there[1] - there[0]
    np.testing.assert_allclose(step, [straight.mm_per_pixel, 0], atol=1e-9)


def test_only_the_part_asked_for_is_inside() -> None:
    """Pixels marked as inside lie within the part, and nearly all of it is there."""
    image, h = slanted()
    straight = straighten(image, h, (200.0, 150.0, 400.0, 300.0), SEEN.mean(0))
    rows, columns = np.nonzero(straight.inside)
    at = project(straight.to_picture, np.c_[columns, rows].astype(float))
    assert (at >= [200 - 1e-6, 150 - 1e-6]).all()
    assert (at <= [400 + 1e-6, 300 + 1e-6]).all()
    assert straight.inside.mean() > 0.6


def test_what_lies_beyond_the_horizon_is_left_out() -> None:
    """A plane that vanishes within the picture gives a picture of bounded size."""
    seen = np.array([[250, 240], [390, 240], [640, 470], [0, 470]], float)
    h = fit_homography(seen, FLAT)
    image = np.zeros((480, 640), np.float32)
    straight = straighten(image, h, (0.0, 0.0, 639.0, 479.0), seen.mean(0))
    assert max(straight.image.shape) <= 2560
    rows, columns = np.nonzero(straight.inside)
    assert project(straight.to_picture, np.c_[columns, rows].astype(float))[:, 1].min() > 200
    with pytest.raises(MeasureError, match="horizon"):
        straighten(image, h, (0.0, 0.0, 639.0, 20.0), seen.mean(0))
