"""The sampler against the posterior summed out over every possible truth."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.special import digamma, gammaln
from scipy.stats import gamma

from anaesthetists import patients
from corallum.observers.consensus import ConsensusPlan, reach_consensus
from corallum.observers.dawid_skene import ReadingMatrix, vote_shares
from corallum.observers.hierarchical import Shrinkage
from corallum.observers.readings import Readings, table_readings
from corallum.observers.sampled import Sampled, SamplePlan, _Chain, sample_labels
from corallum.observers.starts import StartPlan

GROUP = np.array([[0.8, 0.2], [0.3, 0.7]])
STRENGTH = 6.0


def few() -> Readings:
    """Six items by three observers, one with a repeat and some not read."""
    said = ["xxx", "xxy", "yyy", "yy", "x.x", "yx"]
    rows = [
        (f"{i}", o, label)
        for i, labels in enumerate(said)
        for o, label in zip("ABC", labels, strict=False)
        if label != "."
    ]
    return table_readings([*rows, ("1", "A", "y")])


def summed_out(readings: Readings) -> np.ndarray:
    """P(true label) over all 64 truths, rows and prevalences integrated by hand."""
    own, n_items = STRENGTH * GROUP, len(readings.items)
    total = np.zeros((n_items, 2))
    for truth in product(range(2), repeat=n_items):
        log = gammaln(np.bincount(truth, minlength=2) + 1).sum()
        for o in range(len(readings.observers)):
            counts = np.zeros((2, 2))
            mine = readings.observer == o
            for i, label in zip(readings.item[mine], readings.label[mine], strict=True):
                counts[truth[i], label] += 1
            log += (gammaln(counts + own) - gammaln(own)).sum()
            log -= (gammaln(counts.sum(axis=1) + STRENGTH) - gammaln(STRENGTH)).sum()
        total[np.arange(n_items), list(truth)] += np.exp(log)
    return total / total.sum(axis=1, keepdims=True)


def sampled(readings: Readings, shrinkage: Shrinkage, seed: int, sweeps: int) -> Sampled:
    """Sample from the votes."""
    matrix = ReadingMatrix(readings)
    rng = np.random.default_rng(seed)
    return sample_labels(matrix, vote_shares(matrix), shrinkage, rng, SamplePlan(sweeps))


def test_the_posterior_is_that_summed_out() -> None:
    """With the group's rows given, probabilities are those of all 64 truths to .02."""
    readings = few()
    # A million readings keep the group's rows where they are, but for the 1 % of evenness.
    given = (GROUP - 0.01 / 2) / 0.99
    found = sampled(readings, Shrinkage(STRENGTH, given, 1e6), 1, 15_000)
    np.testing.assert_allclose(found.posterior, summed_out(readings), atol=0.02)
    assert found.apart < 0.04


def test_means_are_probabilities() -> None:
    """Posteriors, rows, the group's rows and prevalences add up to 1."""
    found = sampled(patients(), Shrinkage(), 2, 60)
    for shares in (found.posterior, found.matrices, found.group, found.prevalence):
        np.testing.assert_allclose(shares.sum(axis=-1), 1, atol=1e-9)
    assert found.weights.sum() == pytest.approx(len(patients()))


def test_one_seed_gives_one_answer() -> None:
    """The same seed gives the same draws, another seed others."""
    first, same, other = (sampled(few(), Shrinkage(), seed, 30) for seed in (1, 1, 2))
    np.testing.assert_array_equal(first.posterior, same.posterior)
    assert np.abs(first.posterior - other.posterior).max() > 0


def test_many_readings_of_a_cell_are_drawn_by_their_limit() -> None:
    """Observers of 3,000 items, always right, have rows that say so, above .99."""
    rows = [(str(i), o, "xy"[i % 2]) for i in range(3000) for o in "ABC"]
    found = sampled(table_readings(rows), Shrinkage(), 3, 30)
    assert (np.diagonal(found.matrices, axis1=1, axis2=2) > 0.99).all()


def test_a_sampled_consensus_takes_its_labels_from_the_draws() -> None:
    """Where it is sampled, probabilities are those of the draws, and there is no warning."""
    plan = ConsensusPlan(Shrinkage(), StartPlan(0), SamplePlan(60))
    found = reach_consensus(patients(), np.random.default_rng(1), plan)
    assert found.sampled is not None
    np.testing.assert_array_equal(found.probability, found.sampled.posterior.max(axis=1))
    assert found.note is None
    assert found.group is found.sampled.group


def test_few_items_come_with_a_warning() -> None:
    """A consensus of 45 patients that was not sampled says that it claims too much."""
    found = reach_consensus(patients(), np.random.default_rng(1))
    assert found.note is not None
    assert "claim too much" in found.note


COUNTS = np.array([[[3.0, 0, 1], [2, 150, 4], [0, 0, 0]], [[5, 1, 0], [0, 7, 1], [1, 0, 2]]])


def _chain(strength: float | None, seed: int) -> _Chain:
    """A chain over two observers and three labels."""
    rows = [(f"{i}", o, "xyz"[i]) for i in range(3) for o in "AB"]
    matrix = ReadingMatrix(table_readings(rows))
    return _Chain(matrix, Shrinkage(strength), np.random.default_rng(seed))


def test_readings_from_the_group_are_as_many_as_antoniak_says() -> None:
    """Their mean is a (psi(a + n) - psi(a)), to five standard errors (Antoniak 1974)."""
    chain, n = _chain(5.0, 4), 4000
    own = np.broadcast_to(5.0 * chain.group, COUNTS.shape)
    drawn = np.array([chain._draw_origins(COUNTS) for _ in range(n)])
    expected = own * (digamma(own + COUNTS) - digamma(own))
    error = 5 * drawn.std(axis=0) / n**0.5
    assert (np.abs(drawn.mean(axis=0) - expected) <= error + 1e-9).all()


def test_the_strength_is_drawn_from_its_density() -> None:
    """Mean and spread of its log are those of the density, integrated on a grid, to .05."""
    chain = _chain(None, 5)
    logs = []
    for _ in range(20_000):
        chain._step_strength(COUNTS)
        logs.append(np.log(chain.strength))
    grid = np.linspace(-6, 8, 4001)
    density = []
    for strength in np.exp(grid):
        own, reads = strength * chain.group, COUNTS.sum(axis=2)
        log = gamma.logpdf(strength, 2, scale=1 / 0.1) + np.log(strength)
        log += (gammaln(COUNTS + own) - gammaln(own)).sum()
        density.append(log - (gammaln(reads + strength) - gammaln(strength)).sum())
    weight = np.exp(np.array(density) - max(density))
    mean = np.average(grid, weights=weight)
    sd = np.average((grid - mean) ** 2, weights=weight) ** 0.5
    assert np.mean(logs) == pytest.approx(mean, abs=0.05)
    assert np.std(logs) == pytest.approx(sd, abs=0.05)
