"""The ring of a hexagonal texture, mind the factor."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.fft

from corallum.measure.spectrum import hexagonal_spacing, radial_power, strongest_ring


def waves_of(*directions: float, period: float, shape: tuple[int, int] = (600, 800)) -> np.ndarray:
    """Sum of plane waves of one period in several directions."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(np.float32)
    total = np.zeros(shape, np.float32)
    for turn in directions:
        along = x * np.float32(np.cos(turn)) + y * np.float32(np.sin(turn))
        total += np.cos(2 * np.pi * along / np.float32(period))
    return total


def test_three_waves_make_a_hexagonal_lattice() -> None:
    """Rows d root(3)/2 apart in three directions are a lattice of spacing d (crystallography)."""
    d = 40.0
    period = d * np.sqrt(3) / 2
    image = waves_of(0.2, 0.2 + np.pi / 3, 0.2 + 2 * np.pi / 3, period=period)
    image += np.random.default_rng(90006).normal(0, 0.3, image.shape).astype(np.float32)
    ring = strongest_ring(*radial_power(scipy.fft.dctn(image, norm="ortho")))
    assert hexagonal_spacing(ring.frequency) == pytest.approx(d, rel=0.05)
    assert ring.prominence > 1


def test_white_noise_has_no_ring() -> None:
    """The power of white noise is flat: no ring stands out by a factor of e^.5."""
    image = np.random.default_rng(90007).normal(size=(600, 800)).astype(np.float32)
    ring = strongest_ring(*radial_power(scipy.fft.dctn(image, norm="ortho")))
    assert ring.prominence < 0.5
