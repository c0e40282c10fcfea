"""What observers have in common: whose reports count for whom, and how strongly."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from told import answered, pair, walls

from corallum.model.likelihood import Kernel
from corallum.observers.answered import Answered
from corallum.observers.group_errors import GroupErrors, default_group, learn_group
from support import compiled

WALL = "corallite_arrangement"


@cache
def kernel() -> Kernel:
    """The kernel of an unknown observer."""
    return Kernel(compiled())


def learned(members: list[Answered]) -> list[GroupErrors]:
    """Groups of some members, always by the same chance."""
    return learn_group(kernel(), default_group(compiled()), members, np.random.default_rng(1))


def share(group: GroupErrors, true: str = "plocoid", said: str = "cerioid") -> float:
    """Share of one wall said for another."""
    states = compiled().characters[compiled().character_index[WALL]].states
    rows = group.states[compiled().character_index[WALL]]
    return float(rows[states.index(true), states.index(said)])


def test_nobody_leaves_the_default() -> None:
    """Without members, somebody new is shrunk to an unknown observer, at the default strength."""
    (found,) = learned([])
    default = default_group(compiled())
    for c, rows in default.states.items():
        np.testing.assert_allclose(found.states[c], rows, rtol=0, atol=1e-12)
    assert found.members == 0
    assert found.eye == default.eye


def test_rows_add_up_to_one_for_everybody() -> None:
    """Each member's rows, and those for somebody new, are distributions."""
    members = [answered(walls({"plocoid": 5, "cerioid": k})) for k in (1, 3, 9)]
    found = learned(members)
    assert [one.members for one in found] == [2, 2, 2, 3]
    for one in found:
        for rows in one.states.values():
            np.testing.assert_allclose(rows.sum(axis=1), 1, rtol=0, atol=1e-9)


def test_nobody_is_shrunk_to_themselves() -> None:
    """A member alone is shrunk to the default rows, whatever they answered."""
    alone, new = learned([answered(walls({"cerioid": 30}))])
    assert share(alone) == pytest.approx(share(default_group(compiled())), abs=1e-12)
    assert share(new) > share(alone)


def test_a_group_that_errs_alike_is_followed_strongly() -> None:
    """Members who all say cerioid half the time pull the row, more than members who differ."""
    alike = learned([answered(walls({"plocoid": 40, "cerioid": 40})) for _ in range(6)])
    differ = learned(
        [answered(walls({"plocoid": 80} if k % 2 else {"cerioid": 80})) for k in range(6)]
    )
    default = share(default_group(compiled()))
    assert default < share(alike[-1]) < 0.5
    assert alike[-1].strength > differ[-1].strength


def test_the_groups_eye_moves_towards_its_members() -> None:
    """Members who read widths half as large again move the bias of somebody new."""
    width = "calice_diameter_mm"
    members = [answered([pair({width: 8.0}, {width: 11.0})] * 12) for _ in range(4)]
    default = default_group(compiled()).eye.bias
    new = learned(members)[-1].eye.bias
    # ln(11 / 8) = .318
    assert default < new < 0.318


def test_the_same_chance_gives_the_same_group() -> None:
    """A page shows what it showed before."""
    members = [answered(walls({"plocoid": 5, "cerioid": k})) for k in (1, 3, 9)]
    one, other = learned(members), learned(members)
    assert [group.strength for group in one] == [group.strength for group in other]
    for a, b in zip(one, other, strict=True):
        assert share(a) == share(b)
