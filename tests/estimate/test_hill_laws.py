"""Laws of diversity, on any counts."""

from __future__ import annotations

import itertools
import math
import random as chance

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.diversity import (
    _tail,
    asymptotic_hill,
    hill_number,
    observed_hill,
    shannon_entropy,
    simpson_index,
    summarise_diversity,
)
from corallum.estimate.singletons import summarise_richness
from corallum.estimate.tally import tally_colonies, tally_incidences

COUNTS = st.lists(st.integers(0, 60), min_size=1, max_size=25).filter(any)


@given(COUNTS, st.lists(st.floats(0, 12), min_size=2, max_size=6))
def test_hill_numbers_fall_with_their_order(counts: list[int], orders: list[float]) -> None:
    """A higher order minds rare genera less, so it counts no more genera."""
    found = [hill_number(counts, q) for q in sorted([*orders, 1.0])]
    assert all(b <= a * (1 + 1e-9) for a, b in itertools.pairwise(found))


@given(COUNTS, st.integers(2, 40))
def test_scaling_leaves_hill_numbers(counts: list[int], times: int) -> None:
    """Observed Hill numbers mind shares only."""
    one, more = observed_hill(counts), observed_hill([times * c for c in counts])
    assert more.richness == pytest.approx(one.richness)
    assert more.shannon == pytest.approx(one.shannon)
    assert more.simpson == pytest.approx(one.simpson)


@given(COUNTS, st.randoms(use_true_random=False))
def test_the_order_of_genera_changes_nothing(counts: list[int], random: chance.Random) -> None:
    """No figure of richness or diversity minds which genus is which."""
    other = list(counts)
    random.shuffle(other)
    assert summarise_richness(other) == summarise_richness(counts)


@given(st.integers(1, 30), st.integers(1, 30))
def test_even_genera_count_as_many(genera: int, each: int) -> None:
    """Of equally common genera every order counts all."""
    found = observed_hill([each] * genera)
    assert found.richness == pytest.approx(genera)
    assert found.shannon == pytest.approx(genera)
    assert found.simpson == pytest.approx(genera)


@given(COUNTS)
def test_doubling_a_reef_doubles_its_diversity(counts: list[int]) -> None:
    """Two like reefs without a genus in common have twice the Hill numbers (Hill 1973)."""
    for order in (0, 1, 2):
        both = hill_number(counts + counts, order)
        assert both == pytest.approx(2 * hill_number(counts, order))


@given(COUNTS)
def test_asymptotic_figures_are_no_smaller(counts: list[int]) -> None:
    """A sample without end shows at least the genera, the entropy and the evenness of this."""
    found = summarise_diversity(counts)
    assert found.asymptotic.richness >= found.observed.richness - 1e-9
    assert found.asymptotic.shannon >= found.observed.shannon * (1 - 1e-9)
    assert found.asymptotic.simpson >= found.observed.simpson * (1 - 1e-9)


@pytest.mark.parametrize("n", [2, 5, 168, 3000])
@pytest.mark.parametrize("times_n", [0.05, 0.7, 1.3, 8.0, 40.0])
def test_both_sums_of_the_unseen_entropy_agree(n: int, times_n: float) -> None:
    """The tail of the series is the same by what is left of -log A, and term by term to the end."""
    chance = min(times_n / n, 0.9)
    k = np.arange(1, 45 / chance, dtype=np.float64)
    expected = (np.exp(k * math.log1p(-chance)) / (n - 1 + k)).sum()
    assert _tail(chance, n) == pytest.approx(expected, rel=1e-9)


def test_entropy_of_an_infinite_sample_is_met_without_bias() -> None:
    """Over samples of 60 colonies the asymptotic entropy is nearer the truth than the observed.

    Seeded; the truth is the entropy of the shares drawn from, 25 genera falling by a seventh.
    """
    share = 0.86 ** np.arange(25)
    share /= share.sum()
    truth = shannon_entropy(share)
    samples = np.random.default_rng(5).multinomial(60, share, size=300)
    observed = np.mean([shannon_entropy(one) for one in samples]) - truth
    asymptotic = (
        np.mean([math.log(asymptotic_hill(tally_colonies(one)).shannon) for one in samples]) - truth
    )
    assert observed < -0.1
    assert abs(asymptotic) < 0.03


def test_a_sample_of_singletons_says_so() -> None:
    """Where each genus was met once, the asymptotic order 2 is infinite, not a number."""
    assert math.isinf(asymptotic_hill(tally_colonies([1, 1, 1])).simpson)


def test_one_colony() -> None:
    """One colony is one genus by every figure."""
    found = summarise_diversity([0, 1])
    assert (found.n, found.entropy, found.simpson) == (1, 0.0, 0.0)
    assert found.asymptotic.richness == found.asymptotic.shannon == found.asymptotic.simpson == 1


def test_cover_has_diversity_too() -> None:
    """Shares of cover go into the observed figures: .5, .25, .25 give H = 1.5 log 2."""
    assert shannon_entropy([0.5, 0.25, 0.25]) == pytest.approx(1.5 * math.log(2))
    assert simpson_index([0.5, 0.25, 0.25]) == pytest.approx(0.625)


def test_highest_order_minds_the_commonest_only() -> None:
    """The Hill number of infinite order is one over the largest share."""
    assert hill_number([6, 3, 1], math.inf) == pytest.approx(10 / 6)


@pytest.mark.parametrize(
    ("counts", "said"),
    [
        pytest.param([0, 0], "at least one above 0", id="nothing"),
        pytest.param([], "at least one value", id="empty"),
        pytest.param([3, -1], "0 or more", id="negative"),
        pytest.param([3, math.nan], "finite numbers", id="missing"),
        pytest.param([3, 0.5], "genus 1: expected a whole number, found 0.5", id="cover"),
        pytest.param([[3, 1]], "one number a genus", id="table"),
    ],
)
def test_what_is_no_count_is_refused(counts: list[float], said: str) -> None:
    """Counts that can't be are refused with what was expected and found."""
    with pytest.raises(InputError, match=said):
        summarise_diversity(counts)


def test_orders_below_0_are_refused() -> None:
    """There is no Hill number below order 0 here."""
    with pytest.raises(InputError, match="order: expected 0 or more"):
        hill_number([1, 2], -1)


def test_transects_have_no_asymptotic_hill_numbers_here() -> None:
    """A tally of transects is refused, with what to take instead."""
    with pytest.raises(InputError, match="rarefaction and Chao2"):
        asymptotic_hill(tally_incidences([3, 1], 4))
