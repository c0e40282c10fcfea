"""Which genera are taken for which: rows, shrinking, and the worst pair."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar
from scipy.stats import beta, dirichlet
from told import Pair, pair

from corallum.model.prior import genus_prior
from corallum.observers.genus_confusions import (
    GROUP_WORTH,
    MODEL_WORTH,
    GenusConfusions,
    learn_confusions,
    simulated_confusions,
)
from corallum.practice.beside import genera_said
from support import compiled, determiner

G = len(compiled().genera)
REGION = "red_sea"


def number(genus: str) -> int:
    """Index of a genus; the one past the last is something else."""
    return compiled().genera.index(genus)


@cache
def shares() -> NDArray[np.float64]:
    """Shares of the genera in the survey."""
    found: NDArray[np.float64] = genus_prior(compiled(), REGION)[:-1]
    return found


@cache
def model() -> NDArray[np.float64]:
    """The model's own mix-ups, from three colonies a genus."""
    prior = genus_prior(compiled(), REGION)
    return simulated_confusions(determiner().kernel, prior, np.random.default_rng(1), each=3)


def answers(*said: tuple[str, tuple[str, ...], int]) -> list[Pair]:
    """True genus, what was named, how often."""
    found = []
    for genus, named, times in said:
        item, answer = pair({}, {}, genus)
        answer = type(answer)(named, 0.8)
        found += [(item, answer)] * times
    return found


def learned(*people: list[Pair]) -> list[GenusConfusions]:
    """Rows of some observers."""
    said = [genera_said(compiled(), pairs) for pairs in people]
    return learn_confusions(model(), [one[0] for one in said], [one[1] for one in said])


def test_the_models_own_rows_add_up() -> None:
    """Every row of the model's mix-ups is a distribution, mostly on the diagonal."""
    assert model().shape == (G, G + 1)
    assert model().min() >= 0
    np.testing.assert_allclose(model().sum(axis=1), 1, rtol=0, atol=1e-9)
    right = np.diagonal(model())
    assert (shares() @ right) / shares().sum() > 3 * float((shares() ** 2).sum())


def test_answers_are_shared_among_the_genera_named() -> None:
    """A set counts a half for each of two; no genus named is something else."""
    true, said = genera_said(
        compiled(), answers(("Favites", ("Favites", "Goniastrea"), 1), ("Porites", (), 1))
    )
    assert true.tolist() == [number("Favites"), number("Porites")]
    assert said[0, [number("Favites"), number("Goniastrea")]].tolist() == [0.5, 0.5]
    assert said[1, G] == 1
    np.testing.assert_allclose(said.sum(axis=1), 1)


def test_rows_add_up() -> None:
    """A row is worth the group's answers and one's own; the group's rows are distributions."""
    own = answers(("Favites", ("Goniastrea",), 4), ("Favites", ("Favites",), 3))
    (found,) = learned(own)
    np.testing.assert_allclose(found.group.sum(axis=1), 1, rtol=0, atol=1e-9)
    expected = np.full(G, GROUP_WORTH)
    expected[number("Favites")] += 7
    np.testing.assert_allclose(found.counts.sum(axis=1), expected, rtol=0, atol=1e-9)
    assert found.seen.sum() == 7


def shifted(row: NDArray[np.float64], t: int, right: int, wrong: int) -> NDArray[np.float64]:
    """A row after answers to its genus alone, by a search over the shift of its log odds."""
    odds = float(np.log(row[t] / (1 - row[t])))

    def loss(shift: float) -> float:
        chance = 1 / (1 + np.exp(-odds - shift))
        return float(shift**2 / 2 - right * np.log(chance) - wrong * np.log(1 - chance))

    moved = 1 / (1 + np.exp(-odds - minimize_scalar(loss, bounds=(-5, 5), method="bounded").x))
    found: NDArray[np.float64] = row * (1 - moved) / (1 - row[t])
    found[t] = moved
    return found


# The shift is taken off a grid of steps of .025.
STEP = 4e-3


def test_the_group_leaves_ones_own_answers_out() -> None:
    """Alone, a member is shrunk to the model; with others, to the model and the others."""
    mine = answers(("Favites", ("Goniastrea",), 9))
    theirs = answers(("Favites", ("Favites",), 5))
    t = number("Favites")
    (alone,) = learned(mine)
    np.testing.assert_allclose(alone.group[t], model()[t], rtol=0, atol=1e-9)
    first, _ = learned(mine, theirs)
    row = MODEL_WORTH * shifted(model()[t], t, 5, 0)
    row[t] += 5
    np.testing.assert_allclose(first.group[t], row / (MODEL_WORTH + 5), rtol=0, atol=STEP)


