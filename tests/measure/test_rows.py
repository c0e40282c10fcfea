"""Units that stand in rows, and valleys with walls of their own."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.measure.rows import find_rows
from corallum.measure.scale import Scale
from corallum.measure.surface import Measured, measure_surface


def rows_of_points(
    step: float, between: float, turn: float, rng: np.random.Generator
) -> np.ndarray:
    """Points a step apart along lines that are far apart, turned (n, 2)."""
    i, j = np.mgrid[-6:7, -2:3].reshape(2, -1).astype(float)
    points = np.c_[i * step + 0.37 * j * step, j * between]
    points += rng.normal(0, 0.03 * step, points.shape)
    c, s = np.cos(turn), np.sin(turn)
    turned: np.ndarray = points @ np.array([[c, -s], [s, c]])
    return turned


@given(st.floats(5, 40), st.floats(2.2, 5), st.floats(0, 3.1), st.integers(0, 999))
def test_the_step_along_a_row_is_found(step: float, far: float, turn: float, seed: int) -> None:
    """However far apart the rows are and however they lie, only the step along them counts."""
    rng = np.random.default_rng(seed)
    rows = find_rows(rows_of_points(step, far * step, turn, rng))
    assert rows is not None
    assert float(rows.lengths.mean()) == pytest.approx(step, rel=0.03)


@pytest.mark.parametrize("kind", ["hexagons", "squares", "thrown at random"])
def test_a_lattice_is_not_rows(kind: str) -> None:
    """In a lattice, and among random points, the third neighbour is hardly further away."""
    rng = np.random.default_rng(7)
    i, j = np.mgrid[:14, :14].reshape(2, -1).astype(float)
    points = {
        "hexagons": np.c_[i + j / 2, j * np.sqrt(3) / 2],
        "squares": np.c_[i, j],
        "thrown at random": rng.uniform(0, 14, (200, 2)),
    }[kind]
    rows = find_rows(10 * points + rng.normal(0, 0.3, points.shape))
    assert rows is None or rows.share < 0.3


def test_pores_in_rows_are_measured_along_the_row() -> None:
    """Dark pits 24 px apart in rows 100 px apart, drawn from these numbers: spacing 24 px."""
    y, x = np.mgrid[:600, :800].astype(float)
    across = (y + 50) % 100 - 50
    along = (x + 7 * np.floor((y + 50) / 100)) % 24 - 12
    image = 1 - np.exp(-((np.hypot(across, along) / 5) ** 4))
    image += np.random.default_rng(3).normal(0, 0.05, image.shape)
    found = measure_surface(image.astype(np.float32), Scale(0.1))
    assert isinstance(found, Measured)
    assert found.spacing is not None
    assert found.note is not None
    assert found.spacing.low < 2.4 < found.spacing.high
    assert found.spacing.value == pytest.approx(2.4, rel=0.02)


def valleys_with_gaps(valley: float, gap: float) -> np.ndarray:
    """Straight valleys, each between walls of its own, with deep gaps between (600, 800)."""
    x = np.mgrid[:600, :800][1].astype(float)
    # From the middle of a valley: floor, wall, then the gap, darkest at the foot of the wall.
    d = np.abs((x + (valley + gap) / 2) % (valley + gap) - (valley + gap) / 2)
    in_gap = d > valley / 2
    depth = np.clip((d - valley / 2) / (gap / 2), 0, 1)
    image = np.where(in_gap, 0.05 + 0.3 * depth, 0.8)
    noise = np.random.default_rng(4).normal(0, 0.03, image.shape)
    return (image + noise).astype(np.float32)


def test_a_gap_between_two_walls_is_not_counted_to_the_valley() -> None:
    """Valleys of 40 px with gaps of 24 px, drawn from these numbers, come out as 40, not 64."""
    found = measure_surface(valleys_with_gaps(40, 24), Scale(0.1))
    assert isinstance(found, Measured)
    assert found.valley_width is not None
    assert found.valley_width.value == pytest.approx(4.0, rel=0.1)
    assert found.valley_width.low < 4.0 < found.valley_width.high
