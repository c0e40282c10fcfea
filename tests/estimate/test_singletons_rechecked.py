"""Richness with genera met once looked at again."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.errors import InputError
from corallum.estimate.singletons import NOT_NAMED, recheck_singletons, summarise_richness

# Nine genera of the list, the last two not met; four met once. Invented.
COUNTS = [20, 9, 4, 2, 1, 1, 1, 1, 0]


def test_a_wrong_singleton_joins_its_genus() -> None:
    """A colony found to be of a common genus leaves one genus and one singleton fewer."""
    found = recheck_singletons(COUNTS, [4], [0])
    assert found.counts.tolist() == [21, 9, 4, 2, 0, 1, 1, 1, 0]
    assert (found.said.met, found.rechecked.met) == (8, 7)
    assert (found.said.once, found.rechecked.once) == (4, 3)


def test_both_figures_stand_side_by_side() -> None:
    """With half of the singletons wrong, Chao1 falls from 8 + 38/39 * 8 to 6 + 38/39 * 2.

    By hand: f1 4 and f2 1 as said; f1 2 and f2 1 after.
    """
    found = recheck_singletons(COUNTS, [4, 5, 6, 7], [0, 0, 6, 7])
    assert found.said.chao1.value == pytest.approx(8 + 38 / 39 * 8)
    assert found.rechecked.chao1.value == pytest.approx(6 + 38 / 39 * 2)
    assert (found.singletons, found.looked_at, found.confirmed, found.not_named) == (4, 4, 2, 0)
    assert found.rechecked.coverage > found.said.coverage


def test_a_singleton_may_become_another() -> None:
    """A colony found to be of a genus not met before keeps the richness as it was."""
    found = recheck_singletons(COUNTS, [4], [8])
    assert found.rechecked.met == 8
    assert found.rechecked.once == 4
    assert found.confirmed == 0


def test_two_singletons_of_one_genus_make_a_doubleton() -> None:
    """Two colonies found to be of one genus not met before are met twice."""
    found = recheck_singletons(COUNTS, [4, 5], [8, 8])
    assert (found.rechecked.once, found.rechecked.twice) == (2, 2)


def test_two_singletons_may_change_places() -> None:
    """What was said of each of two, found of the other, leaves every count as it was."""
    found = recheck_singletons(COUNTS, [4, 5], [5, 4])
    assert found.counts.tolist() == COUNTS
    assert found.rechecked == found.said
    assert found.confirmed == 0


def test_what_could_not_be_named_leaves_the_counts() -> None:
    """A colony that a second look can't name is no genus, and is told of."""
    found = recheck_singletons(COUNTS, [4], [NOT_NAMED])
    assert (int(found.counts.sum()), found.not_named) == (38, 1)


def test_nothing_looked_at_changes_nothing() -> None:
    """Without second looks both figures are one."""
    found = recheck_singletons(COUNTS, [], [])
    assert found.said == found.rechecked == summarise_richness(COUNTS)


def test_counts_given_are_left_as_they_were() -> None:
    """The caller's counts are not changed."""
    counts = np.array(COUNTS)
    recheck_singletons(counts, [4], [0])
    assert counts.tolist() == COUNTS


def test_false_singletons_inflate_chao1() -> None:
    """In seeded surveys with 3 % of names drawn at random, re-checking brings Chao1 nearer.

    12 genera are there, 60 on the list; 400 colonies; the second look knows the genus.
    """
    rng = np.random.default_rng(3)
    share = 0.75 ** np.arange(12)
    said_error, rechecked_error = [], []
    for _ in range(60):
        truth = rng.choice(12, size=400, p=share / share.sum())
        name = np.where(rng.random(400) < 0.03, rng.integers(0, 60, 400), truth)
        counts = np.bincount(name, minlength=60)
        once = np.flatnonzero(counts == 1)
        true_genus = [int(truth[name == genus][0]) for genus in once]
        found = recheck_singletons(counts, once, true_genus)
        said_error.append(found.said.chao1.value - 12)
        rechecked_error.append(found.rechecked.chao1.value - 12)
    assert np.mean(said_error) > 20
    assert abs(np.mean(rechecked_error)) < 2


@pytest.mark.parametrize(
    ("said", "found", "message"),
    [
        pytest.param([0], [0], "a genus met once, found met 20 times", id="common"),
        pytest.param([4, 4], [0, 0], "each genus once, found 4 again", id="twice"),
        pytest.param([9], [0], "a genus from 0 to 8, found 9", id="not listed"),
        pytest.param([4], [9], "or -1 for not named, found 9", id="found not listed"),
        pytest.param([4, 5], [0], "one for each of 2 looked at, found 1", id="unlike"),
    ],
)
def test_second_looks_at_anything_else_are_refused(
    said: list[int], found: list[int], message: str
) -> None:
    """Only genera met once can be re-checked here, each once."""
    with pytest.raises(InputError, match=message):
        recheck_singletons(COUNTS, said, found)
