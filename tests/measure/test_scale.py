"""Scale against the worked example of the GUM, and circles of known size."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.measure.scale import (
    MeasureError,
    Scale,
    scale_from_disc,
    scale_from_ruler,
    seen_flattening,
)


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


def test_an_arc_leaves_the_size_open() -> None:
    """Clicks of 2 px on a tenth of a disc tell nothing of its size, and are refused."""
    turn = np.linspace(0, 0.6, 5)
    with pytest.raises(MeasureError, match="round the disc"):
        scale_from_disc(np.c_[100 * np.cos(turn), 100 * np.sin(turn)], 20.0)


def test_a_disc_seen_at_thirty_degrees_is_flattened() -> None:
    """From afar a disc tilted by 30 degrees has axes in the ratio cos 30 = .866."""
    turn = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    edge = np.c_[300 * np.cos(turn), 300 * np.cos(np.pi / 6) * np.sin(turn)] + 500
    assert seen_flattening(edge) == pytest.approx(np.cos(np.pi / 6), abs=0.01)


def test_a_disc_from_straight_above_seldom_seems_tilted() -> None:
    """Of 400 round discs clicked with 2 px, at most 3 % seem flattened; clicks of 8 px do."""
    rng = np.random.default_rng(90006)
    turn = np.linspace(0, 2 * np.pi, 8, endpoint=False)
    edge = np.c_[150 * np.cos(turn), 150 * np.sin(turn)]

    def seen(click: float) -> int:
        clicked = (edge + rng.normal(0, click, edge.shape) for _ in range(400))
        return sum(seen_flattening(points) is not None for points in clicked)

    # Beyond 3 standard uncertainties in two directions: exp(-9 / 2) = 1.1 %.
    assert seen(2.0) <= 12
    assert seen(8.0) > 100


def test_few_points_do_not_tell_a_tilt() -> None:
    """Five points leave nothing over to tell an ellipse from clicks."""
    turn = np.linspace(0, 2 * np.pi, 5, endpoint=False)
    assert seen_flattening(np.c_[90 * np.cos(turn), 30 * np.sin(turn)]) is None


@pytest.mark.calibration
@pytest.mark.parametrize("length_px", [200, 1000])
def test_the_ruler_holds_its_uncertainty(length_px: float) -> None:
    """Of 1000 rulers clicked with 2 px, 95 % give a scale within 1.96 of what is stated.

    Clicks of 6 px said to be 2 are caught: they do not.
    """
    rng = np.random.default_rng(90007)
    true = 50.0 / length_px
    ends = np.array([[100.0, 100.0], [100.0 + length_px, 100.0]])

    def held(click: float) -> int:
        count = 0
        for _ in range(1000):
            length = 50.0 + rng.normal(0, 0.1)
            scale = scale_from_ruler(
                ends + rng.normal(0, click, (2, 2)), length, u_length_mm=0.1, u_click_px=2.0
            )
            count += abs(scale.mm_per_pixel / true - 1) <= 1.96 * scale.relative
        return count

    assert 929 <= held(2.0) <= 969  # binomial(1000, .95), 99.7 %
    assert held(6.0) < 900
