"""The camera: an exact homography, its scale, and slopes of the plane."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.draw.surface.camera import Camera, aim_camera
from corallum.draw.surface.view import ViewOptions
from corallum.errors import CorallumError


def aimed(oblique: float, seed: int = 1) -> Camera:
    """A camera at 20 px per mm."""
    options = ViewOptions(oblique_degrees=oblique)
    return aim_camera(20.0, options, np.random.default_rng(seed))


def test_seen_from_above_a_millimetre_is_the_same_everywhere() -> None:
    """Without tilt the homography is a scale and a shift."""
    expected = [[20.0, 0.0, 799.5], [0.0, 20.0, 599.5], [0.0, 0.0, 1.0]]

    np.testing.assert_allclose(aimed(0.0).homography, expected)


@pytest.mark.parametrize("oblique", [0.0, 20.0, 45.0, 60.0])
def test_pixels_go_back_to_the_millimetres_they_came_from(oblique: float) -> None:
    """The inverse of a homography undoes it."""
    camera = aimed(oblique)
    points = np.random.default_rng(2).uniform(-30.0, 30.0, (50, 2))

    np.testing.assert_allclose(camera.to_mm(camera.to_px(points)), points, atol=1e-9)


@pytest.mark.parametrize("oblique", [20.0, 45.0, 60.0])
def test_a_tilt_shortens_by_its_cosine(oblique: float) -> None:
    """The greatest scale at the origin is the asked one, the least cos(tilt) of it (geometry)."""
    camera = aimed(oblique)
    h = 1e-4
    origin = camera.to_px(np.zeros((1, 2)))

    jacobian = (camera.to_px(np.eye(2) * h) - origin).T / h

    greatest, least = np.linalg.svd(jacobian, compute_uv=False)
    assert greatest == pytest.approx(20.0, rel=1e-3)
    assert least == pytest.approx(20.0 * np.cos(np.deg2rad(oblique)), rel=1e-3)


@pytest.mark.parametrize("oblique", [0.0, 45.0])
def test_the_slope_of_an_even_ramp_is_its_own(oblique: float) -> None:
    """A ramp of 0.3 along x and -0.2 along y keeps these slopes in every view."""
    camera = aimed(oblique)
    x, y = camera.grid_mm()

    slope_x, slope_y = camera.slopes(0.3 * x - 0.2 * y, x, y)

    inner = (slice(2, -2), slice(2, -2))
    np.testing.assert_allclose(slope_x[inner], 0.3, atol=0.01)
    np.testing.assert_allclose(slope_y[inner], -0.2, atol=0.01)


@pytest.mark.parametrize("oblique", [0.0, 60.0])
def test_every_pixel_looks_at_the_place_that_maps_to_it(oblique: float) -> None:
    """The grid of millimetres and the homography agree."""
    camera = aimed(oblique)
    x, y = camera.grid_mm()

    px = camera.to_px(np.array([[x[100, 1500], y[100, 1500]]], dtype=np.float64))

    np.testing.assert_allclose(px, [[1500.0, 100.0]], atol=0.02)


@pytest.mark.parametrize(
    ("what", "message"),
    [
        (
            {"oblique_degrees": 75.0},
            "view, oblique_degrees: expected 0 to 60, found 75. "
            "Set oblique_degrees within these bounds.",
        ),
        (
            {"px_per_mm": 0.0},
            "view, px_per_mm: expected a number above 0, or None, found 0. "
            "Give pixels per mm, or None to let it be chosen.",
        ),
        (
            {"px_per_mm": float("nan")},
            "view, px_per_mm: expected a number above 0, or None, found nan. "
            "Give pixels per mm, or None to let it be chosen.",
        ),
        (
            {"width": 4, "noise": -0.1},
            "view, noise: expected 0 to 1, found -0.1. Set noise within these bounds.\n"
            "view, width: expected 16 to 8000, found 4. Set width within these bounds.",
        ),
    ],
)
def test_a_view_that_cannot_be_drawn_is_refused(what: dict[str, float], message: str) -> None:
    """Each line says what was expected, what was found and what to do, one line a fault."""
    with pytest.raises(CorallumError) as caught:
        ViewOptions(**what)  # type: ignore[arg-type]

    assert str(caught.value) == message
