"""Dawid and Skene's model: its laws, against slow loops, and on readings drawn from it."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anaesthetists import patients
from corallum.observers.dawid_skene import (
    Fit,
    Model,
    Priors,
    ReadingMatrix,
    draw_readings,
    expect,
    fit_dawid_skene,
    maximise,
    vote_shares,
)
from corallum.observers.readings import Readings, table_readings

ROWS = st.lists(
    st.tuples(st.sampled_from("abcdef"), st.sampled_from("ABC"), st.sampled_from("xyz")),
    min_size=1, max_size=40,
)  # fmt: skip


def drawn(
    model: Model, n: int, rng: np.random.Generator, least: int = 2
) -> tuple[np.ndarray, Readings]:
    """True labels and readings of n items, each read by all observers or some of them."""
    n_observers, n_labels = model.matrices.shape[:2]
    who = [rng.permutation(n_observers)[: rng.integers(least, n_observers + 1)] for _ in range(n)]
    item = np.repeat(np.arange(n), [len(some) for some in who])
    observer = np.concatenate(who)
    truth, said = draw_readings(model, item, observer, rng)
    names = (map(str, range(n)), map(str, range(n_observers)), "abcdefgh"[:n_labels])
    items, observers, labels = (tuple(some) for some in names)
    return truth, Readings(items, observers, labels, item, observer, said)


def diagonal(right: list[float], n_labels: int) -> np.ndarray:
    """Observers who are right so often, any error equally often."""
    rows = [
        np.full((n_labels, n_labels), (1 - r) / (n_labels - 1)) * (1 - np.eye(n_labels))
        + r * np.eye(n_labels)
        for r in right
    ]
    return np.stack(rows)


@given(ROWS)
@settings(max_examples=150, deadline=None)
def test_shares_add_up_and_the_bound_never_falls(rows: list[tuple[str, str, str]]) -> None:
    """Prevalences, rows and posteriors are probabilities; the log likelihood only rises."""
    fit = fit_dawid_skene(table_readings(rows))
    for shares in (fit.model.prevalence[None], fit.posterior, fit.model.matrices):
        assert (shares >= 0).all()
        np.testing.assert_allclose(shares.sum(axis=-1), 1, atol=1e-12)
    assert np.diff(fit.bounds).min(initial=0) >= -1e-9
    assert fit.weights.sum() == pytest.approx(len(rows))


@given(ROWS, st.floats(0.01, 5))
@settings(max_examples=100, deadline=None)
def test_the_bound_never_falls_with_counts_added(
    rows: list[tuple[str, str, str]], count: float
) -> None:
    """With Dirichlet priors the log likelihood plus their log density only rises."""
    fit = fit_dawid_skene(table_readings(rows), priors=Priors(count, count))
    assert np.diff(fit.bounds).min(initial=0) >= -1e-9
    assert (fit.model.matrices > 0).all()


@given(ROWS, st.randoms(use_true_random=False))
@settings(max_examples=100, deadline=None)
def test_order_does_not_matter(rows: list[tuple[str, str, str]], random: object) -> None:
    """Rows in another order give each item the same probabilities after ten rounds."""
    mixed = list(rows)
    random.shuffle(mixed)  # type: ignore[attr-defined]  # hypothesis' own random.Random
    a, b = (fit_dawid_skene(table_readings(some), most_rounds=10) for some in (rows, mixed))
    items = [table_readings(some).items for some in (rows, mixed)]
    order = [items[1].index(item) for item in items[0]]
    np.testing.assert_allclose(a.posterior, b.posterior[order], atol=1e-6)
    assert a.log_likelihood == pytest.approx(b.log_likelihood, abs=1e-6)


@given(ROWS)
@settings(max_examples=100, deadline=None)
def test_names_of_labels_do_not_matter(rows: list[tuple[str, str, str]]) -> None:
    """Labels by other names, hence in another order, have the same probabilities."""
    other = {"x": "r", "y": "q", "z": "p"}
    renamed = [(item, observer, other[label]) for item, observer, label in rows]
    a, b = (fit_dawid_skene(table_readings(some), most_rounds=10) for some in (rows, renamed))
    np.testing.assert_allclose(a.posterior, b.posterior[:, ::-1], atol=1e-6)


def slow_round(readings: Readings, posterior: np.ndarray) -> tuple[np.ndarray, float]:
    """One round of EM as loops over readings, after equations 2.3 to 2.5 of the paper."""
    n_labels = len(readings.labels)
    rows = list(zip(readings.item, readings.observer, readings.label, strict=True))
    counts: dict[tuple[int, int, int], float] = defaultdict(float)
    for i, o, said in rows:
        for true in range(n_labels):
            counts[o, true, said] += posterior[i, true]
    total: dict[tuple[int, int], float] = defaultdict(float)
    for (o, true, _), count in counts.items():
        total[o, true] += count
    prevalence = posterior.mean(axis=0)
    joint = np.tile(prevalence, (len(readings.items), 1))
    for i, o, said in rows:
        for true in range(n_labels):
            joint[i, true] *= counts[o, true, said] / total[o, true]
    return joint / joint.sum(axis=1, keepdims=True), float(np.log(joint.sum(axis=1)).sum())


def test_rounds_are_those_of_slow_loops() -> None:
    """Five rounds on the anaesthetists give the posteriors of plain loops to 1e-12."""
    readings = patients()
    matrix = ReadingMatrix(readings)
    slow = fast = vote_shares(matrix)
    for _ in range(5):
        model, _ = maximise(matrix, fast, Priors())
        with np.errstate(divide="ignore"):
            fast, found = expect(matrix, np.log(model.matrices), model.prevalence)
        slow, expected = slow_round(readings, slow)
        np.testing.assert_allclose(fast, slow, atol=1e-12)
        assert found == pytest.approx(expected, abs=1e-9)


def test_thousands_of_readings_of_one_item_do_not_underflow() -> None:
    """2,000 readings of an item, jointly less probable than the least number, are fitted."""
    rng = np.random.default_rng(2)
    model = Model(np.array([0.6, 0.4]), diagonal([0.6] * 2000, 2))
    truth, readings = drawn(model, 30, rng, least=2000)
    fit = fit_dawid_skene(readings, priors=Priors(1.0))
    assert np.isfinite(fit.log_likelihood)
    assert fit.log_likelihood < -2000 * 30 * 0.5
    assert (fit.posterior.argmax(axis=1) == truth).all()


def test_a_row_that_nothing_rests_on_is_flat() -> None:
    """An observer who read no item of a label has a flat row for it, of weight 0."""
    rows = [(f"a{i}", o, "x") for i in range(5) for o in "ABC"]
    rows += [(f"b{i}", o, "y") for i in range(5) for o in "AB"]
    fit = fit_dawid_skene(table_readings(rows))
    assert fit.model.matrices[2].tolist() == [[1, 0], [0.5, 0.5]]
    assert fit.weights[2].tolist() == [5, 0]


def test_readings_are_drawn_as_the_story_says() -> None:
    """Shares of drawn labels are the prevalences and rows, to four standard errors."""
    rng = np.random.default_rng(3)
    model = Model(np.array([0.2, 0.5, 0.3]), rng.dirichlet(np.ones(3), size=(2, 3)))
    n = 60_000
    item, observer = np.repeat(np.arange(n), 2), np.tile([0, 1], n)
    truth, said = draw_readings(model, item, observer, rng)
    np.testing.assert_allclose(np.bincount(truth) / n, model.prevalence, atol=4 * 0.5 / n**0.5)
    for o, true in np.ndindex(2, 3):
        own = said[(observer == o) & (truth[item] == true)]
        shares = np.bincount(own, minlength=3) / len(own)
        np.testing.assert_allclose(shares, model.matrices[o, true], atol=2 / len(own) ** 0.5)


UNEQUAL = Model(np.array([0.4, 0.3, 0.2, 0.1]), diagonal([0.9, 0.8, 0.7, 0.6, 0.85], 4))


def test_true_errors_are_recovered() -> None:
    """From 4,000 items read by two to five observers each rate is found to .06."""
    truth, readings = drawn(UNEQUAL, 4000, np.random.default_rng(4))
    fit = fit_dawid_skene(readings)
    assert fit.converged
    np.testing.assert_allclose(fit.model.prevalence, UNEQUAL.prevalence, atol=0.02)
    np.testing.assert_allclose(fit.model.matrices, UNEQUAL.matrices, atol=0.06)
    votes = vote_shares(ReadingMatrix(readings)).argmax(axis=1)
    assert (fit.posterior.argmax(axis=1) == truth).mean() > (votes == truth).mean()


def test_without_truth_nothing_is_recovered() -> None:
    """Negative control: where labels are dealt out by lot, no rate of the truth is found."""
    _, readings = drawn(UNEQUAL, 4000, np.random.default_rng(4))
    lot = np.random.default_rng(5).permutation(readings.label)
    shuffled = Readings(
        readings.items, readings.observers, readings.labels, readings.item, readings.observer, lot
    )
    fit = fit_dawid_skene(shuffled)
    assert np.abs(fit.model.matrices - UNEQUAL.matrices).max() > 0.3


def test_one_who_names_by_lot_has_flat_rows() -> None:
    """The rows of an observer who says labels by lot are the same for all true labels."""
    matrices = UNEQUAL.matrices.copy()
    matrices[3] = [0.1, 0.2, 0.3, 0.4]
    _, readings = drawn(Model(UNEQUAL.prevalence, matrices), 6000, np.random.default_rng(6))
    found = fit_dawid_skene(readings).model.matrices
    assert np.ptp(found[3], axis=0).max() < 0.08
    assert np.ptp(found[0], axis=0).max() > 0.7


def _claimed_and_right(fit: Fit, truth: np.ndarray) -> tuple[float, float]:
    """Mean probability of the consensus, and how often it is right."""
    return fit.posterior.max(axis=1).mean(), (fit.posterior.argmax(axis=1) == truth).mean()


def test_probabilities_hold_where_the_model_does() -> None:
    """Of items drawn from the model as many are right as the probabilities say, to .01."""
    truth, readings = drawn(UNEQUAL, 8000, np.random.default_rng(7), least=3)
    claimed, right = _claimed_and_right(fit_dawid_skene(readings), truth)
    assert claimed == pytest.approx(right, abs=0.01)


def test_probabilities_do_not_hold_where_observers_copy() -> None:
    """Wrong model: three who say what one of them says are believed .05 too much."""
    rng = np.random.default_rng(8)
    model = Model(UNEQUAL.prevalence, diagonal([0.7, 0.7, 0.7], 4))
    truth, readings = drawn(model, 4000, rng, least=3)
    rows = readings.table
    rows[:, 1] = rows[:, 0]
    rows[:, 2] = np.where(rng.random(len(rows)) < 0.9, rows[:, 0], rows[:, 2])
    item, observer = np.repeat(np.arange(len(rows)), 3), np.tile(np.arange(3), len(rows))
    copied = Readings(
        readings.items, readings.observers, readings.labels, item, observer, rows.ravel()
    )
    claimed, right = _claimed_and_right(fit_dawid_skene(copied), truth)
    assert claimed > right + 0.05


def test_giving_up_is_said() -> None:
    """A fit that ran out of rounds says that it did not converge."""
    assert not fit_dawid_skene(patients(), most_rounds=2).converged


def test_the_share_of_rounds_is_told() -> None:
    """Progress is told after each round and never falls."""
    told: list[float] = []
    fit = fit_dawid_skene(patients(), most_rounds=100, progress=told.append)
    assert told == [(i + 1) / 100 for i in range(len(fit.bounds))]
