"""Estimators of richness: corners, and what their definitions demand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.incidence import estimate_incidence_richness
from corallum.estimate.richness import ChaoForm, estimate_ace, estimate_chao, fisher_alpha
from corallum.estimate.tally import tally_colonies, tally_incidences

COUNTS = st.lists(st.integers(1, 30), min_size=1, max_size=25)
# Five transects by six genera; invented.
MET = np.array(
    [
        [3, 0, 1, 0, 0, 2],
        [1, 0, 0, 0, 0, 1],
        [4, 2, 0, 0, 0, 0],
        [2, 0, 0, 1, 1, 0],
        [1, 1, 0, 0, 0, 3],
    ]
)


@given(COUNTS, st.sampled_from(ChaoForm))
def test_no_estimate_is_below_what_was_met(counts: list[int], form: ChaoForm) -> None:
    """Each estimate, and its whole interval, is at least the number of genera met."""
    tally = tally_colonies(counts)
    found = estimate_chao(tally, form)
    assert len(counts) <= found.low <= found.high
    assert found.value >= len(counts)
    assert found.se >= 0
    assert estimate_ace(tally) >= len(counts) - 1e-9


def test_without_doubletons_the_form_is_bias_corrected() -> None:
    """With three singletons and no doubleton, k 3 * 2 / 2 genera are missing, and it is said."""
    found = estimate_chao(tally_colonies([7, 1, 1, 1]))
    assert found.value == pytest.approx(4 + 0.9 * 3)
    # k 3 + k^2 3 * 25 / 4 - k^2 81 / (4 * 6.7), by hand.
    assert found.se**2 == pytest.approx(2.7 + 0.81 * 18.75 - 0.81 * 81 / 26.8)
    assert "no genus was met twice" in found.note


def test_bias_corrected_variance_by_hand() -> None:
    """f1 3, f2 2: missing 1; variance 1 + 3 * 25 / 36 + 9 * 2 * 4 / 324 (Chao 1987)."""
    found = estimate_chao(tally_colonies([9, 2, 2, 1, 1, 1]), ChaoForm.BIAS_CORRECTED)
    assert found.value == pytest.approx(7.0)
    assert found.se**2 == pytest.approx(1 + 75 / 36 + 72 / 324)


def test_nothing_met_once_estimates_what_was_met() -> None:
    """Without singletons the estimate is the count, and it is said that this proves nothing."""
    found = estimate_chao(tally_colonies([5, 4, 2]))
    assert (found.value, found.low) == (3, 3)
    assert found.high > 3
    assert "nothing says" in found.note


def test_one_transect_estimates_nothing_more() -> None:
    """A single transect gives no more than what was met on it."""
    found = estimate_chao(tally_incidences([1, 1, 1], 1))
    assert (found.value, found.se) == (3, 0)
    assert "one transect" in found.note


def test_wider_for_more_certainty() -> None:
    """A 99 % interval holds the 90 % one."""
    tally = tally_colonies([9, 4, 2, 2, 1, 1, 1])
    wide, narrow = estimate_chao(tally, level=0.99), estimate_chao(tally, level=0.9)
    assert wide.low < narrow.low < narrow.high < wide.high


def test_chao1_is_a_lower_bound_that_comes_nearer() -> None:
    """Over seeded samples of 150 colonies Chao1 is nearer the 40 genera there are than the count.

    A sample of 150 meets far fewer; Chao1 is not above the truth by more than 2 on average.
    """
    share = 0.9 ** np.arange(40)
    samples = np.random.default_rng(2).multinomial(150, share / share.sum(), size=300)
    met = np.mean([(one > 0).sum() for one in samples])
    chao = np.mean([estimate_chao(tally_colonies(one)).value for one in samples])
    assert met < 32
    assert met + 2 < chao < 42


def test_jackknife_is_what_leaving_out_each_transect_gives() -> None:
    """First order: n S - (n - 1) mean S(-t), and its SE is the jackknife's own."""
    n = len(MET)
    without = np.array([(np.delete(MET, t, axis=0) > 0).any(axis=0).sum() for t in range(n)])
    richness = int((MET > 0).any(axis=0).sum())
    found = estimate_incidence_richness(MET)
    assert found.jackknife_1 == pytest.approx(n * richness - (n - 1) * without.mean())
    spread = (n - 1) / n * ((without - without.mean()) ** 2).sum()
    assert found.jackknife_1_se == pytest.approx(math.sqrt(spread))


def test_second_jackknife_is_what_leaving_out_two_gives() -> None:
    """Second order by all pairs left out (Burnham and Overton 1979)."""
    n = len(MET)
    richness = int((MET > 0).any(axis=0).sum())
    one = np.mean([(np.delete(MET, t, axis=0) > 0).any(axis=0).sum() for t in range(n)])
    pairs = itertools.combinations(range(n), 2)
    two = np.mean([(np.delete(MET, p, axis=0) > 0).any(axis=0).sum() for p in pairs])
    expected = (n**2 * richness - 2 * (n - 1) ** 2 * one + (n - 2) ** 2 * two) / 2
    assert estimate_incidence_richness(MET).jackknife_2 == pytest.approx(expected)


def test_bootstrap_is_what_resampling_gives() -> None:
    """Smith and van Belle's bootstrap and SE are those of every resample of four transects."""
    met = MET[:4] > 0
    n = len(met)
    richness = int(met.any(axis=0).sum())
    drawn = np.array(
        [met[list(rows)].any(axis=0).sum() for rows in itertools.product(range(n), repeat=n)]
    )
    found = estimate_incidence_richness(met)
    assert found.bootstrap == pytest.approx(2 * richness - drawn.mean())
    assert found.bootstrap_se == pytest.approx(drawn.std())


def test_genera_not_met_change_no_estimate() -> None:
    """A list with genera that nobody met gives the same figures."""
    wider = np.hstack([MET, np.zeros((5, 3))])
    assert estimate_incidence_richness(wider) == estimate_incidence_richness(MET)


@given(st.integers(1, 200), st.integers(1, 5000))
def test_fishers_alpha_solves_its_equation(richness: int, more: int) -> None:
    """Alpha log(1 + n / alpha) is the richness."""
    n = richness + more
    alpha = fisher_alpha(richness, n)
    assert alpha * math.log1p(n / alpha) == pytest.approx(richness, rel=1e-8)


def test_fishers_alpha_of_as_many_genera_as_colonies_is_refused() -> None:
    """No log series has a genus for each colony."""
    with pytest.raises(InputError, match="from 1 to below 9 colonies, found 9"):
        fisher_alpha(9, 9)


def test_ace_of_singletons_falls_back() -> None:
    """Where each rare genus was met once, ACE is the bias-corrected Chao1; by hand 4 + 3."""
    assert estimate_ace(tally_colonies([50, 1, 1, 1])) == pytest.approx(7.0)


def test_ace_of_common_genera_is_their_count() -> None:
    """Without rare genera nothing is missing."""
    assert estimate_ace(tally_colonies([50, 20])) == 2


def test_more_presences_than_transects_are_refused() -> None:
    """A genus can't have been met on more transects than there were."""
    with pytest.raises(InputError, match="at most 4, found 5"):
        tally_incidences([5, 1], 4)


@pytest.mark.parametrize("met", [[3, 1, 2], [[3, 1, 2]]], ids=["one row", "one transect"])
def test_one_transect_is_refused(met: list[int]) -> None:
    """Incidence needs two transects."""
    with pytest.raises(InputError, match="at least two transects"):
        estimate_incidence_richness(met)
