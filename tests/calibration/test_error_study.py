"""Learning an observer's errors pays: a small part of the study with 100 observers.

All on invented observers; the first kind is drawn from the very prior that the learning
assumes, the second is not.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

import support
from corallum.model.errors import Observer
from corallum.model.prior import genus_prior
from corallum.observers.study import Kind, StudyOutcome, StudyPlan, run_study

pytestmark = pytest.mark.calibration


@cache
def study(kind: Kind) -> StudyOutcome:
    """Twenty observers with 200 answers and 400 fresh colonies each."""
    kernel = support.determiner(Observer.UNKNOWN).kernel
    plan = StudyPlan(observers=20, answers=200, fresh=400, kind=kind)
    prior = genus_prior(support.compiled(), "indo_pacific")
    return run_study(kernel, prior, plan, np.random.default_rng(2))


def test_intervals_hold_where_the_prior_is_right() -> None:
    """Of the 90 % intervals of error rates 87 to 93 % hold the truth."""
    found = study(Kind.AROUND)
    assert 0.87 <= found.states.share <= 0.93
    assert 0.87 <= found.right.share <= 0.93


def test_intervals_hold_where_the_prior_is_not_right() -> None:
    """With observers of another making no fewer than 87 % hold the truth."""
    found = study(Kind.MIXED)
    assert found.states.share >= 0.87
    assert found.right.share >= 0.87


@pytest.mark.parametrize("kind", Kind)
def test_own_errors_pay(kind: Kind) -> None:
    """The mean gain in log loss is above nought by three errors; at most 5 % lose over .01."""
    gain = study(kind).own_gain
    assert gain.mean() > 3 * gain.std(ddof=1) / np.sqrt(len(gain))
    assert study(kind).share_losing(0.01) <= 0.05


@pytest.mark.parametrize("kind", Kind)
def test_anothers_errors_do_not(kind: Kind) -> None:
    """Negative control: errors learned of somebody else gain nothing, and cost against the own."""
    found = study(kind)
    assert found.swapped_gain.mean() <= 0
    lost = found.swapped_loss
    assert lost.mean() > 3 * lost.std(ddof=1) / np.sqrt(len(lost))
