"""Laws that coefficients of agreement obey on any table, and reasons where there is none."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from anaesthetists import by_observer, patients
from corallum.observers.agreement import Agreement, measure_agreement
from corallum.observers.cohen import agreement_weights, cohen_kappa, cross_table, weighted_kappa
from corallum.observers.fleiss import fleiss_kappa
from corallum.observers.krippendorff import Level, krippendorff_alpha
from corallum.observers.paired import paired_difference
from corallum.observers.readings import Readings, table_readings

# Labels 0 to 3 of 2 to 12 items by 2 to 4 observers; -1 is not read.
TABLES = st.tuples(st.integers(2, 12), st.integers(2, 4)).flatmap(
    lambda shape: arrays(np.int64, shape, elements=st.integers(-1, 3))
)
WHOLE = st.integers(2, 30).flatmap(lambda n: arrays(np.int64, (n, 2), elements=st.integers(0, 3)))
NAMES = ("Astrea", "Favites", "Galaxea", "Porites")


def as_readings(table: np.ndarray, names: tuple[str, ...] = NAMES) -> Readings:
    """Readings of a table of codes."""
    rows = [
        (f"i{i}", f"o{o}", names[table[i, o]])
        for i, o in np.ndindex(*table.shape)
        if table[i, o] >= 0
    ]
    return table_readings(rows)


def agree(readings: Readings) -> Agreement:
    """Every coefficient, without the draws."""
    return measure_agreement(readings, np.random.default_rng(1), draws=0)


def same(a: float | None, b: float | None) -> bool:
    """Whether two values are the same up to rounding, or both are none."""
    return a is b if a is None or b is None else abs(a - b) < 1e-9


def values(found: Agreement) -> list[float | None]:
    """Values and ends that do not come from draws."""
    ends = [found.cohen.low, found.fleiss.low, found.ac1.low]
    return [found.cohen.value, found.fleiss.value, found.alpha.value, found.ac1.value, *ends]


SWAPS: dict[str, Callable[[np.ndarray], np.ndarray]] = {
    "items": lambda table: table[::-1],
    "observers": lambda table: table[:, ::-1],
    "labels": lambda table: np.where(table < 0, -1, 3 - table),
}


# Two slips of one observer who calls all else alike: kappa is 0, and so is its error.
SLIPS = np.array([[1, 0], [2, 0], *[[0, 0]] * 8])


@pytest.mark.parametrize("swap", SWAPS.values(), ids=SWAPS)
@given(table=TABLES)
@example(table=SLIPS)
@settings(max_examples=100, deadline=None)
def test_order_and_names_do_not_matter(
    swap: Callable[[np.ndarray], np.ndarray], table: np.ndarray
) -> None:
    """Items, observers or labels in another order give the same coefficients."""
    assume((table >= 0).any())
    before, after = values(agree(as_readings(table))), values(agree(as_readings(swap(table))))
    assert all(same(a, b) for a, b in zip(before, after, strict=True))


@given(TABLES)
@settings(max_examples=100, deadline=None)
def test_repeats_do_not_count(table: np.ndarray) -> None:
    """A second reading by the same observer changes no coefficient."""
    assume((table >= 0).any())
    readings = as_readings(table)
    rows = [
        (readings.items[i], readings.observers[o], readings.labels[k])
        for i, o, k in zip(readings.item, readings.observer, readings.label, strict=True)
    ]
    again = table_readings([*rows, (rows[0][0], rows[0][1], readings.labels[-1])])
    assert values(agree(again)) == values(agree(readings))
    assert agree(again).n_repeats == 1


@given(TABLES)
@example(np.array([[0, 1], [0, -1]]))
@settings(max_examples=100, deadline=None)
def test_nobody_agrees_more_than_wholly(table: np.ndarray) -> None:
    """No coefficient exceeds 1, and intervals hold their value."""
    assume((table >= 0).any())
    found = agree(as_readings(table))
    for one in (found.cohen, found.fleiss, found.alpha, found.ac1):
        assert (one.value is None) == (one.reason is not None)
        assert one.value is None or one.value <= 1 + 1e-12
        if one.value is not None and one.low is not None and one.high is not None:
            assert one.low - 1e-9 <= one.value <= one.high + 1e-9


@given(WHOLE)
@settings(max_examples=100, deadline=None)
def test_alpha_is_fleiss_kappa_with_a_correction(table: np.ndarray) -> None:
    """With no reading missing 1 - alpha = (1 - kappa) (n - 1) / n, n the number of readings."""
    found = agree(as_readings(table))
    if found.alpha.value is None or found.fleiss.value is None:
        assert found.alpha.value is found.fleiss.value
        return
    n = table.size
    assert 1 - found.alpha.value == pytest.approx((1 - found.fleiss.value) * (n - 1) / n)


@given(WHOLE)
@settings(max_examples=100, deadline=None)
def test_quadratic_kappa_is_a_concordance(table: np.ndarray) -> None:
    """With quadratic weights kappa = 2 cov / (var + var + (mean - mean)^2): Fleiss, Cohen 1973."""
    x, y = table[:, 0].astype(float), table[:, 1].astype(float)
    scale = x.var() + y.var() + (x.mean() - y.mean()) ** 2
    assume(scale > 0)
    counts = cross_table(table[:, 0], table[:, 1], 4)
    found = weighted_kappa(counts, agreement_weights(4, "quadratic")).coefficient.value
    assert found == pytest.approx(2 * np.cov(x, y, bias=True)[0, 1] / scale, abs=1e-9)


@given(arrays(np.int64, (20, 2), elements=st.integers(0, 1)), st.sampled_from(["linear", "none"]))
@settings(deadline=None)
def test_weights_do_not_matter_between_two_labels(table: np.ndarray, kind: str) -> None:
    """With two labels weighted kappa is Cohen's."""
    counts = cross_table(table[:, 0], table[:, 1], 2)
    weighted = weighted_kappa(counts, agreement_weights(2, kind)).coefficient.value
    assert same(weighted, cohen_kappa(counts).coefficient.value)


