"""The hierarchical model: its laws, its limits, and readings drawn from it."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import gammaln

from anaesthetists import patients
from corallum.observers.dawid_skene import (
    Model,
    Priors,
    ReadingMatrix,
    draw_readings,
    run_em,
    vote_shares,
)
from corallum.observers.hierarchical import GroupFit, Shrinkage, even_confusions, fit_group
from corallum.observers.readings import Readings, table_readings

ROWS = st.lists(
    st.tuples(st.sampled_from("abcdef"), st.sampled_from("ABC"), st.sampled_from("xyz")),
    min_size=1, max_size=40,
)  # fmt: skip


def fitted(readings: Readings, shrinkage: Shrinkage | None = None, rounds: int = 2000) -> GroupFit:
    """Fit from the votes."""
    matrix = ReadingMatrix(readings)
    return fit_group(matrix, vote_shares(matrix), shrinkage, rounds)


def drawn_group(
    n_observers: int, each: int, strength: float, rng: np.random.Generator, n_labels: int = 5
) -> tuple[Model, Readings]:
    """Observers round a group, who each read so many of 400 items."""
    group = even_confusions(n_labels)
    rows = np.stack([rng.dirichlet(strength * row, size=n_observers) for row in group], axis=1)
    model = Model(np.full(n_labels, 1 / n_labels), rows)
    item = np.concatenate([rng.permutation(400)[:each] for _ in range(n_observers)])
    observer = np.repeat(np.arange(n_observers), each)
    _, said = draw_readings(model, np.append(item, 399), np.append(observer, 0), rng)
    names = (map(str, range(400)), map(str, range(n_observers)), "abcdefgh"[:n_labels])
    items, observers, labels = (tuple(some) for some in names)
    return model, Readings(
        items, observers, labels, np.append(item, 399), np.append(observer, 0), said
    )


@given(ROWS, st.none() | st.floats(0.1, 100))
@settings(max_examples=100, deadline=None)
def test_shares_add_up_and_the_bound_never_falls(
    rows: list[tuple[str, str, str]], strength: float | None
) -> None:
    """All rows are probabilities above 0, and the bound only rises, strength estimated or set."""
    found = fitted(table_readings(rows), Shrinkage(strength), rounds=60)
    for shares in (found.model.matrices, found.group):
        assert (shares > 0).all()
        np.testing.assert_allclose(shares.sum(axis=-1), 1, atol=1e-9)
    np.testing.assert_allclose(found.posterior.sum(axis=1), 1, atol=1e-9)
    rises = np.diff(found.bounds)
    assert rises.min(initial=0) >= -1e-7 * (1 + abs(found.bounds[-1]))


def log_evidence(found: GroupFit, readings: Readings) -> float:
    """Log of P(readings, group's rows | strength), summing over all true labels."""
    table, n_labels = readings.table, len(readings.labels)
    own = found.strength * found.group
    total = 0.0
    for truth in product(range(n_labels), repeat=len(readings.items)):
        log = np.log(found.model.prevalence)[list(truth)].sum()
        for o in range(len(readings.observers)):
            counts = np.zeros((n_labels, n_labels))
            for i, true in enumerate(truth):
                if table[i, o] >= 0:
                    counts[true, table[i, o]] += 1
            log += (gammaln(own + counts) - gammaln(own)).sum()
            reads = counts.sum(axis=1)
            log -= (gammaln(found.strength + reads) - gammaln(found.strength)).sum()
        total += np.exp(log)
    return float(np.log(total))


def test_the_bound_is_below_the_evidence() -> None:
    """On six items the bound, less the group's prior, is just below the evidence summed out."""
    rows = [
        (f"{i}", o, label)
        for i, labels in enumerate(["xxx", "xxy", "yyy", "yyx", "xxx", "yyy"])
        for o, label in zip("ABC", labels, strict=True)
    ]
    readings = table_readings(rows)
    found = fitted(readings, Shrinkage(4.0))
    prior = 5.0 * (0.99 * even_confusions(2) + 0.005)
    bound = found.bounds[-1] - (prior * np.log(found.group)).sum()
    evidence = log_evidence(found, readings)
    assert evidence - 1.5 < bound <= evidence + 1e-9


def test_rows_are_counts_with_the_groups_added() -> None:
    """A row is (counts + strength x group) / (weight + strength), and its posterior the same."""
    found = fitted(patients(), Shrinkage(8.0))
    total = found.concentration.sum(axis=2)
    np.testing.assert_allclose(total, found.weights + 8.0, rtol=1e-9)
    np.testing.assert_allclose(
        found.model.matrices, found.concentration / total[:, :, None], rtol=1e-9
    )


def test_drawn_without_end_all_rows_are_the_groups() -> None:
    """At a strength of a million every observer has the group's rows."""
    found = fitted(patients(), Shrinkage(1e6))
    for rows in found.model.matrices:
        np.testing.assert_allclose(rows, found.group, atol=1e-3)


def test_hardly_drawn_rows_are_nearly_those_of_maximum_likelihood() -> None:
    """At a strength of .01 well-known rows are those of plain Dawid and Skene to .02."""
    matrix = ReadingMatrix(patients())
    plain = run_em(matrix, vote_shares(matrix), Priors())
    found = fitted(patients(), Shrinkage(0.01))
    known = plain.weights > 15
    assert known.sum() >= 8
    np.testing.assert_allclose(found.model.matrices[known], plain.model.matrices[known], atol=0.02)


def test_a_label_never_met_has_the_rows_of_the_prior() -> None:
    """Where nobody met a label the group's row, and everybody's, is that of the given matrix."""
    prior = np.array([[0.9, 0.1, 0.0], [0.2, 0.8, 0.0], [0.3, 0.1, 0.6]])
    rows = [(f"{i}", o, "xy"[i % 2]) for i in range(30) for o in "ABC"]
    readings = table_readings([*rows, ("0", "A", "z")])
    found = fitted(readings, Shrinkage(10.0, prior, 5.0))
    np.testing.assert_allclose(found.group[2], 0.99 * prior[2] + 0.01 / 3, atol=0.01)
    np.testing.assert_allclose(found.model.matrices[1, 2], found.group[2], atol=0.01)


@pytest.mark.parametrize("strength", [4.0, 40.0])
def test_the_strength_is_recovered(strength: float) -> None:
    """From 40 observers of 200 items each the strength is found within a factor of two."""
    _, readings = drawn_group(40, 200, strength, np.random.default_rng(11))
    found = fitted(readings)
    assert found.converged
    assert strength / 2 < found.strength < strength * 2


def test_observers_with_few_readings_are_known_better() -> None:
    """With 30 readings each, rows are nearer the truth than those of maximum likelihood."""
    model, readings = drawn_group(30, 30, 20.0, np.random.default_rng(12))
    matrix = ReadingMatrix(readings)
    plain = run_em(matrix, vote_shares(matrix), Priors())
    error = [
        np.abs(one.model.matrices - model.matrices).mean() for one in (plain, fitted(readings))
    ]
    assert error[1] < 0.6 * error[0]


def test_one_label_is_answered() -> None:
    """Readings of one label have one row of one, whatever the strength."""
    found = fitted(table_readings([("1", "A", "x"), ("1", "B", "x"), ("2", "A", "x")]))
    assert found.model.matrices.tolist() == [[[1.0]], [[1.0]]]
