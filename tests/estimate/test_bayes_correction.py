"""The correction by observers' errors against posteriors known otherwise, and its laws."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from corallum.errors import InputError
from corallum.estimate.bayes_correction import (
    BayesCorrection,
    SamplingPlan,
    correct_by_errors,
    said_counts,
)
from corallum.estimate.convergence import Limits, NotConvergedError

FLAT = SamplingPlan(sweeps=3000, most=3000, flat=True)
QUICK = SamplingPlan(chains=2, sweeps=500, most=500, limits=Limits(10.0, 4.0))
# Invented: P(said | true) of three genera, the fourth name being "unidentified".
ERRORS = np.array([[0.8, 0.1, 0.05, 0.05], [0.15, 0.7, 0.05, 0.1], [0.0, 0.2, 0.7, 0.1]])
SHARP = 1e7 * ERRORS[None] + 1e-3


def monte_carlo(found: BayesCorrection, times: float = 4.0) -> np.ndarray:
    """So many Monte Carlo errors of the posterior means of the survey's shares."""
    return np.asarray(times * found.draws.std(axis=0) / np.sqrt(found.diagnostics.size))


@cache
def grid() -> tuple[np.ndarray, np.ndarray]:
    """Shares of three genera at cell centres of the simplex, and log P(said | shares)."""
    ticks = (np.arange(400) + 0.5) / 400
    one, other = np.meshgrid(ticks, ticks)
    inside = one + other < 1
    shares = np.stack([one[inside], other[inside], 1 - one[inside] - other[inside]], axis=1)
    return shares, np.log(shares @ ERRORS)


SAID = np.array([50, 30, 25, 15])


@cache
def by_grid() -> tuple[np.ndarray, np.ndarray]:
    """Grid points and their posterior probabilities for what was said, flat prior."""
    shares, log_said = grid()
    log_weight = log_said @ SAID
    weight = np.exp(log_weight - log_weight.max())
    return shares, weight / weight.sum()


@cache
def sampled() -> BayesCorrection:
    """The same posterior, sampled."""
    return correct_by_errors(said_counts([SAID]), SHARP, np.random.default_rng(1), FLAT)


def test_known_errors_give_the_posterior_of_a_grid() -> None:
    """With errors known sharply, mean and deviation are those of a grid of 80,000 points."""
    found = sampled()
    shares, weight = by_grid()
    mean = weight @ shares
    sd = np.sqrt(weight @ (shares - mean) ** 2)
    assert (np.abs(found.draws.mean(axis=0) - mean) < monte_carlo(found)).all()
    assert found.draws.std(axis=0) == pytest.approx(sd, rel=0.08)
    # Negative control: shares said, unidentified left out, are far from it.
    said = SAID[:3] / SAID[:3].sum()
    assert (np.abs(said - mean) > monte_carlo(found)).any()


def test_known_errors_give_the_interval_of_a_grid() -> None:
    """Ends of the 95 % interval are the grid's quantiles, to a fifth of a deviation."""
    found = sampled().survey()
    shares, weight = by_grid()
    for g in range(3):
        order = np.argsort(shares[:, g])
        levels = np.cumsum(weight[order])
        ends = [shares[order[np.searchsorted(levels, p)], g] for p in (0.025, 0.975)]
        got = [float(found.low[g]), float(found.high[g])]
        assert got == pytest.approx(ends, abs=0.2 * float(found.se[g]))


def test_what_names_truly_are_is_bayes_rule() -> None:
    """Mean P(true | said) is that of pi_g P(said | g) / sum over the grid's posterior."""
    shares, weight = by_grid()
    joint = shares[:, None, :] * ERRORS.T[None]
    expected = np.einsum("n,nkg->kg", weight, joint / joint.sum(axis=2, keepdims=True))
    given = sampled().given
    # Four Monte Carlo errors: kept draws are some 1,300, of deviations up to .13.
    assert given.mean(axis=0) == pytest.approx(expected, abs=0.02)
    assert np.abs(np.eye(4)[:, :3] - expected).max() > 0.1


