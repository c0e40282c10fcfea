"""Adjacent pairs and spacing of lattices and random points, against printed formulas."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.measure.neighbours import adjacent_pairs, nearest_neighbour_ratio


def lattice(d: float, *, square: bool, size: int = 60) -> np.ndarray:
    """A lattice of spacing d (n, 2)."""
    i, j = np.mgrid[-size:size, -size:size].reshape(2, -1).astype(float)
    return d * (np.c_[i, j] if square else np.c_[i + j / 2, j * np.sqrt(3) / 2])


def window(points: np.ndarray, side: float) -> np.ndarray:
    """Points within a square window from 0 to side."""
    return points[((points >= 0) & (points < side)).all(1)]


@pytest.mark.parametrize("d", [7.3, 20.0, 41.7])
def test_a_hexagonal_lattice_has_its_spacing_and_density(d: float) -> None:
    """Pairs are d apart and the density is 2 / (root 3 d^2) (Clark & Evans 1954)."""
    points = window(lattice(d, square=False), 20 * d)
    pairs = adjacent_pairs(points, (round(20 * d), round(20 * d)))
    assert pairs.lengths.mean() == pytest.approx(d, rel=0.01)
    assert len(points) / (20 * d) ** 2 == pytest.approx(2 / (np.sqrt(3) * d**2), rel=0.05)


def test_a_square_lattice_has_its_spacing() -> None:
    """Diagonals are no pairs: the mean is d, and the density 1 / d^2."""
    points = window(lattice(10.0, square=True), 300.0)
    pairs = adjacent_pairs(points, (300, 300))
    assert pairs.lengths.mean() == pytest.approx(10.0, rel=0.01)


def test_random_points_have_a_ratio_of_one() -> None:
    """Mean nearest distance is .5 / root density: R = 1 (Clark & Evans 1954)."""
    rng = np.random.default_rng(90004)
    n = 20_000
    points = rng.uniform(0, 100, (n, 2))
    # Standard error .26136 / root(n density), plus a border excess of a little over 1 / root n.
    assert nearest_neighbour_ratio(points, 100.0**2) == pytest.approx(1.0, abs=0.02)


def test_a_hexagonal_lattice_has_the_greatest_ratio() -> None:
    """R of a hexagonal lattice is 2.1491 (Clark & Evans 1954)."""
    points = window(lattice(1.0, square=False, size=200), 80.0)
    ratio = nearest_neighbour_ratio(points, 80.0**2)
    assert ratio == pytest.approx(2.1491, rel=0.01)


def test_few_points_have_no_pairs() -> None:
    """Three points, or points in a line, make no pairs and no error."""
    assert len(adjacent_pairs(np.zeros((3, 2)), (10, 10)).lengths) == 0
    assert len(adjacent_pairs(np.c_[np.arange(9.0), np.zeros(9)], (10, 10)).lengths) == 0