@given(WHOLE)
@settings(deadline=None)
def test_kappa_is_at_most_what_the_shares_allow(table: np.ndarray) -> None:
    """Cohen's kappa never exceeds its highest possible value."""
    found = cohen_kappa(cross_table(table[:, 0], table[:, 1], 4))
    assume(found.coefficient.value is not None)
    assert found.coefficient.value is not None
    assert found.coefficient.value <= found.most + 1e-9


CHANGES = {
    Level.ORDINAL: lambda x: x**3 + 7,
    Level.INTERVAL: lambda x: 3 * x - 5,
    Level.RATIO: lambda x: 2.5 * x,
}


@pytest.mark.parametrize("level", CHANGES, ids=str)
@given(table=TABLES)
@settings(max_examples=50, deadline=None)
def test_alpha_knows_what_its_level_knows(level: Level, table: np.ndarray) -> None:
    """Alpha is the same under any change of the numbers that its level allows."""
    assume((table >= 0).any())
    counts = as_readings(table).counts
    numbers = np.arange(1.0, counts.shape[1] + 1)
    rng = np.random.default_rng(1)
    before = krippendorff_alpha(counts, level, numbers, rng, draws=0)
    after = krippendorff_alpha(counts, level, CHANGES[level](numbers), rng, draws=0)
    assert same(before.value, after.value)


def test_fleiss_kappa_is_the_mean_of_that_of_labels() -> None:
    """Kappa is the mean of the labels' own, weighed by p (1 - p) (Fleiss 1971)."""
    found = fleiss_kappa(patients().first.counts)
    weight = found.share * (1 - found.share)
    mean = (weight * found.by_label).sum() / weight.sum()
    assert found.coefficient.value == pytest.approx(mean, abs=1e-12)


def test_the_bootstrap_hangs_on_the_seed_only() -> None:
    """One seed gives one interval, and another seed another."""
    ends = [measure_agreement(patients(), np.random.default_rng(seed)).alpha for seed in (1, 1, 2)]
    assert ends[0] == ends[1]
    assert ends[0].low != ends[2].low


REASONS = {
    "one observer": (("a b a",), ["one observer only"] * 4),
    "one label": (
        ("a a a", "a a a"),
        ["both observers used one and the same label only", *["one label only was used"] * 3],
    ),
    "no item in common": (
        ("a b . .", ". . a b"),
        ["no item was read by both observers", *["no item was read twice or more"] * 3],
    ),
    "three observers": (("a b", "a b", "b b"), ["needs two observers, found 3", *[None] * 3]),
    "three observers, few in common": (
        ("a . .", ". b .", ". . a"),
        ["needs two observers, found 3", *["no item was read twice or more"] * 3],
    ),
}


@pytest.mark.parametrize(("lines", "reasons"), REASONS.values(), ids=REASONS)
def test_what_can_not_be_reckoned_says_why(
    lines: tuple[str, ...], reasons: list[str | None]
) -> None:
    """A coefficient without a value has its reason, the others have none."""
    found = agree(by_observer(*lines))
    four = (found.cohen, found.fleiss, found.alpha, found.ac1)
    assert [one.reason for one in four] == reasons
    assert [one.value is None for one in four] == [reason is not None for reason in reasons]


def test_full_agreement_is_one_and_says_what_the_interval_is_worth() -> None:
    """Where all agree each coefficient is 1, and a note says that the interval says nothing."""
    found = measure_agreement(by_observer("a b a b", "a b a b"), np.random.default_rng(1))
    for one in (found.cohen, found.fleiss, found.ac1):
        assert one.value == pytest.approx(1.0)
        assert one.note is not None
    assert found.alpha.value == 1.0


def test_pairs_come_with_those_who_disagree_most_first() -> None:
    """Each two observers are compared over the items that they read, worst first."""
    found = agree(by_observer("a b a b", "a b a a", "b a b ."))
    names = [(pair.first, pair.second) for pair in found.pairs]
    assert names == [("o0", "o2"), ("o1", "o2"), ("o0", "o1")]
    assert found.pairs[0].difference == paired_difference(
        np.array([0, 1, 0, 1]), np.array([1, 0, 1, -1])
    )
    assert found.pairs[0].difference.n_both == 3
    assert found.pairs[0].difference.enumeration_of_sum_percent == pytest.approx(100 / 7)


def test_repeats_are_compared_with_the_first() -> None:
    """Of the anaesthetist's 90 repeats, 75 give the grade of the first.

    By hand: 11 patients have one other grade, two have two.
    """
    (row,) = agree(patients()).repeats
    assert (row.observer, row.repeats, row.same) == ("1", 90, 75)