def test_what_names_truly_are_goes_with_the_shares() -> None:
    """Kept draws belong together: said shares times P(true | said) follow the true shares.

    Given true counts of n records, shares p are Dirichlet(counts + 1), so the squared
    correlation is 1 - E[p (1 - p)] / (n + 3) / Var(p); draws of other sweeps have none.
    """
    found = sampled()
    assert found.given.shape == (len(found.place_draws), 4, 3)
    counted = (SAID / SAID.sum()) @ found.given
    shares, weight = by_grid()
    p = shares[:, 0]
    within = weight @ (p * (1 - p)) / (SAID.sum() + 3)
    expected = np.sqrt(1 - within / (weight @ p**2 - (weight @ p) ** 2))
    one = np.corrcoef(counted[:, 0], found.place_draws[:, 0, 0])[0, 1]
    other = np.corrcoef(counted[::-1, 0], found.place_draws[:, 0, 0])[0, 1]
    assert one == pytest.approx(expected, abs=0.06)
    assert abs(other) < 0.2


def test_right_names_give_the_conjugate_posterior() -> None:
    """Without errors the posterior is Dirichlet(counts + 1), and what is said is true."""
    rows = np.full((1, 3, 3), 1e-6) + 1e7 * np.eye(3)
    counts = np.array([40, 9, 1])
    found = correct_by_errors(said_counts([counts]), rows, np.random.default_rng(2), FLAT)
    a = counts + 1
    mean = a / a.sum()
    sd = np.sqrt(mean * (1 - mean) / (a.sum() + 1))
    assert (np.abs(found.draws.mean(axis=0) - mean) < monte_carlo(found)).all()
    assert found.draws.std(axis=0) == pytest.approx(sd, rel=0.05)
    assert found.given == pytest.approx(np.broadcast_to(np.eye(3), found.given.shape))


def test_all_records_read_again_leave_nothing_to_correct() -> None:
    """With every record read again P(true | said) is their table, shares Dirichlet."""
    table = np.array([[12, 3, 0], [2, 8, 0], [0, 1, 4], [2, 2, 1]])
    said, true = np.nonzero(table)
    times = table[said, true]
    again = np.stack(
        [np.zeros(times.sum()), np.repeat(said, times), np.repeat(true, times)], axis=1
    )
    counts = said_counts([table.sum(axis=1)], read_again=again)
    found = correct_by_errors(counts, np.ones((1, 3, 4)), np.random.default_rng(3), FLAT)
    exact = table / table.sum(axis=1, keepdims=True)
    assert found.given == pytest.approx(np.broadcast_to(exact, found.given.shape), abs=1e-6)
    a = table.sum(axis=0) + 1
    assert (np.abs(found.draws.mean(axis=0) - a / a.sum()) < monte_carlo(found)).all()


def test_rows_of_names_add_up_to_one() -> None:
    """In every draw a name that was said has a row that adds up to 1, another noughts."""
    counts = said_counts([[9, 0, 4, 2], [3, 0, 8, 1]], observer=[0, 1])
    rows = np.repeat(20 * ERRORS[None] + 1, 2, axis=0)
    found = correct_by_errors(counts, rows, np.random.default_rng(4), QUICK)
    sums = found.given.sum(axis=2)
    assert sums[:, [0, 2, 3]] == pytest.approx(1, abs=1e-6)
    assert (sums[:, 1] == 0).all()


def test_order_of_genera_does_not_matter() -> None:
    """Genera listed otherwise have the same posterior, to Monte Carlo error."""
    order = [2, 0, 1]
    rows = SHARP[:, order][:, :, [*order, 3]]
    other = correct_by_errors(
        said_counts([SAID[[*order, 3]]]), rows, np.random.default_rng(5), FLAT
    )
    apart = np.abs(other.draws.mean(axis=0) - sampled().draws.mean(axis=0)[order])
    assert (apart < np.hypot(monte_carlo(other), monte_carlo(sampled())[order])).all()


