"""Homographies against a worked example and another implementation."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.measure.plane import (
    at_height,
    fit_homography,
    parallax,
    plane_from_rectangle,
    project,
    stretch,
)
from corallum.measure.scale import MeasureError, Scale

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


SEEN = np.array([[120.0, 90.0], [620.0, 110.0], [580.0, 400.0], [150.0, 380.0]])


def _eight(seen: np.ndarray) -> np.ndarray:
    """Corners of a rectangle of 100 x 60 mm, and the middles of its sides as seen."""
    flat = np.array([[0, 0], [100, 0], [100, 60], [0, 60]], float)
    middles = (flat + np.roll(flat, -1, 0)) / 2
    return np.r_[seen, project(fit_homography(flat, seen), middles)]


def test_the_middles_of_the_sides_leave_a_residual() -> None:
    """Eight exact points leave none; one moved by 20 px leaves one that is said."""
    points = _eight(SEEN)
    plane = plane_from_rectangle(points, 100.0, 60.0)
    assert plane.residual_mm == pytest.approx(0.0, abs=1e-9)
    assert plane.misfit is None
    points[5] += [20.0, 0.0]
    bent = plane_from_rectangle(points, 100.0, 60.0)
    assert bent.residual_mm > 0.5
    assert bent.misfit is not None
    assert f"{bent.residual_mm:.2g} mm" in bent.misfit


def test_clicks_alone_seldom_seem_a_misfit() -> None:
    """Of 400 rectangles clicked with 2 px about one in a thousand is called a misfit."""
    rng = np.random.default_rng(90008)
    exact = _eight(SEEN)
    called = sum(
        plane_from_rectangle(exact + rng.normal(0, 2, (8, 2)), 100.0, 60.0).misfit is not None
        for _ in range(400)
    )
    # The size of a pixel varies over a slanted rectangle, which makes it a little more.
    assert called <= 8


@pytest.mark.parametrize("exact", [SEEN, _eight(SEEN)], ids=["four", "eight"])
def test_a_rectangle_says_what_clicks_do_to_lengths(exact: np.ndarray) -> None:
    """The stated uncertainty is the spread of lengths at the middle over 400 sets of clicks."""
    rng = np.random.default_rng(90009)
    middle = exact[:4].mean(0)
    sizes = []
    for _ in range(400):
        plane = plane_from_rectangle(exact + rng.normal(0, 2, exact.shape), 100.0, 60.0)
        sizes.append(np.sqrt(abs(np.linalg.det(stretch(plane.homography, middle)))))
    spread = np.std(sizes) / np.mean(sizes)
    stated = plane_from_rectangle(exact, 100.0, 60.0, u_click_px=2.0).relative
    # Standard error of a standard deviation over 400 draws: 3.5 %; five of them allowed.
    assert stated == pytest.approx(spread, rel=0.18)


def test_the_sides_own_errors_are_carried() -> None:
    """1 mm on 100 and on 50 mm: half of root(.01^2 + .02^2), for the root of an area (GUM)."""
    plane = plane_from_rectangle(SQUARE * [1000, 500], 100.0, 50.0, u_click_px=0.0, u_side_mm=1.0)
    assert plane.relative == pytest.approx(np.hypot(0.01, 0.02) / 2)


def test_a_scale_is_moved_to_the_colony() -> None:
    """50 mm nearer at 1 m: a pixel is 950 / 1000 as large (similar triangles)."""
    near = at_height(Scale(0.2, 0.01), 50.0, 1000.0)
    assert near.mm_per_pixel == pytest.approx(0.19)
    assert near.relative == pytest.approx(np.hypot(0.01, 0.25 * 50 / 950))


@pytest.mark.parametrize("count", [3, 5])
def test_a_rectangle_has_four_corners_or_eight_points(count: int) -> None:
    """Other numbers of points raise an error that says how many were found."""
    with pytest.raises(MeasureError, match=f"found {count} points"):
        plane_from_rectangle(_eight(SEEN)[:count], 100.0, 60.0)
