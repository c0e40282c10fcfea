"""The study of what learning errors is worth: invented observers, and sums over them."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

import support
from corallum.errors import InputError
from corallum.model.errors import Observer, OwnErrors
from corallum.model.prior import genus_prior
from corallum.observers.group_errors import default_group
from corallum.observers.study import Held, Kind, StudyOutcome, StudyPlan, draw_observers, run_study

MANY = 80


@cache
def observers(kind: Kind) -> list[OwnErrors]:
    """Invented observers of one kind."""
    compiled = support.compiled()
    plan = StudyPlan(observers=MANY, kind=kind)
    return draw_observers(compiled, default_group(compiled), plan, np.random.default_rng(11))


@cache
def small(kind: Kind) -> StudyOutcome:
    """A study of a few seconds."""
    kernel = support.determiner(Observer.UNKNOWN).kernel
    plan = StudyPlan(observers=8, answers=120, fresh=300, kind=kind)
    prior = genus_prior(support.compiled(), "red_sea")
    return run_study(kernel, prior, plan, np.random.default_rng(3))


@pytest.mark.parametrize("kind", Kind)
def test_invented_errors_are_chances(kind: Kind) -> None:
    """Every row of every observer adds up to one, and nothing becomes "not applicable"."""
    for one in observers(kind):
        assert one.eye_sd is not None
        assert one.eye_sd > 0
        for matrix in one.states.values():
            assert matrix.sum(axis=1) == pytest.approx(1.0)
            assert (matrix >= 0).all()
            assert not matrix[:-1, -1].any()


def test_observers_around_the_group_have_its_rows_on_average() -> None:
    """Rows are those of the group within five standard errors of a Dirichlet mean."""
    compiled = support.compiled()
    group = default_group(compiled)
    for c, rows in group.states.items():
        id_ = compiled.characters[c].id
        mean = np.mean([one.states[id_][:-1, :-1] for one in observers(Kind.AROUND)], axis=0)
        error = np.sqrt(rows * (1 - rows) / (group.strength + 1) / MANY)
        assert (np.abs(mean - rows) <= 5 * error + 1e-9).all()


@pytest.mark.parametrize(("kind", "low", "high"), [(Kind.AROUND, -0.4, 0.4), (Kind.MIXED, 0.5, 1)])
def test_only_mixed_observers_are_good_or_poor_at_everything(
    kind: Kind, low: float, high: float
) -> None:
    """Mixed ones err alike in all characters, for they share one mixture; the others do not."""
    ids = list(observers(kind)[0].states)
    right = np.array(
        [[np.diagonal(one.states[id_])[:-1].mean() for id_ in ids] for one in observers(kind)]
    )
    found = np.corrcoef(right[:, ::2].mean(axis=1), right[:, 1::2].mean(axis=1))[0, 1]
    assert low < found < high


def test_a_plan_that_means_nothing_is_refused_at_once() -> None:
    """Every number that is too small, and every share out of range, is named."""
    with pytest.raises(InputError) as caught:
        StudyPlan(observers=1, answers=0, fresh=0, practice_looks=0.0, survey_looks=1.5)
    assert [fault.place for fault in caught.value.faults] == [
        "observers", "answers", "fresh", "practice_looks", "survey_looks",
    ]  # fmt: skip


def test_gains_are_log_loss_saved() -> None:
    """Gains are differences to the unknown observer's loss; losing counts beyond the bound."""
    loss = np.array([[1.5, 1.4, 1.3, 1.6], [1.5, 1.52, 1.45, 1.5]])
    none = Held(0, 0)
    found = StudyOutcome(StudyPlan(observers=2), none, none, none, none, loss, 25.0)
    assert found.own_gain == pytest.approx([0.1, -0.02])
    assert found.most_gain == pytest.approx([0.2, 0.05])
    assert found.swapped_gain == pytest.approx([-0.1, 0.0])
    assert found.swapped_loss == pytest.approx([0.2, -0.02])
    assert (found.share_losing(), found.share_losing(0.05)) == (0.5, 0.0)
    assert np.isnan(none.share)
    assert Held(9, 10).share == pytest.approx(0.9)


@pytest.mark.parametrize("kind", Kind)
def test_another_observers_errors_gain_nothing(kind: Kind) -> None:
    """Negative control: exchanged between observers, the learned errors lose what they gained."""
    found = small(kind)
    assert found.swapped_gain.mean() < 0 < found.own_gain.mean() < found.most_gain.mean()


def test_the_seed_decides() -> None:
    """The same seed gives the same study, another seed another."""
    kernel = support.determiner(Observer.UNKNOWN).kernel
    prior = genus_prior(support.compiled(), "atlantic")
    plan = StudyPlan(observers=2, answers=20, fresh=20, kind=Kind.MIXED)
    first, again, other = (
        run_study(kernel, prior, plan, np.random.default_rng(seed)).log_loss for seed in (3, 3, 4)
    )
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_every_rate_is_asked_once() -> None:
    """An interval is checked for each true and said state of each character and observer."""
    widths = [len(one.states) for one in support.compiled().characters if not one.is_size]
    found = small(Kind.MIXED)
    assert found.states.of == 8 * sum(width**2 for width in widths)
    assert found.right.of == 8 * sum(widths)
    assert (found.bias.of, found.spread.of) == (8, 8)


def test_progress_runs_to_the_end() -> None:
    """What is told of the progress never falls, and ends at one."""
    told: list[float] = []
    kernel = support.determiner(Observer.UNKNOWN).kernel
    plan = StudyPlan(observers=2, answers=5, fresh=5)
    prior = genus_prior(support.compiled(), "atlantic")
    run_study(kernel, prior, plan, np.random.default_rng(1), told.append)
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)
