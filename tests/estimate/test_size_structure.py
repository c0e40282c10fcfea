"""Sizes of colonies: classes, means, quantiles and juveniles."""

from __future__ import annotations

import math

import numpy as np
import pytest

from corallum.errors import InputError
from corallum.estimate.size_structure import SizedColonies, size_quantile, size_structure

# Three transects, the last empty. Invented.
SIZES = SizedColonies([3, 5, 12, 40, 8, 4], [0, 0, 0, 0, 1, 1], 3)
EDGES = [0, 5, 10, 20, math.inf]


def test_classes_by_hand() -> None:
    """A colony on an edge belongs to the class above it; shares are of all six."""
    found = size_structure(SIZES, EDGES)
    assert found.classes.counts.tolist() == [[1, 1, 1, 1], [1, 1, 0, 0], [0, 0, 0, 0]]
    np.testing.assert_allclose(found.classes.share.value, [2 / 6, 2 / 6, 1 / 6, 1 / 6])
    assert (found.n, found.n_without) == (6, 1)


def test_mean_by_hand() -> None:
    """The mean is over colonies: 72 cm over six; its SE is that of the ratio.

    By hand: residuals 60 - 48 = 12 and -12 over two transects: sqrt(288 / 2) / 3.
    """
    found = size_structure(SIZES, EDGES).mean_cm
    assert float(found.value) == pytest.approx(12)
    assert float(found.se) == pytest.approx(math.sqrt(288 / 2) / 3)


def test_juveniles_are_no_larger_than_the_limit() -> None:
    """Of 3, 4 and 5 cm all are juveniles at 5 cm (Edmunds and others 1998), two at 4 cm."""
    assert float(size_structure(SIZES, EDGES).juvenile_share.value) == pytest.approx(3 / 6)
    smaller = size_structure(SIZES, EDGES, juvenile_limit_cm=4)
    assert float(smaller.juvenile_share.value) == pytest.approx(2 / 6)
    assert smaller.juvenile_limit_cm == 4


def test_densities_take_empty_transects_in() -> None:
    """On 10, 10 and 20 m2 there are 3 juveniles to 40 m2, the empty transect included."""
    found = size_structure(SIZES, EDGES, area_m2=[10, 10, 20])
    assert found.juvenile_density is not None
    assert found.classes.density is not None
    assert float(found.juvenile_density.value) == pytest.approx(3 / 40)
    np.testing.assert_allclose(found.classes.density.value.sum(), 6 / 40)


def test_without_areas_there_is_no_density() -> None:
    """Shares need no area, densities do."""
    found = size_structure(SIZES, EDGES)
    assert found.juvenile_density is found.classes.density is None


def test_shares_add_up_to_one() -> None:
    """Over all classes the shares are whole."""
    assert size_structure(SIZES, EDGES).classes.share.value.sum() == pytest.approx(1)


def clustered(seed: int, n: int = 15) -> SizedColonies:
    """Log-normal sizes with median 12 cm: SD .5 between transects and .6 within; seeded."""
    rng = np.random.default_rng(seed)
    each = rng.integers(15, 45, n)
    transect = np.repeat(np.arange(n), each)
    log = math.log(12) + 0.5 * rng.standard_normal(n)[transect]
    return SizedColonies(np.exp(log + 0.6 * rng.standard_normal(len(log))), transect, n)


def test_median_by_hand() -> None:
    """The median of six is the third: half are at or below it."""
    assert size_quantile(SIZES).value_cm == 5
    assert size_quantile(SIZES, 0.9).value_cm == 40


def test_intervals_of_the_median_hold_it() -> None:
    """Of 150 seeded surveys of clustered sizes at least 132 of the 95 % intervals hold 12 cm.

    142 are expected; 132 is four binomial standard errors below.
    """
    held = sum(
        found.low_cm <= 12 <= found.high_cm
        for found in (size_quantile(clustered(s)) for s in range(150))
    )
    assert held >= 132


def test_taking_colonies_as_independent_misses() -> None:
    """Negative control: with each colony a transect of its own, well below 80 % hold the median."""
    held = 0
    for seed in range(60):
        one = clustered(seed)
        n = len(np.asarray(one.size_cm))
        found = size_quantile(SizedColonies(one.size_cm, np.arange(n), n))
        held += found.low_cm <= 12 <= found.high_cm
    assert held < 48


def test_the_shape_of_a_large_sample() -> None:
    """The share below 12 cm is a half, and the mean 12 exp((.25 + .36) / 2), over 2,000 transects.

    Within four standard errors.
    """
    found = size_structure(clustered(1, 2000), [0, 12, 1e6])
    share, mean = found.classes.share, found.mean_cm
    assert abs(float(share.value[0]) - 0.5) < 4 * float(share.se[0])
    assert abs(float(mean.value) - 12 * math.exp(0.305)) < 4 * float(mean.se)


def test_few_transects_reach_to_no_end() -> None:
    """Where the interval of the share passes 1, the size has no upper end."""
    assert size_quantile(SIZES, 0.9).high_cm == math.inf


@pytest.mark.parametrize(
    ("colonies", "edges", "said"),
    [
        pytest.param(SizedColonies([3, 0], [0, 1], 2), EDGES, "size of colony 1", id="no size"),
        pytest.param(
            SizedColonies([3, 30], [0, 1], 2),
            [0, 10, 20],
            "size of colony 1: expected from 0 to below 20 cm, found 30 cm",
            id="too large",
        ),
        pytest.param(SIZES, [0, 5, 5], "at least two, rising", id="edges"),
        pytest.param(SizedColonies([3, 4], [0, 0], 2), EDGES, "at least 2, found 1", id="one"),
        pytest.param(SizedColonies([3], [2], 2), EDGES, "expected 0 to 1", id="no transect"),
        pytest.param(SizedColonies([], [], 2), EDGES, "at least one value", id="nothing"),
    ],
)
def test_sizes_that_cannot_be_are_refused(
    colonies: SizedColonies, edges: list[float], said: str
) -> None:
    """Sizes of 0, outside all classes, or on a single transect are refused."""
    with pytest.raises(InputError, match=said):
        size_structure(colonies, edges)


def test_a_quantile_beyond_all_is_refused() -> None:
    """There is no size with all colonies and more below it."""
    with pytest.raises(InputError, match="share: expected between 0 and 1"):
        size_quantile(SIZES, 1.0)
