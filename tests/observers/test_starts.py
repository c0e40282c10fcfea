"""Several starts, and the consensus that comes of them."""

from __future__ import annotations

import numpy as np
import pytest

from anaesthetists import by_observer, patients
from corallum.observers.consensus import ConsensusPlan, reach_consensus
from corallum.observers.dawid_skene import ReadingMatrix
from corallum.observers.hierarchical import GroupFit, Shrinkage
from corallum.observers.starts import StartPlan, draw_start


def test_a_start_is_a_posterior_without_zeros() -> None:
    """Random starts are probabilities, none of them 0, and no two alike."""
    matrix, rng = ReadingMatrix(patients()), np.random.default_rng(1)
    first, second = draw_start(matrix, rng), draw_start(matrix, rng)
    np.testing.assert_allclose(first.sum(axis=1), 1, atol=1e-12)
    assert (first > 0).all()
    assert np.abs(first - second).max() > 0.1


def test_the_votes_own_end_is_kept() -> None:
    """A likelier end elsewhere is said, and kept only when asked for."""
    votes = reach_consensus(patients(), np.random.default_rng(1))
    best = reach_consensus(
        patients(), np.random.default_rng(1), ConsensusPlan(starts=StartPlan(keep="best"))
    )
    assert votes.fit.log_likelihood == pytest.approx(-192.8909, abs=5e-5)
    assert votes.starts.best_bound == pytest.approx(best.fit.log_likelihood)
    assert best.fit.log_likelihood > votes.fit.log_likelihood + 0.01
    assert votes.starts.changed == int((best.label != votes.label).sum())
    assert (votes.starts.agree, votes.starts.tried) == (False, 6)


def test_starts_agree_where_all_is_plain() -> None:
    """Where all observers agree every start ends in the same place."""
    readings = by_observer(*["a a a b b b a b a b"] * 3)
    found = reach_consensus(readings, np.random.default_rng(1))
    assert found.starts.agree
    assert (found.starts.changed, found.starts.same) == (0, 6)


def test_the_group_comes_with_shrinkage_only() -> None:
    """A plain consensus has no group; a hierarchical one has its rows and strength."""
    rng = np.random.default_rng(1)
    assert reach_consensus(patients(), rng, ConsensusPlan(starts=StartPlan(0))).group is None
    found = reach_consensus(patients(), rng, ConsensusPlan(Shrinkage(), StartPlan(0)))
    assert isinstance(found.fit, GroupFit)
    assert found.group is found.fit.group
    assert found.starts.agree


def test_the_queue_begins_with_the_least_probable() -> None:
    """Items below the threshold are queued by rising probability, equal ones in their order."""
    found = reach_consensus(patients(), np.random.default_rng(1))
    order = found.queue(1.1)
    assert len(order) == 45
    assert (np.diff(found.probability[order]) >= 0).all()
    assert found.queue(0.0).tolist() == []


def test_the_consensus_is_the_most_probable_label() -> None:
    """Label and probability of each item are those of its highest posterior."""
    found = reach_consensus(patients(), np.random.default_rng(1))
    np.testing.assert_array_equal(found.probability, found.fit.posterior.max(axis=1))
    np.testing.assert_array_equal(found.label, found.fit.posterior.argmax(axis=1))


def test_progress_reaches_each_start_in_turn() -> None:
    """The share done rises from start to start."""
    told: list[float] = []
    reach_consensus(
        patients(), np.random.default_rng(1), ConsensusPlan(starts=StartPlan(2)), told.append
    )
    assert told == sorted(told)
    assert max(told) > 2 / 3