def test_places_without_much_lean_on_the_others() -> None:
    """A place of 4 records among nine that are alike is drawn to them, but not by itself."""
    counts = said_counts([*[[30, 10]] * 9, [0, 4]])
    rows = np.full((1, 2, 2), 1e-3) + 1e6 * np.eye(2)
    plan = SamplingPlan(chains=2, sweeps=500, limits=Limits(1.1, 50.0))
    pooled = correct_by_errors(counts, rows, np.random.default_rng(6), plan)
    flat = SamplingPlan(chains=2, sweeps=500, flat=True)
    alone = correct_by_errors(counts, rows, np.random.default_rng(6), flat)
    # By itself: Dirichlet(1, 5), mean 1/6.
    assert float(alone.place_draws[:, 9, 0].mean()) == pytest.approx(1 / 6, abs=0.02)
    assert 0.3 < float(pooled.place_draws[:, 9, 0].mean()) < 0.75
    assert pooled.survey().se[0] < alone.survey().se[0]


def simulated(seed: int, size: int = 12) -> tuple[BayesCorrection, np.ndarray, np.ndarray]:
    """A reef of six places and two observers drawn from the priors; its shares, what was said."""
    rng = np.random.default_rng(seed)
    mean, strength = rng.dirichlet(np.ones(size)), rng.gamma(1, 1 / 0.02)
    true = rng.dirichlet(strength * mean + 1e-9, 6)
    rows = np.ones((2, size, size)) * 0.3 + 30 * np.eye(size)
    rows += 6 * np.roll(np.eye(size), 1, axis=1)
    errors = np.array([[rng.dirichlet(row) for row in one] for one in rows])
    place, observer = np.repeat(np.arange(6), 2), np.tile([0, 1], 6)
    said = [rng.multinomial(40, true[p] @ errors[o]) for p, o in zip(place, observer, strict=True)]
    plan = SamplingPlan(chains=2, sweeps=600, most=600, limits=Limits(10.0, 4.0))
    counts = said_counts(said, place, observer)
    return correct_by_errors(counts, rows, rng, plan), true.mean(axis=0), np.sum(said, axis=0)


def test_intervals_hold_the_shares_and_uncorrected_ones_do_not() -> None:
    """Of 12 genera on 12 simulated reefs, 90 % or more of 95 % intervals hold the true share.

    Reefs are drawn from the priors, where Bayesian intervals hold as often as they say; four
    standard errors of 144 are 7 points. A normal interval of the share said, the control,
    holds fewer than 75 %.
    """
    held, control = [], []
    for seed in range(12):
        found, truth, said = simulated(seed)
        one = found.survey()
        held.append((one.low <= truth) & (truth <= one.high))
        share = said / said.sum()
        half = 1.96 * np.sqrt(share * (1 - share) / said.sum())
        control.append(np.abs(share - truth) <= half)
    assert np.mean(held) >= 0.9
    assert np.mean(control) < 0.75


def test_chains_that_do_not_agree_are_refused() -> None:
    """After 15 sweeps genera that are named alike have not converged, and are named."""
    rows = np.full((1, 3, 3), 0.5)
    plan = SamplingPlan(sweeps=15, most=15)
    with pytest.raises(NotConvergedError, match="not converged for genus") as caught:
        correct_by_errors(said_counts([[200, 100, 300]]), rows, np.random.default_rng(7), plan)
    assert set(caught.value.names) <= {"genus 0", "genus 1", "genus 2"}


def test_sampling_goes_on_until_chains_agree() -> None:
    """Where the first sweeps do not do, more are made, and progress ends at 1."""
    told: list[float] = []
    found = correct_by_errors(
        said_counts([SAID]), SHARP, np.random.default_rng(8), SamplingPlan(sweeps=20, flat=True),
        progress=told.append,
    )  # fmt: skip
    assert 20 < found.sweeps < 6000
    assert found.diagnostics.converged.all()
    assert told[-1] == 1
    assert told[:-1] == sorted(told[:-1])


def test_the_same_seed_gives_the_same_draws() -> None:
    """Nothing but the generator decides."""
    one, other = (
        correct_by_errors(said_counts([SAID]), SHARP, np.random.default_rng(9), QUICK)
        for _ in range(2)
    )
    assert np.array_equal(one.draws, other.draws)
    assert np.array_equal(one.given, other.given)


PLACES = said_counts([[30, 10], [10, 30], [25, 15], [5, 35]])
TWO = np.full((1, 2, 2), 1.0) + 40 * np.eye(2)


