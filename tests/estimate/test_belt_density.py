"""Belts and quadrats: which colonies are inside, and how many there are to the square metre."""

from __future__ import annotations

import math

import numpy as np
import pytest

from corallum.errors import InputError
from corallum.estimate.belt import centre_inside, estimate_belt_density


def test_edges() -> None:
    """The starting and the left edge are inside, the far and the right one outside."""
    along = [0, 10, 5, 5, -0.01, 9.99]
    across = [0, 0, -0.5, 0.5, 0, 0.49]
    assert centre_inside(along, across, 10, 1).tolist() == [True, False, True, False, False, True]


def test_belts_that_adjoin_count_each_colony_once() -> None:
    """Centres strewn over two belts end to end, some on the very edge, lie in one of them."""
    rng = np.random.default_rng(1)
    along = np.round(rng.uniform(0, 19.9, 500), 1)
    across = np.round(rng.uniform(-0.5, 0.4, 500), 1)
    first = centre_inside(along, across, 10, 1)
    second = np.zeros(500, bool)
    beyond = along >= 10
    second[beyond] = centre_inside(along[beyond] - 10, across[beyond], 10, 1)
    assert (first ^ second).all()


def test_density_by_hand() -> None:
    """3 and 1 colonies on 10 and 5 m2 are .3 and .2 on each, and 4 on 15 m2 over both."""
    found = estimate_belt_density([0, 0, 0, 1], [0, 0, 1, 0], [10, 5], 2)
    np.testing.assert_allclose(found.by_belt, [[0.2, 0.1], [0.2, 0.0]])
    np.testing.assert_allclose(found.by_genus.value, [3 / 15, 1 / 15])
    assert float(found.coral.value) == pytest.approx(4 / 15)


def test_unlike_areas_have_the_error_of_the_ratio() -> None:
    """3, 5, 7 and 3 colonies on 10, 20, 20 and 15 m2: .27692, SE .03468.

    Cochran 1977, chapter 6, reckoned apart from this project (5 d.p.).
    """
    belt = np.repeat([0, 1, 2, 3], [3, 5, 7, 3])
    found = estimate_belt_density(belt, np.zeros(18, int), [10, 20, 20, 15], 1)
    assert float(found.coral.value) == pytest.approx(0.27692, abs=6e-6)
    assert float(found.coral.se) == pytest.approx(0.03468, abs=6e-6)


def test_an_empty_belt_counts() -> None:
    """A belt without colonies lowers the density."""
    assert float(estimate_belt_density([0, 0], [0, 0], [10, 10], 1).coral.value) == 0.1


def test_no_colony_at_all() -> None:
    """Belts without coral have a density of 0."""
    found = estimate_belt_density(np.array([], int), np.array([], int), [10, 10], 2)
    assert found.by_genus.value.tolist() == [0, 0]


def strewn(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Colonies on 40 plots of 12 x 3 m, .8 to the square metre, radii .05 to .6 m; seeded."""
    rng = np.random.default_rng(seed)
    n = rng.poisson(0.8 * 36, 40)
    belt = np.repeat(np.arange(40), n)
    along, across = rng.uniform(-1, 11, n.sum()), rng.uniform(-1.5, 1.5, n.sum())
    return belt, along, across, rng.uniform(0.05, 0.6, n.sum())


def test_counting_by_centre_finds_the_density() -> None:
    """On belts of 10 x 1 m the density of .8 lies within 3 standard errors."""
    belt, along, across, _ = strewn(5)
    inside = centre_inside(along, across, 10, 1)
    found = estimate_belt_density(belt[inside], np.zeros(inside.sum(), int), [10.0] * 40, 1).coral
    assert abs(float(found.value) - 0.8) < 3 * float(found.se)


def test_counting_all_that_reach_in_finds_too_many() -> None:
    """Negative control: every colony that reaches into the belt makes it half as many again."""
    belt, along, across, radius = strewn(5)
    beside = np.maximum(np.abs(across) - 0.5, 0)
    before = np.maximum(np.maximum(-along, along - 10), 0)
    reach = np.hypot(beside, before) < radius
    found = estimate_belt_density(belt[reach], np.zeros(reach.sum(), int), [10.0] * 40, 1).coral
    assert float(found.value) > 1.2


@pytest.mark.parametrize(
    ("belt", "genus", "area", "said"),
    [
        pytest.param([0], [0], [10, 0], "area of belt 1: expected above 0", id="no area"),
        pytest.param([2], [0], [10, 10], "expected 0 to 1, found 2 to 2", id="no such belt"),
        pytest.param([0], [1], [10, 10], "genus: expected 0 to 0", id="no such genus"),
        pytest.param([0], [0], [10], "transects: expected at least 2", id="one belt"),
        pytest.param([0, 1], [0], [10, 10], "one for each of 1", id="unlike columns"),
        pytest.param([0], [0], [10, math.nan], "area: expected finite", id="area missing"),
    ],
)
def test_belts_that_cannot_be_are_refused(
    belt: list[int], genus: list[int], area: list[float], said: str
) -> None:
    """Belts without area, and colonies of no belt or genus, are refused."""
    with pytest.raises(InputError, match=said):
        estimate_belt_density(belt, genus, area, 1)


def test_a_belt_without_width_is_refused() -> None:
    """Nothing can lie in a belt of no width."""
    with pytest.raises(InputError, match="found 10 by 0 m"):
        centre_inside([1], [0], 10, 0)


def test_unlike_coordinates_are_refused() -> None:
    """Each colony has both coordinates."""
    with pytest.raises(InputError, match="across the belt"):
        centre_inside([1, 2], [0], 10, 1)
