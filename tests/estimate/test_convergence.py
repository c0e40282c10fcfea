"""Convergence figures against what is known of chains made to order.

Vehtari A., Gelman A., Simpson D., Carpenter B., Burkner P.-C. 2021. Bayesian Analysis
16:667-718: what R-hat and the effective size are to do.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import lfilter

from corallum.estimate.convergence import (
    Diagnostics,
    Limits,
    NotConvergedError,
    diagnose,
    require_convergence,
)

seeds = st.integers(0, 2**32 - 1)


def chains(seed: int, shape: tuple[int, int, int] = (4, 1000, 3), rho: float = 0.0) -> np.ndarray:
    """Stationary normal chains of standard deviation 1, autocorrelated by rho."""
    rng = np.random.default_rng(seed)
    noise = rng.standard_normal(shape) * np.sqrt(1 - rho**2)
    noise[:, 0] = rng.standard_normal((shape[0], shape[2]))
    return np.asarray(lfilter([1.0], [1.0, -rho], noise, axis=1))


def test_independent_draws_are_worth_themselves() -> None:
    """Independent draws have an R-hat near 1, below 1.01, and an effective size near S."""
    found = diagnose(chains(1, (4, 1000, 200)))
    assert found.ratio.max() < 1.01
    assert found.size.mean() == pytest.approx(4000, rel=0.05)
    assert found.converged.all()


@pytest.mark.parametrize("rho", [0.9, 0.5, 0.2, -0.3])
def test_autocorrelated_draws_are_worth_less(rho: float) -> None:
    """The effective size of an autoregression is S (1 - rho) / (1 + rho), a textbook formula.

    Mean of 60 quantities of 20,000 draws; tolerance 6 %, the least that Geyer's sum of an
    estimate is off by at rho .9 in our reading of the paper's figures.
    """
    found = diagnose(chains(2, (4, 5000, 60), rho))
    assert found.size.mean() == pytest.approx(20_000 * (1 - rho) / (1 + rho), rel=0.06)


def test_chains_apart_are_refused_by_name() -> None:
    """A chain one standard deviation off is refused; the quantity beside it is not."""
    draws = chains(3)
    draws[2, :, 1] += 1
    found = diagnose(draws)
    assert found.converged.tolist() == [True, False, True]
    with pytest.raises(NotConvergedError, match="not converged for b:") as caught:
        require_convergence(found, ("a", "b", "c"))
    assert caught.value.names == ("b",)
    assert caught.value.diagnostics is found


def test_chains_of_unlike_spread_are_refused() -> None:
    """A chain with the same mean but a third of the spread is found, as the paper asks."""
    draws = chains(4)
    draws[0] /= 3
    assert (diagnose(draws).ratio > 1.05).all()


def test_a_trend_within_one_chain_is_refused() -> None:
    """One chain that drifts is found out by its halves."""
    draws = chains(5, (1, 1000, 2))
    draws[0, :, 0] += np.linspace(-2, 2, 1000)
    assert diagnose(draws).converged.tolist() == [False, True]


def test_draws_without_a_mean_do_no_harm() -> None:
    """Independent Cauchy draws converge, as ranks do not mind their tails."""
    draws = np.random.default_rng(6).standard_cauchy((4, 1000, 20))
    found = diagnose(draws)
    assert found.ratio.max() < 1.01
    assert found.size.mean() == pytest.approx(4000, rel=0.1)


@settings(max_examples=30, deadline=None)
@given(seed=seeds, rho=st.floats(-0.3, 0.9))
def test_a_change_of_scale_does_not_matter(seed: int, rho: float) -> None:
    """Scaled or mirrored, or chains in any order, the figures stay; their size also by exp.

    Scaled by a power of 2, which rounds nothing: the two middle draws lie equally far from the
    median, and rounding would break the tie.
    """
    draws = chains(seed, (4, 200, 2), rho)
    one = diagnose(draws)
    scaled, turned = diagnose(-8 * draws), diagnose(draws[[2, 0, 3, 1]])
    assert scaled.ratio == pytest.approx(one.ratio, rel=1e-9)
    assert turned.ratio == pytest.approx(one.ratio, rel=1e-9)
    assert turned.size == pytest.approx(one.size, rel=1e-9)
    assert diagnose(np.exp(draws)).size == pytest.approx(one.size, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(seed=seeds)
def test_quantities_are_looked_at_apart(seed: int) -> None:
    """Each quantity has the figures that it has alone."""
    draws = chains(seed, (3, 100, 4), 0.5)
    together = diagnose(draws)
    alone = [diagnose(draws[:, :, [i]]) for i in range(4)]
    assert together.ratio == pytest.approx([one.ratio[0] for one in alone])
    assert together.size == pytest.approx([one.size[0] for one in alone])


def test_what_never_moved_has_converged() -> None:
    """A quantity that is the same throughout has a ratio of 1 and the full size."""
    draws = chains(7)
    draws[:, :, 0] = 0.25
    found = diagnose(draws)
    assert (found.ratio[0], found.size[0]) == (1.0, 4000.0)


def test_chains_stuck_apart_have_not_converged() -> None:
    """Chains that never moved, each elsewhere, are refused."""
    draws = np.repeat(np.arange(4.0), 100).reshape(4, 100, 1)
    found = diagnose(draws)
    assert not found.converged.any()


def test_few_draws_are_refused_by_size() -> None:
    """Sixty independent draws agree but are too few for the standard limit of 100."""
    found = diagnose(chains(8, (4, 15, 1)))
    with pytest.raises(NotConvergedError, match="effective size of at least 100"):
        require_convergence(found, ("a",))
    require_convergence(diagnose(chains(8, (4, 15, 1)), Limits(1.5, 10)), ("a",))


def test_fewer_than_eight_draws_tell_nothing() -> None:
    """Seven draws a chain are an error of the caller."""
    with pytest.raises(ValueError, match="8 draws a chain or more, found 7"):
        diagnose(np.zeros((4, 7, 1)))


def test_many_names_are_shortened() -> None:
    """Of seven names five are shown, all are carried."""
    found = Diagnostics(np.full(7, 2.0), np.full(7, 3.0))
    with pytest.raises(
        NotConvergedError, match=r"for a, b, c, d, e, \.\.\.: .* 2\.000 and 3\."
    ) as e:
        require_convergence(found, tuple("abcdefg"))
    assert len(e.value.names) == 7
