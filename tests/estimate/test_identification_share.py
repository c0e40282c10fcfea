"""Laws of cover corrected by second readings, transects and readings both resampled."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.identification_share import (
    CorrectedCover,
    Readings,
    Resampling,
    TransectCover,
    correct_cover,
)
from corallum.estimate.ratio import estimate_ratio
from corallum.estimate.said_and_true import estimate_said_and_true
from corallum.estimate.stratified import estimate_stratified

seeds = st.integers(0, 2**32 - 1)
TABLE = np.array([[40, 10, 0], [5, 40, 5], [0, 5, 45]])
FEW = Resampling(400)


def survey(seed: int, *, same: bool = False) -> TransectCover:
    """Five transects in one stratum and four in another, of one length, three genera."""
    rng = np.random.default_rng(seed)
    met = rng.uniform(5, 25, (9, 3))
    if same:
        met[:] = [20.0, 10.0, 15.0]
    return TransectCover(met, np.full(9, 100.0), np.repeat([0, 1], [5, 4]), np.array([1.0, 3.0]))


def corrected(
    where: TransectCover, table: np.ndarray = TABLE, draws: int = 400, seed: int = 1
) -> CorrectedCover:
    """Cover corrected by a table, with a seed of its own."""
    return correct_cover(where, Readings(table), np.random.default_rng(seed), Resampling(draws))


def test_without_errors_of_names_the_formula_between_transects_stands() -> None:
    """With all readings right cover is not changed, its error is the stratified one."""
    where = survey(2)
    found = corrected(where, np.diag([9, 9, 9]), 20_000)
    expected = estimate_stratified(where.met / 100, where.stratum, where.weight).survey
    assert found.corrected.value == pytest.approx(expected.value)
    assert np.array_equal(found.draws, found.uncorrected_draws)
    assert found.identification == pytest.approx([0, 0, 0], abs=1e-15)
    # Four Monte Carlo errors of a standard deviation of 20,000 draws are 2 %.
    assert found.corrected.se == pytest.approx(expected.se)
    assert found.draws.std(axis=0) == pytest.approx(expected.se, rel=0.02)


def test_without_spread_of_transects_the_formula_of_readings_stands() -> None:
    """On transects that are all alike the error is that of said and true, and all of names."""
    found = corrected(survey(2, same=True), draws=20_000)
    said = np.array([0.20, 0.10, 0.15])
    expected = estimate_said_and_true(TABLE, weight=said).shares
    assert found.corrected.value == pytest.approx(0.45 * expected.value)
    assert found.corrected.se == pytest.approx(0.45 * expected.se)
    # Four Monte Carlo errors of a standard deviation of 20,000 draws are 2 %.
    assert found.draws.std(axis=0) == pytest.approx(0.45 * expected.se, rel=0.02)
    assert found.identification == pytest.approx([1, 1, 1])
    assert found.uncorrected.se == pytest.approx([0, 0, 0], abs=1e-12)


def test_both_levels_add_up() -> None:
    """The variance is that of transects plus that of readings, but for the small product."""
    where = survey(4)
    found = corrected(where, draws=20_000)
    given_ = TABLE / TABLE.sum(axis=1, keepdims=True)
    by_transect = estimate_stratified(where.met / 100 @ given_, where.stratum, where.weight).survey
    said = estimate_stratified(where.met / 100, where.stratum, where.weight).survey.value
    by_names = said.sum() * estimate_said_and_true(TABLE, weight=said).shares.se
    total = by_transect.se**2 + by_names**2
    assert found.corrected.se**2 == pytest.approx(total)
    assert found.identification == pytest.approx(by_names**2 / total)
    # Monte Carlo error, and the product of both variances, which the sum leaves out.
    assert found.draws.std(axis=0) == pytest.approx(np.sqrt(total), rel=0.05)


def read_again_on_transects(seed: int, part: float) -> tuple[TransectCover, np.ndarray, np.ndarray]:
    """Ten transects of counts, true ones, and second readings of a part of what was said.

    One genus is taken for the next in a quarter of the records, but in half on one transect.
    """
    rng = np.random.default_rng(seed)
    searched = rng.integers(300, 600, 10)
    true = rng.poisson(searched[:, None] * [0.3, 0.2, 0.1])
    rate = np.where(np.arange(10) == 4, 0.5, 0.25)
    pairs = np.zeros((10, 3, 3), int)
    for g in range(3):
        wrong = rng.binomial(true[:, g], rate)
        pairs[:, g, g] = true[:, g] - wrong
        pairs[:, (g + 1) % 3, g] = wrong
    where = TransectCover(
        pairs.sum(axis=2).astype(float), searched.astype(float), np.zeros(10, int), np.ones(1)
    )
    return where, true, rng.binomial(pairs, part)


def test_all_records_read_again_leave_the_spread_of_true_cover() -> None:
    """With every record read again on its transect, cover and error are those of true counts.

    The error to 2 %, which the factor for few readings adds.
    """
    where, true, readings = read_again_on_transects(3, 1.0)
    found = correct_cover(where, Readings(readings), np.random.default_rng(1), Resampling(20_000))
    expected = estimate_ratio(true, where.searched)
    assert found.corrected.value == pytest.approx(expected.value)
    assert found.corrected.se == pytest.approx(expected.se, rel=0.02)
    assert found.draws.std(axis=0) == pytest.approx(expected.se, rel=0.04)


def test_where_readings_came_from_counts_where_errors_differ() -> None:
    """Transects of the readings known, the figure is the same; the error is another one."""
    where, _, readings = read_again_on_transects(3, 0.5)
    known, unknown = (
        correct_cover(where, Readings(table), np.random.default_rng(1), FEW)
        for table in (readings, readings.sum(axis=0))
    )
    assert known.corrected.value == pytest.approx(unknown.corrected.value)
    assert known.uncorrected.se == pytest.approx(unknown.uncorrected.se)
    assert np.abs(known.corrected.se / unknown.corrected.se - 1).max() > 0.1


@settings(max_examples=25, deadline=None)
@given(seed=seeds, unit=st.floats(0.01, 100), area=st.floats(0.01, 100))
def test_units_do_not_matter(seed: int, unit: float, area: float) -> None:
    """Lengths in another unit and areas in another unit give the same draws."""
    where = survey(seed)
    other = TransectCover(
        where.met * unit, where.searched * unit, where.stratum, where.weight * area
    )
    assert corrected(other).draws == pytest.approx(corrected(where).draws, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_order_of_genera_does_not_matter(seed: int) -> None:
    """Genera listed otherwise have the same cover, and uncorrected draws, listed otherwise."""
    where, order = survey(seed), np.random.default_rng(seed).permutation(3)
    other = TransectCover(where.met[:, order], where.searched, where.stratum, where.weight)
    one, two = corrected(where), corrected(other, TABLE[np.ix_(order, order)])
    assert two.corrected.value == pytest.approx(one.corrected.value[order])
    assert two.uncorrected_draws == pytest.approx(one.uncorrected_draws[:, order])


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_order_of_transects_does_not_matter(seed: int) -> None:
    """Transects listed otherwise have the same cover, and errors to Monte Carlo error."""
    where, order = survey(seed), np.random.default_rng(seed).permutation(9)
    other = TransectCover(
        where.met[order], where.searched[order], where.stratum[order], where.weight
    )
    one, two = corrected(where, draws=3000), corrected(other, draws=3000)
    assert two.corrected.value == pytest.approx(one.corrected.value)
    assert two.corrected.se == pytest.approx(one.corrected.se)
    # Five Monte Carlo errors of the ratio of two deviations of 3,000 draws.
    assert two.draws.std(axis=0) == pytest.approx(one.draws.std(axis=0), rel=0.092)


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_correction_moves_cover_but_makes_none(seed: int) -> None:
    """All genera together cover as much after correction as before, in every draw."""
    found = corrected(survey(seed))
    total = found.uncorrected_draws.sum(axis=1)
    assert found.draws.sum(axis=1) == pytest.approx(total)


def test_what_two_surveys_share_cancels() -> None:
    """Two surveys of like transects on the same readings and seed differ by nothing."""
    one, other = (
        correct_cover(
            survey(2, same=True),
            Readings(TABLE),
            np.random.default_rng(seed),
            FEW,
            readings_rng=np.random.default_rng(8),
        )
        for seed in (1, 2)
    )
    assert other.draws == pytest.approx(one.draws, abs=1e-12)
    unlike = corrected(survey(2, same=True), seed=3)
    assert np.abs(unlike.draws - one.draws).max() > 0.01


def test_rare_genera_may_share_their_readings() -> None:
    """Two genera that share a row of 30 and 10 are each shared out 3 to 1 (by hand)."""
    where = survey(2, same=True)
    readings = Readings(np.array([[40.0, 0, 0], [0, 30, 10]]), np.array([0, 1, 1]))
    found = correct_cover(where, readings, np.random.default_rng(1), FEW)
    assert found.corrected.value == pytest.approx([0.2, 0.25 * 0.75, 0.25 * 0.25])


def test_a_wider_level_is_a_wider_interval() -> None:
    """The 99 % interval holds the 90 % one."""
    where = survey(5)
    wide, narrow = (
        correct_cover(where, Readings(TABLE), np.random.default_rng(1), Resampling(2000, level))
        for level in (0.99, 0.9)
    )
    assert (wide.corrected.low < narrow.corrected.low).all()
    assert (wide.corrected.high > narrow.corrected.high).all()


def test_the_same_seed_gives_the_same_draws() -> None:
    """Nothing but the generators decides, and progress ends at 1."""
    told: list[float] = []
    rng = np.random.default_rng(1)
    one = correct_cover(survey(5), Readings(TABLE), rng, FEW, progress=told.append)
    assert np.array_equal(one.draws, corrected(survey(5)).draws)
    assert told == [0.5, 1.0]


def test_intervals_hold_the_cover_and_uncorrected_ones_do_not() -> None:
    """Of 300 surveys 90 % or more of 95 % intervals hold the truth, uncorrected 60 % or fewer.

    Eight transects of unequal length, cover that varies between them, 50 readings a genus.
    Four standard errors of 95 % of 300 are 5 points.
    """
    rng = np.random.default_rng(6)
    given_ = np.array([[0.7, 0.3, 0.0], [0.05, 0.9, 0.05], [0.0, 0.2, 0.8]])
    said = np.array([0.2, 0.1, 0.05])
    truth = said @ given_
    held, control = np.zeros(3), np.zeros(3)
    for _ in range(300):
        length = rng.uniform(20, 60, 8)
        met = said * rng.gamma(20, 1 / 20, (8, 3)) * length[:, None]
        where = TransectCover(met, length, np.zeros(8, int), np.ones(1))
        table = np.array([rng.multinomial(50, row) for row in given_])
        found = correct_cover(where, Readings(table), rng, FEW)
        held += (found.corrected.low <= truth) & (truth <= found.corrected.high)
        control += (found.uncorrected.low <= truth) & (truth <= found.uncorrected.high)
    assert (held / 300).min() >= 0.9
    assert (control / 300).min() < 0.6


def faults_of(where: TransectCover, readings: Readings, plan: Resampling = FEW) -> list[str]:
    """What is refused: place, and what was expected there."""
    with pytest.raises(InputError) as caught:
        correct_cover(where, readings, np.random.default_rng(1), plan)
    return [f"{one.place}: {one.expected}" for one in caught.value.faults]


def test_said_genera_without_second_readings_are_named() -> None:
    """Every genus met but not read again twice is named; one not met needs none."""
    where = survey(5)
    table = np.array([[1, 0, 0], [0, 0, 0], [0, 0, 30]])
    assert [one.split(":")[0] for one in faults_of(where, Readings(table))] == ["said 0", "said 1"]
    absent = TransectCover(where.met * [0, 0, 1], where.searched, where.stratum, where.weight)
    value = correct_cover(absent, Readings(table), np.random.default_rng(1), FEW).corrected.value
    assert (value[:2] == 0).all()
    assert value[2] > 0


def test_strata_of_one_transect_are_named() -> None:
    """Every stratum with weight that has fewer than two transects is named."""
    where = survey(5)
    stratum = np.array([0, 0, 0, 0, 0, 0, 0, 0, 1])
    alone = TransectCover(where.met, where.searched, stratum, np.array([1.0, 3.0, 2.0]))
    assert faults_of(alone, Readings(TABLE)) == [
        "stratum 1: at least 2 transects",
        "stratum 2: at least 2 transects",
    ]


def test_what_does_not_fit_is_refused() -> None:
    """Shapes, lengths of nothing, parts of readings, weights of nothing and few draws."""
    where = survey(5)
    met, searched, stratum, weight = where.met, where.searched, where.stratum, where.weight
    short = TransectCover(met, np.zeros(8), stratum, weight)
    nothing = TransectCover(met, searched, stratum, np.zeros(2))
    assert faults_of(short, Readings(TABLE)) == ["searched: 9 numbers", "searched: above 0"]
    assert faults_of(nothing, Readings(TABLE)) == ["weight: some above 0"]
    assert faults_of(where, Readings(TABLE[:, :2] / 2)) == [
        "readings: 3 columns",
        "readings: whole numbers",
    ]
    assert faults_of(where, Readings(TABLE[:2])) == ["readings: 3 rows"]
    assert faults_of(where, Readings(TABLE), Resampling(1)) == ["resamples: 2 or more"]
    assert faults_of(where, Readings(TABLE), Resampling(400, 95)) == ["level: between 0 and 1"]
