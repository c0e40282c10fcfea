"""What is equal but for rounding is a tie, and a tie goes to the first in the list."""

from __future__ import annotations

import numpy as np

from corallum.model.verdict import leader_of, ranked, smallest_set
from corallum.model.why import leading_pair
from support import compiled


def test_rounding_does_not_rank_genera() -> None:
    """Chances that differ by 1e-15 rank in the order of the list; by 1e-9, by their size."""
    noisy = np.array([0.2, 0.4, 0.4 + 1e-15, 0.0])
    apart = np.array([0.2, 0.4, 0.4 + 1e-9, 0.0])

    assert ranked(noisy).tolist() == [1, 2, 0, 3]
    assert ranked(apart).tolist() == [2, 1, 0, 3]
    assert (leader_of(noisy), leader_of(apart)) == (1, 2)
    assert smallest_set(noisy, 0.5).tolist() == [1, 2]


def test_a_tied_pair_is_named_in_the_order_of_the_list() -> None:
    """Why sets the first of two equal genera against the second, whatever the last digit says."""
    genus = np.zeros(len(compiled().genera) + 1)
    genus[[7, 90]] = 0.5, 0.5 + 1e-15

    assert leading_pair(compiled(), genus) == (7, 90)
