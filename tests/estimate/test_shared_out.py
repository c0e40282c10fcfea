"""Laws of cover shared out by posterior draws of what said names truly are."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.bayes_correction import SamplingPlan, correct_by_errors, said_counts
from corallum.estimate.identification_share import Readings, correct_cover
from corallum.estimate.resampled_cover import Resampling, TransectCover
from corallum.estimate.shared_out import share_out_cover

seeds = st.integers(0, 2**32 - 1)
FEW = Resampling(400)
# Invented: three said names, the last being "unidentified", and two true genera.
MEAN = np.array([[0.8, 0.2], [0.1, 0.9], [0.5, 0.5]])


def survey(seed: int, *, same: bool = False) -> TransectCover:
    """Nine transects of unequal length in two strata, three names said."""
    rng = np.random.default_rng(seed)
    length = np.full(9, 50.0) if same else rng.uniform(20, 60, 9)
    share = np.tile([0.2, 0.1, 0.04], (9, 1)) if same else rng.uniform(0.02, 0.2, (9, 3))
    stratum = np.repeat([0, 1], [5, 4])
    return TransectCover(share * length[:, None], length, stratum, np.array([1.0, 2.0]))


def posterior(seed: int, draws: int = 300, size: float = 40.0) -> np.ndarray:
    """Draws around the mean rows, each row worth so many records."""
    rng = np.random.default_rng(seed)
    return np.stack([rng.dirichlet(size * row, draws) for row in MEAN], axis=1)


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_right_names_change_nothing(seed: int) -> None:
    """Where what was said is true in every draw, cover and its draws stay as they are."""
    sure = np.broadcast_to(np.eye(3), (5, 3, 3))
    found = share_out_cover(survey(seed), sure, np.random.default_rng(1), FEW)
    assert np.array_equal(found.draws, found.uncorrected_draws)
    assert found.corrected.low == pytest.approx(found.uncorrected.low)
    assert found.identification == pytest.approx([0, 0, 0], abs=1e-15)


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_known_rows_share_cover_out(seed: int) -> None:
    """With one known P(true | said), cover is shared out by it in value and in every draw."""
    known = np.broadcast_to(MEAN, (4, 3, 2))
    where = survey(seed)
    said = share_out_cover(
        where, np.broadcast_to(np.eye(3), (4, 3, 3)), np.random.default_rng(1), FEW
    )
    found = share_out_cover(where, known, np.random.default_rng(1), FEW)
    assert found.corrected.value == pytest.approx(said.uncorrected.value @ MEAN)
    assert found.draws == pytest.approx(said.draws @ MEAN)
    assert found.uncorrected_draws == pytest.approx(said.draws[:, :2])


def test_without_spread_of_transects_all_is_of_names() -> None:
    """On transects all alike mean and variance are those of cover times the draws."""
    draws = posterior(2)
    found = share_out_cover(survey(1, same=True), draws, np.random.default_rng(1), Resampling(8000))
    expected = np.array([0.2, 0.1, 0.04]) @ draws
    assert found.corrected.value == pytest.approx(expected.mean(axis=0))
    # Four Monte Carlo errors of a standard deviation of 8,000 draws are 3.2 %.
    assert found.corrected.se == pytest.approx(expected.std(axis=0), rel=0.032)
    assert found.identification == pytest.approx([1, 1])


def test_both_levels_add_up() -> None:
    """The variance is that of transects with known rows plus that of rows on known cover."""
    where, draws = survey(3), posterior(2)
    plan = Resampling(20_000)
    both = share_out_cover(where, draws, np.random.default_rng(1), plan)
    mean = np.broadcast_to(draws.mean(axis=0), draws.shape)
    alone = share_out_cover(where, mean, np.random.default_rng(2), plan)
    whole = share_out_cover(
        where, np.broadcast_to(np.eye(3), (4, 3, 3)), np.random.default_rng(3), FEW
    )
    names = (whole.uncorrected.value @ draws).var(axis=0)
    total = alone.corrected.se**2 + names
    assert both.corrected.se**2 == pytest.approx(total, rel=0.05)
    assert both.identification == pytest.approx(names / total, abs=0.02)
    assert both.draws.std(axis=0) == pytest.approx(both.corrected.se, rel=0.05)


def test_resampled_readings_as_draws_agree_with_correction_by_readings() -> None:
    """Given the resampled readings as draws, errors are those of the correction by readings."""
    table = np.array([[40, 10, 0], [5, 40, 5], [0, 5, 45]])
    rng = np.random.default_rng(4)
    draws = np.stack([rng.multinomial(49, row / 50, 4000) / 49 for row in table], axis=1)
    where, plan = survey(5), Resampling(20_000)
    one = share_out_cover(where, draws, np.random.default_rng(1), plan)
    other = correct_cover(where, Readings(table), np.random.default_rng(1), plan)
    assert one.corrected.value == pytest.approx(other.corrected.value, abs=0.002)
    assert one.corrected.se == pytest.approx(other.corrected.se, rel=0.04)
    assert one.identification == pytest.approx(other.identification, abs=0.03)
    assert one.uncorrected.low == pytest.approx(other.uncorrected.low)
    assert one.corrected.high == pytest.approx(other.corrected.high, rel=0.03)


@settings(max_examples=25, deadline=None)
@given(seed=seeds, unit=st.floats(0.01, 100))
def test_the_unit_of_length_does_not_matter(seed: int, unit: float) -> None:
    """Lengths in another unit give the same draws."""
    where, draws = survey(seed), posterior(1)
    other = TransectCover(where.met * unit, where.searched * unit, where.stratum, where.weight)
    one, two = (
        share_out_cover(each, draws, np.random.default_rng(1), FEW) for each in (where, other)
    )
    assert two.draws == pytest.approx(one.draws, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_order_of_genera_does_not_matter(seed: int) -> None:
    """Genera listed otherwise, said and true, have the same draws, listed otherwise."""
    where, draws = survey(seed), posterior(1)
    other = TransectCover(where.met[:, [1, 0, 2]], where.searched, where.stratum, where.weight)
    one = share_out_cover(where, draws, np.random.default_rng(1), FEW)
    two = share_out_cover(other, draws[:, [1, 0, 2]][:, :, [1, 0]], np.random.default_rng(1), FEW)
    assert two.draws == pytest.approx(one.draws[:, ::-1])


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_correction_moves_cover_but_makes_none(seed: int) -> None:
    """True genera together cover as much as all names said, in value."""
    where = survey(seed)
    found = share_out_cover(where, posterior(1), np.random.default_rng(1), FEW)
    said = share_out_cover(
        where, np.broadcast_to(np.eye(3), (4, 3, 3)), np.random.default_rng(1), FEW
    )
    assert found.corrected.value.sum() == pytest.approx(said.corrected.value.sum())
    assert found.draws.sum(axis=1) == pytest.approx(said.draws.sum(axis=1))


def test_lengths_of_a_simulated_reef() -> None:
    """True cover is within the intervals; what was said of the first genus is 3 points off.

    Records of one observer on 12 transects, 40 colonies each and of unequal lengths; a quarter
    of the first genus is taken for the second, known from 400 tests.
    """
    rng = np.random.default_rng(9)
    errors = np.array([[0.75, 0.25], [0.05, 0.95]])
    true = rng.random((12, 40)) < 0.4
    said = rng.random((12, 40)) < errors[true.astype(int), 1]
    length = rng.gamma(4, 0.1, (12, 40))
    met = np.stack([(length * ~said).sum(axis=1), (length * said).sum(axis=1)], axis=1)
    truth = np.array([(length * ~true).sum(), (length * true).sum()]) / (12 * 50)
    counts = np.stack([(~said).sum(axis=1), said.sum(axis=1)], axis=1)
    plan = SamplingPlan(sweeps=1000)
    bayes = correct_by_errors(said_counts(counts), 400 * errors[None], rng, plan)
    where = TransectCover(met, np.full(12, 50.0), np.zeros(12, int), np.ones(1))
    found = share_out_cover(where, bayes.given, rng, Resampling(2000))
    assert ((found.corrected.low < truth) & (truth < found.corrected.high)).all()
    assert abs(found.uncorrected.value[0] - truth[0]) > 0.03
    assert abs(found.corrected.value[0] - truth[0]) < 0.02
    assert ((found.identification > 0) & (found.identification < 1)).all()


def faults_of(draws: np.ndarray, where: TransectCover | None = None) -> list[str]:
    """What is refused: place, and what was found there."""
    with pytest.raises(InputError) as caught:
        share_out_cover(where or survey(1), draws, np.random.default_rng(1), FEW)
    return [f"{one.place}: {one.found}" for one in caught.value.faults]


def test_a_name_with_cover_but_no_records_is_refused() -> None:
    """Each such name is named, and with it each row that does not add up to 1."""
    draws = posterior(1)
    draws[:, 0] = 0
    draws[7, 2] = [0.5, 0.4]
    assert faults_of(draws) == ["said 0: none", "given, row 2: 0.9"]


def test_a_name_without_cover_needs_no_records() -> None:
    """A row of noughts is allowed where the name has no cover."""
    draws, where = posterior(1), survey(1)
    draws[:, 2] = 0
    bare = TransectCover(where.met * [1, 1, 0], where.searched, where.stratum, where.weight)
    found = share_out_cover(bare, draws, np.random.default_rng(1), FEW)
    assert np.isfinite(found.corrected.high).all()


def test_a_name_said_in_some_draws_only_is_refused() -> None:
    """A row of noughts in one draw alone is a fault of the draws."""
    draws = posterior(1)
    draws[3, 1] = 0
    assert faults_of(draws) == ["given, row 1: 0"]


def test_what_does_not_fit_is_refused() -> None:
    """Other names, more genera than names, a single draw, no third axis, and not a number."""
    draws = posterior(1)
    assert faults_of(draws[:, :2]) == ["given: (300, 2, 2)"]
    assert faults_of(np.full((5, 3, 4), 0.25)) == ["given: (5, 3, 4)"]
    assert faults_of(draws[:1]) == ["given: (1, 3, 2)"]
    assert faults_of(draws[0]) == ["given: (3, 2)"]
    draws[0, 1, 0] = np.nan
    assert faults_of(draws) == ["given: none at 0, 1, 0"]
