"""What to show next."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.practice.choose import Candidates, Grasp, Reason, choose_next, grasp_of

NEVER = float("nan")


def grasp(chance: list[float], sd: float = 0.05, shares: list[float] | None = None) -> Grasp:
    """A grasp of some genera, equally common unless said."""
    n = len(chance)
    return Grasp(np.array(chance), np.full(n, sd), np.array(shares or [1.0] * n))


def one_each(
    n: int,
    difficulty: list[float] | None = None,
    retention: list[float] | None = None,
    due: list[bool] | None = None,
) -> Candidates:
    """One item of each genus, never practised unless said."""
    return Candidates(
        np.arange(n),
        np.array(difficulty or [0.0] * n),
        np.array(retention or [NEVER] * n),
        np.array(due or [False] * n, dtype=np.bool_),
    )


def items(found: tuple) -> list[int]:
    """Order of the items."""
    return [choice.item for choice in found]


def test_what_is_due_comes_first() -> None:
    """A rare and well known genus that is due comes before a common one that is not."""
    known = grasp([0.3, 0.95], shares=[0.9, 0.1])
    found = choose_next(one_each(2, retention=[NEVER, 0.85], due=[False, True]), known)
    assert items(found) == [1, 0]
    assert found[0].reason is Reason.DUE


def test_the_common_comes_before_the_rare() -> None:
    """Of two genera known alike, the one the survey meets more often comes first."""
    assert items(choose_next(one_each(2), grasp([0.5, 0.5], shares=[0.1, 0.9]))) == [1, 0]


def test_the_missed_comes_before_the_known() -> None:
    """Of two genera equally common, the one more often missed comes first."""
    found = choose_next(one_each(2), grasp([0.95, 0.5]))
    assert items(found) == [1, 0]
    assert [choice.reason for choice in found] == [Reason.MISSED, Reason.KNOWN]


def test_the_hardly_tried_comes_before_the_settled() -> None:
    """With the same mean, the genus with fewer answers comes first, and says so."""
    known = Grasp(np.array([0.7, 0.7]), np.array([0.05, 0.25]), np.array([1.0, 1.0]))
    found = choose_next(one_each(2), known)
    assert items(found) == [1, 0]
    assert found[0].reason is Reason.FEW


def test_a_hopeless_item_comes_after_a_fair_one() -> None:
    """Of two items of one genus, the one at even odds comes before one far too hard."""
    two = Candidates(
        np.array([0, 0]), np.array([5.0, 0.0]), np.full(2, NEVER), np.zeros(2, np.bool_)
    )
    assert items(choose_next(two, grasp([0.5]))) == [1, 0]


def test_what_was_just_told_teaches_nothing() -> None:
    """A genus practised a moment ago has no gain, one half faded has."""
    found = choose_next(one_each(2, retention=[1.0, 0.95]), grasp([0.2, 0.8]))
    assert items(found) == [1, 0]
    assert found[1].gain == 0


def test_nothing_twice_in_a_row() -> None:
    """The genus just shown comes last, even when due; alone it is shown again."""
    due = one_each(2, retention=[0.5, NEVER], due=[True, False])
    assert items(choose_next(due, grasp([0.2, 0.9]), last_genus=0)) == [1, 0]
    assert items(choose_next(one_each(1), grasp([0.2]), last_genus=0)) == [0]


def test_the_gain_is_the_product_of_its_parts() -> None:
    """By hand: share .25, chance .5 of which .95 is left, sd .1, even item: .25 x .625 x .9975 / 2.

    now = .475; room = .625; fit = 4 x .475 x .525 = .9975; ripe = .05 / .1.
    """
    known = Grasp(np.array([0.5, 0.5]), np.array([0.1, 0.1]), np.array([1.0, 3.0]))
    found = choose_next(one_each(2, retention=[0.95, NEVER]), known)
    own = next(choice for choice in found if choice.item == 0)
    assert (own.share, own.room, own.fit, own.ripe) == pytest.approx((0.25, 0.625, 0.9975, 0.5))
    assert own.gain == pytest.approx(0.25 * 0.625 * 0.9975 * 0.5, rel=1e-9)


@given(st.lists(st.floats(0, 1), min_size=2, max_size=12), st.floats(0.01, 100))
def test_only_proportions_matter(chance: list[float], times: float) -> None:
    """Counts in place of shares give the same order."""
    shares = np.linspace(0.1, 1, len(chance)).tolist()
    more = (np.array(shares) * times).tolist()
    one = choose_next(one_each(len(chance)), grasp(chance, shares=shares))
    other = choose_next(one_each(len(chance)), grasp(chance, shares=more))
    assert [c.gain for c in one] == pytest.approx([c.gain for c in other])


def test_nothing_to_show() -> None:
    """Without candidates the ranking is empty, and it is never longer than asked for."""
    assert choose_next(one_each(0), grasp([0.5])) == ()
    assert len(choose_next(one_each(4), grasp([0.5] * 4), most=2)) == 2


def test_a_grasp_by_hand() -> None:
    """Right, then wrong: hit .8 + 0, miss 0 + 1, with a flat prior 1.8 of 3.8."""
    found = grasp_of([0, 0], [1.0, 0.0], np.array([1.0, 1.0]))
    assert found.chance_right[0] == pytest.approx(1.8 / 3.8)
    assert found.chance_sd[0] == pytest.approx(np.sqrt(1.8 * 2 / (3.8**2 * 4.8)))
    assert found.chance_right[1] == 0.5


@pytest.mark.parametrize(
    ("candidates", "known", "place"),
    [
        pytest.param(one_each(3), grasp([0.5, 0.5]), "genus", id="a genus out of range"),
        pytest.param(one_each(1, retention=[1.5]), grasp([0.5]), "retention", id="retention"),
        pytest.param(one_each(1), grasp([0.5], shares=[-1.0]), "shares", id="a negative share"),
        pytest.param(one_each(2), Grasp(np.ones(2), np.ones(1), np.ones(2)), "genera", id="genera"),
        pytest.param(
            Candidates(np.zeros(2, int), np.zeros(1), np.ones(2), np.zeros(2, np.bool_)),
            grasp([0.5]),
            "items",
            id="items",
        ),
    ],
)
def test_arrays_that_do_not_fit_are_refused(
    candidates: Candidates, known: Grasp, place: str
) -> None:
    """What does not fit together is refused by name."""
    with pytest.raises(InputError) as caught:
        choose_next(candidates, known)
    assert [fault.place for fault in caught.value.faults] == [place]
