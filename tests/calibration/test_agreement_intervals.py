"""Intervals of agreement over tables drawn again and again from one population of items."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import sparse

from corallum.observers.cohen import cohen_kappa, cross_table
from corallum.observers.fleiss import fleiss_kappa
from corallum.observers.gwet import gwet_ac1
from corallum.observers.krippendorff import Level, krippendorff_alpha

pytestmark = pytest.mark.calibration

TABLES, ITEMS = 1000, 80
SEED = 20261125
SHARES = np.array([0.5, 0.25, 0.15, 0.1])


def draw_tables(n_observers: int, n_items: int, rng: np.random.Generator) -> np.ndarray:
    """Labels of items by observers who are right in 75 % and else name by the shares."""
    truth = rng.choice(4, size=n_items, p=SHARES)
    lot = rng.choice(4, size=(n_items, n_observers), p=SHARES)
    return np.where(rng.random((n_items, n_observers)) < 0.75, truth[:, None], lot)


def count(table: np.ndarray) -> sparse.csr_array:
    """Counts of labels by item."""
    return sparse.csr_array((table[:, :, None] == np.arange(4)).sum(axis=1).astype(float))


def held(name: str, n_observers: int) -> float:
    """Share of intervals that hold the coefficient of a million items."""
    rng = np.random.default_rng(SEED)
    measure = {
        "cohen": lambda t: cohen_kappa(cross_table(t[:, 0], t[:, 1], 4)).coefficient,
        "fleiss": lambda t: fleiss_kappa(count(t)).coefficient,
        "ac1": lambda t: gwet_ac1(count(t)),
        "alpha": lambda t: krippendorff_alpha(
            count(t), Level.NOMINAL, np.arange(4.0), rng, draws=400 if len(t) == ITEMS else 0
        ),
    }[name]
    truth = measure(draw_tables(n_observers, 1_000_000, rng)).value
    found = [measure(draw_tables(n_observers, ITEMS, rng)) for _ in range(TABLES)]
    share = float(np.mean([one.low <= truth <= one.high for one in found]))
    print(f"{name}, {n_observers} observers, {ITEMS} items: {100 * share:.1f} % held (wanted 95)")
    return share


@pytest.mark.parametrize(
    ("name", "n_observers"), [("cohen", 2), ("fleiss", 3), ("ac1", 3), ("alpha", 3)]
)
def test_intervals_hold_the_truth(name: str, n_observers: int) -> None:
    """Of a thousand 95 % intervals 92.5 to 97 % hold the coefficient of the population.

    The standard error of the share is .7 %; both ends leave some room beyond it for
    intervals that hold in the limit only.
    """
    assert 0.925 <= held(name, n_observers) <= 0.97


def test_intervals_that_take_readings_for_items_do_not_hold() -> None:
    """Negative control: the standard error under agreement by lot is too narrow here."""
    rng = np.random.default_rng(SEED)
    truth = fleiss_kappa(count(draw_tables(3, 1_000_000, rng))).coefficient.value
    hits = []
    for _ in range(TABLES):
        found = fleiss_kappa(count(draw_tables(3, ITEMS, rng)))
        assert found.coefficient.value is not None
        assert truth is not None
        null = found.coefficient.value / found.z
        hits.append(abs(found.coefficient.value - truth) <= 1.96 * null)
    assert np.mean(hits) < 0.90
