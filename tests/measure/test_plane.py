"""Homographies against a worked example and another implementation."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.measure.plane import fit_homography, parallax, plane_from_rectangle, project
from corallum.measure.scale import MeasureError

SQUARE = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
TARGET = np.array([[0.0, 0.0], [2.0, 0.0], [3.0, 2.0], [0.0, 1.0]])


def test_the_worked_example() -> None:
    """The unit square onto (0,0)(2,0)(3,2)(0,1): solved by hand from the four equations."""
    h = fit_homography(SQUARE, TARGET)
    expected = [[1.2, 0, 0], [0, 0.8, 0], [-0.4, -0.2, 1]]
    np.testing.assert_allclose(h, expected, atol=1e-12)
    centre = project(h, np.array([[0.5, 0.5]]))[0]
    np.testing.assert_allclose(centre, [0.857143, 0.571429], atol=5e-7)


def test_another_implementation_agrees() -> None:
    """scikit-image's ProjectiveTransform gives the same matrix for random corners."""
    transform = pytest.importorskip("skimage.transform")
    rng = np.random.default_rng(90002)
    for _ in range(20):
        corners = SQUARE * 400 + rng.uniform(-60, 60, (4, 2)) + 100
        theirs = transform.ProjectiveTransform.from_estimate(corners, TARGET).params
        np.testing.assert_allclose(fit_homography(corners, TARGET), theirs, rtol=1e-6, atol=1e-9)


def test_more_points_than_needed_leave_a_residual() -> None:
    """Ten exact points give back the matrix that made them (algebra)."""
    rng = np.random.default_rng(90003)
    h = np.array([[1.1, 0.1, 5], [-0.2, 0.9, 3], [1e-4, -2e-4, 1]])
    points = rng.uniform(0, 500, (10, 2))
    np.testing.assert_allclose(fit_homography(points, project(h, points)), h, atol=1e-9)


def test_a_view_from_thirty_degrees_says_so() -> None:
    """A far view at 30 degrees shortens one side to cos 30 = .866: 13 % short."""
    corners = np.array([[0, 0], [1000, 0], [1000, 866.0254], [0, 866.0254]])
    plane = plane_from_rectangle(corners, 100.0, 100.0)
    assert plane.obliqueness == pytest.approx(1 / np.cos(np.pi / 6), rel=1e-6)
    assert plane.warning is not None
    assert "30 degrees" in plane.warning
    assert "13 %" in plane.warning


def test_a_straight_view_needs_no_warning() -> None:
    """A square seen as a square fits without residual or warning."""
    plane = plane_from_rectangle(SQUARE * 500, 50.0, 50.0, u_click_px=2.0)
    assert plane.residual_mm == pytest.approx(0.0, abs=1e-9)
    assert plane.warning is None
    assert plane.click_mm == pytest.approx(0.2)


def test_corners_out_of_order_are_refused() -> None:
    """Sides that cross raise an error that says what to do."""
    with pytest.raises(MeasureError, match="one after the other"):
        plane_from_rectangle(SQUARE[[0, 2, 1, 3]] * 100, 10.0, 10.0)


def test_corners_in_a_line_are_refused() -> None:
    """Three corners in a line determine no plane."""
    line = np.array([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [0.0, 1.0]])
    with pytest.raises(MeasureError, match="in a line"):
        fit_homography(line, SQUARE)


def test_a_colony_nearer_than_the_ruler_looks_larger() -> None:
    """50 mm nearer at 1 m: sizes 1000 / 950 - 1 = 5.3 % too large (similar triangles)."""
    off, warning = parallax(50.0, 1000.0)
    assert off == pytest.approx(0.05263, abs=5e-6)
    assert warning is not None
    assert "5 % too large" in warning
    assert parallax(5.0, 1000.0)[1] is None
