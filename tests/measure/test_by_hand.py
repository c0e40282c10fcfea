"""Intervals of sizes by hand hold the truth for clicks that are off by 2 px."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from corallum.measure.by_hand import spacing_by_hand, widths_by_hand
from corallum.measure.scale import MeasureError, Scale, scale_from_ruler


def test_known_lengths_have_their_mean_and_interval() -> None:
    """Lengths 8, 10, 12: mean 10, sd 2, t(2) = 4.303, half 4.303 * 2 / root 3 (by hand)."""
    ends = np.array([[[0, 0], [8, 0]], [[0, 0], [0, 10]], [[1, 1], [13, 1]]], float)
    size = widths_by_hand(ends, Scale(0.5))
    assert (size.n, size.mean, size.sd) == (3, pytest.approx(5.0), pytest.approx(1.0))
    assert size.high - size.mean == pytest.approx(0.5 * 4.3027 * 2 / np.sqrt(3), rel=1e-4)


def test_a_size_by_hand_is_ready_for_the_model() -> None:
    """The report carries mean, number and method."""
    report = widths_by_hand(np.array([[[0.0, 0.0], [8.0, 0.0]]]), Scale(0.5)).report
    assert (report.value, report.n, report.method) == (4.0, 1, "photo")


def _clicked_width(rng: np.random.Generator) -> bool:
    """Whether the interval of six clicked diameters, on a clicked ruler, holds their mean."""
    truth_mm, mm = 6.0, 0.05
    ruler = np.array([[100.0, 100.0], [1100.0, 130.0]])
    length = float(np.hypot(*(ruler[1] - ruler[0]))) * mm
    scale = scale_from_ruler(ruler + rng.normal(0, 2, (2, 2)), length, u_length_mm=1e-9)
    turn = rng.uniform(0, np.pi, 6)
    radii = rng.normal(truth_mm / mm, 8, 6)[:, None] * np.c_[np.cos(turn), np.sin(turn)] / 2
    middle = rng.uniform(200, 900, (6, 2))
    ends = np.stack([middle - radii, middle + radii], 1) + rng.normal(0, 2, (6, 2, 2))
    size = widths_by_hand(ends, scale)
    return size.low <= truth_mm <= size.high


def _clicked_spacing(rng: np.random.Generator) -> bool:
    """Whether the interval of a clicked patch holds the lattice's own spacing."""
    i, j = np.mgrid[-3:4, -3:4].reshape(2, -1).astype(float)
    points = 90.0 * np.c_[i + j / 2, j * np.sqrt(3) / 2] + 500
    points = points + rng.normal(0, 6, points.shape) + rng.normal(0, 2, points.shape)
    size = spacing_by_hand(points, Scale(1.0), (1000, 1000))
    # Moving points at random by s each way lengthens pairs by about s^2 / d.
    return size.low <= 90.0 + 40 / 90 <= size.high


@pytest.mark.parametrize("once", [_clicked_width, _clicked_spacing])
def test_intervals_hold_the_truth(once) -> None:  # noqa: ANN001  two helpers above
    """Of 400 simulated 95 % intervals, no fewer hold it than chance allows (binomial)."""
    rng = np.random.default_rng(90005)
    held = sum(once(rng) for _ in range(400))
    assert held >= binom.ppf(0.001, 400, 0.95)


def test_no_length_is_refused() -> None:
    """A length whose ends fall together raises an error that says what to do."""
    with pytest.raises(MeasureError, match="Click them again"):
        widths_by_hand(np.zeros((1, 2, 2)), Scale(1.0))


def test_centres_that_are_no_neighbours_are_refused() -> None:
    """Three centres in a line have no neighbours to tell."""
    with pytest.raises(MeasureError, match="Click seven"):
        spacing_by_hand(np.array([[0.0, 0], [5, 0], [10, 0]]), Scale(1.0), (20, 20))