def test_the_survey_is_the_weighted_mean_of_places() -> None:
    """Weights count as shares of their sum, and a place of weight 0 does not count."""
    found = correct_by_errors(PLACES, TWO, np.random.default_rng(1), QUICK, weight=[2, 6, 0, 0])
    expected = found.places().value[:2, 0] @ [0.25, 0.75]
    assert found.weight == pytest.approx([0.25, 0.75, 0, 0])
    assert float(found.survey().value[0]) == pytest.approx(float(expected), abs=0.03)
    assert found.said[:, 0] == pytest.approx([0.75, 0.25, 0.625, 0.125])


def test_the_reef_is_less_sure_than_the_places() -> None:
    """Draws for the reef have the same mean, but also the spread between places.

    The spread of places that were resampled one fewer is the unbiased one (Rao and Wu 1988).
    """
    found = correct_by_errors(PLACES, TWO, np.random.default_rng(1), QUICK)
    reef = found.reef_draws([0, 0, 0, 0], np.random.default_rng(2))
    assert reef.mean(axis=0) == pytest.approx(found.draws.mean(axis=0), abs=0.02)
    means = found.place_draws[:, :, 0].mean(axis=0)
    between = means.var(ddof=1) / 4
    within = found.draws[:, 0].var()
    assert reef[:, 0].var() == pytest.approx(between + within, rel=0.25)
    assert reef[:, 0].std() > 1.5 * found.draws[:, 0].std()


def test_a_stratum_of_one_place_tells_nothing_of_the_reef() -> None:
    """It is refused by number."""
    found = correct_by_errors(PLACES, TWO, np.random.default_rng(1), QUICK)
    with pytest.raises(InputError, match="stratum 1: expected at least 2 places"):
        found.reef_draws([0, 0, 0, 1], np.random.default_rng(2))


def run(counts: object, rows: object = TWO, plan: SamplingPlan = QUICK, **more: object) -> object:
    """Correct, whatever was given."""
    return correct_by_errors(counts, rows, np.random.default_rng(1), plan, **more)  # type: ignore[arg-type]  # bad on purpose


@pytest.mark.parametrize(
    ("call", "places"),
    [
        pytest.param(
            lambda: run(said_counts([[1.5, 2], [0, 0]], observer=[0, 3], read_again=[[0, 9, 9]])),
            ["said", "observer", "second readings"],
            id="parts-no-row-read-unknown",
        ),
        pytest.param(
            lambda: run(said_counts([[1.5, 2]]), TWO * 0, SamplingPlan(0, 3, 5)),
            ["chains", "sweeps", "sweeps at most", "rows", "said"],
            id="plan-rows-parts",
        ),
        pytest.param(
            lambda: run(said_counts([[1, 2], [0, 0], [0, 0]])),
            ["place 1", "place 2"],
            id="empty-places",
        ),
        pytest.param(lambda: run(PLACES, np.ones((1, 3, 2))), ["rows"], id="more-genera"),
        pytest.param(lambda: run(PLACES, np.ones((2, 2))), ["rows"], id="two-axes"),
        pytest.param(lambda: run(PLACES, weight=[1, 2]), ["weight"], id="weights"),
        pytest.param(lambda: run(said_counts([4, 5])), ["said"], id="one-axis"),
        pytest.param(
            lambda: run(said_counts([[4, 5]], place=[0, 1], observer=[-1])),
            ["place", "observer"],
            id="numbers",
        ),
        pytest.param(
            lambda: run(said_counts([[1, 5]], read_again=[[0, 0, 0], [0, 0, 1]])),
            ["second readings of cell 0, said 0"],
            id="read-more-than-there-are",
        ),
        pytest.param(
            lambda: run(said_counts([[1, 5]], read_again=[[0, 2, 0]])),
            ["second readings"],
            id="read-unknown",
        ),
        pytest.param(
            lambda: said_counts([[1, 5]], read_again=[0, 1]), ["second readings"], id="pairs"
        ),
        pytest.param(lambda: said_counts([[1, -5]]), ["said"], id="minus"),
    ],
)
def test_what_does_not_fit_is_refused_at_once(
    call: Callable[[], object], places: list[str]
) -> None:
    """Faults that can be told together are."""
    with pytest.raises(InputError) as caught:
        call()
    assert [one.place for one in caught.value.faults] == places
