"""Scale against the worked example of the GUM, and circles of known size."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.measure.scale import MeasureError, Scale, scale_from_disc, scale_from_ruler


def test_the_worked_example_of_a_ruler() -> None:
    """500 +- 1 mm over 1000 +- 2 px is .5 mm/px, relative .002828 (GUM 5.1.6, by hand)."""
    scale = scale_from_ruler(
        np.array([[0.0, 0.0], [600.0, 800.0]]),
        500.0,
        u_length_mm=1.0,
        u_click_px=2.0 / np.sqrt(2),
    )
    assert scale.mm_per_pixel == pytest.approx(0.5)
    assert scale.relative == pytest.approx(0.002828, abs=5e-7)
    assert scale.relative_area == pytest.approx(0.005657, abs=5e-7)


def test_a_disc_gives_its_diameter() -> None:
    """Points on a circle of radius 120 px round a 24 mm disc give .1 mm/px (geometry)."""
    turn = np.array([0.1, 1.9, 3.0, 4.4, 5.5])
    points = np.c_[300 + 120 * np.cos(turn), 200 + 120 * np.sin(turn)]
    scale = scale_from_disc(points, 24.0, u_diameter_mm=0.0, u_click_px=0.0)
    assert scale.mm_per_pixel == pytest.approx(0.1)
    assert scale.relative == pytest.approx(0.0)


def test_a_disc_says_what_clicks_do_to_it() -> None:
    """The stated uncertainty is the spread of the scale over 400 sets of clicks (Monte Carlo)."""
    rng = np.random.default_rng(90001)
    turn = np.linspace(0, 2 * np.pi, 8, endpoint=False)
    edge = np.c_[100 * np.cos(turn), 100 * np.sin(turn)]
    scales = [
        scale_from_disc(edge + rng.normal(0, 2, edge.shape), 20.0, u_diameter_mm=0.0)
        for _ in range(400)
    ]
    spread = np.std([s.mm_per_pixel for s in scales]) / 0.1
    # Standard error of a standard deviation over 400 draws: 3.5 %; five of them allowed.
    assert np.mean([s.relative for s in scales]) == pytest.approx(spread, rel=0.18)


@pytest.mark.parametrize(
    ("points", "length"),
    [
        pytest.param([[1.0, 1.0], [1.0, 1.0]], 10.0, id="one place"),
        pytest.param([[0.0, 0.0], [5.0, 0.0]], 0.0, id="no length"),
        pytest.param([[0.0, 0.0], [5.0, 0.0]], float("nan"), id="not a number"),
    ],
)
def test_a_ruler_that_is_none_is_refused(points: list[list[float]], length: float) -> None:
    """Clicks in one place, or no length, raise an error that says what to do."""
    with pytest.raises(MeasureError, match="again"):
        scale_from_ruler(np.array(points), length)


def test_points_in_a_line_make_no_disc() -> None:
    """Three points in a straight line raise an error that says so."""
    with pytest.raises(MeasureError, match="straight line"):
        scale_from_disc(np.array([[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]]), 10.0)


def test_a_scale_is_above_zero() -> None:
    """A negative scale is refused."""
    with pytest.raises(MeasureError, match="above 0"):
        Scale(-1.0)
