"""Oblique views told by the centres alone."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.measure.slant import seen_slant, slant_warning


def centres(rng: np.random.Generator, angle: float, natural: float = 8.0) -> np.ndarray:
    """A hexagonal lattice of 60 px, turned at random, its points moved, seen at a slant."""
    i, j = np.mgrid[-12:13, -12:13].reshape(2, -1).astype(float)
    lattice = 60.0 * np.c_[i + j / 2, j * np.sqrt(3) / 2]
    turn = rng.uniform(0, np.pi)
    turned = lattice @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    moved = turned + rng.normal(0, natural, turned.shape)
    seen = moved * [1.0, np.cos(np.radians(angle))] + [400, 300]
    inside = (seen > 0).all(1) & (seen < [800, 600]).all(1)
    return seen[inside]


def test_a_view_from_straight_above_is_not_called_oblique() -> None:
    """None of 200 patches seen from straight above is called oblique."""
    rng = np.random.default_rng(90020)
    assert sum(seen_slant(centres(rng, 0.0), (600, 800)) is not None for _ in range(200)) == 0


def test_a_view_from_forty_degrees_is_called_oblique() -> None:
    """At least nine of ten are called so, with a ratio near cos 40 = .77, at most .1 above."""
    rng = np.random.default_rng(90021)
    found = [seen_slant(centres(rng, 40.0), (600, 800)) for _ in range(100)]
    told = [ratio for ratio in found if ratio is not None]
    assert len(told) >= 90
    assert np.median(told) == pytest.approx(np.cos(np.radians(40)), abs=0.1)


def test_few_centres_do_not_tell() -> None:
    """Ten centres say nothing of the view."""
    assert seen_slant(np.random.default_rng(1).uniform(0, 90, (10, 2)), (90, 90)) is None


def test_the_warning_has_its_size() -> None:
    """A ratio of cos 30 = .866: 13 % closer, 30 degrees, 7 % small on the mean."""
    said = slant_warning(np.cos(np.pi / 6)) or ""
    assert all(part in said for part in ("13 %", "30 degrees", "7 % small"))
    assert slant_warning(None) is None