def test_being_right_more_often_than_expected_moves_every_genus() -> None:
    """Who names one genus right time and again is trusted more with genera not yet shown."""
    t, other = number("Favites"), number("Goniastrea")
    (found,) = learned(answers(("Favites", ("Favites",), 12)))
    row = GROUP_WORTH * shifted(model()[t], t, 12, 0)
    row[t] += 12
    np.testing.assert_allclose(found.counts[t], row, rtol=0, atol=GROUP_WORTH * STEP)
    assert found.counts[other, other] / GROUP_WORTH > model()[other, other]
    (wrong,) = learned(answers(("Favites", ("Goniastrea",), 12)))
    assert wrong.counts[other, other] / GROUP_WORTH < model()[other, other]


def test_nobody_is_learned_of_nobody() -> None:
    """Without members there are no rows."""
    assert learn_confusions(model(), [], []) == []


def test_the_worst_pair_is_the_one_mixed_up() -> None:
    """Two genera taken for each other in most answers are the pair, in either direction."""
    own = answers(
        ("Favites", ("Goniastrea",), 6), ("Goniastrea", ("Favites",), 5),
        ("Goniastrea", ("Goniastrea",), 2), ("Porites", ("Montipora",), 1),
        ("Porites", ("Porites",), 20), ("Acropora", ("Acropora",), 20),
    )  # fmt: skip
    found = learned(own)[0].worst_pair(compiled(), shares())
    assert found is not None
    assert set(found[:2]) == {"Favites", "Goniastrea"}
    assert found[2] == 11


def test_who_mixes_up_nothing_has_no_worst_pair() -> None:
    """Right answers only show no pair, and neither do answers of something else."""
    for named in (("Favites",), ()):
        (found,) = learned(answers(("Favites", named, 9)))
        assert found.worst_pair(compiled(), shares()) is None


def test_confusions_are_listed_by_their_cost() -> None:
    """Mean and interval are the beta's; cost is colonies in a hundred of the survey."""
    own = answers(("Favites", ("Goniastrea",), 3), ("Favites", ("Favites",), 3), ("Porites", (), 1))
    (found,) = learned(own)
    listed = found.worst(compiled(), shares())
    assert [one.cost for one in listed] == sorted((one.cost for one in listed), reverse=True)
    assert {(one.true, one.said) for one in listed} == {
        ("Favites", "Goniastrea"), ("Porites", "something else"),
    }  # fmt: skip
    one = next(one for one in listed if one.true == "Favites")
    t, s = number("Favites"), number("Goniastrea")
    a = float(found.counts[t, s])
    b = GROUP_WORTH + 6 - a
    assert (one.times, one.looks) == (3, 6)
    assert one.mean == pytest.approx(a / (a + b), rel=1e-9)
    np.testing.assert_allclose((one.low, one.high), beta.ppf([0.05, 0.95], a, b), rtol=1e-7)
    assert one.cost == pytest.approx(100 * shares()[t] / shares().sum() * one.mean, rel=1e-9)


def test_accuracy_is_the_mean_over_the_surveys_mix() -> None:
    """With the shift of all rows known, mean and spread agree with draws from the Dirichlets."""
    own = answers(("Favites", ("Goniastrea",), 4), ("Porites", ("Porites",), 8))
    (found,) = learned(own)
    mix = np.zeros(G)
    mix[[number("Favites"), number("Porites")]] = 3, 1
    mean, sd = replace(found, shift_sd=0.0).accuracy(mix)
    rng = np.random.default_rng(2)
    right = np.zeros(40_000)
    for genus, weight in (("Favites", 0.75), ("Porites", 0.25)):
        t = number(genus)
        row = found.counts[t]
        kept = np.array([row[t], row.sum() - row[t]])
        right += weight * dirichlet.rvs(kept, 40_000, random_state=rng)[:, 0]
    assert mean == pytest.approx(right.mean(), abs=5 * sd / 200)
    assert sd == pytest.approx(right.std(), rel=0.03)


def test_what_is_not_known_of_the_shift_widens_the_accuracy() -> None:
    """Genera are not independent: one doubt about all of them stays however many there are."""
    (few,) = learned(answers(("Favites", ("Favites",), 6)))
    (many,) = learned(answers(("Favites", ("Favites",), 150)))
    even = np.ones(G)
    assert few.shift_sd > 2 * many.shift_sd > 0
    # The prior normal(0, 1) of the shift is the most that six right answers can leave.
    assert few.shift_sd < 1
    assert few.accuracy(even)[1] > 3 * replace(few, shift_sd=0.0).accuracy(even)[1]
