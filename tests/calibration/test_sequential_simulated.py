"""The sequential test, sat by simulated observers, against its exact recursion."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.observers.fixed_length import Aim
from corallum.observers.sequential import (
    State,
    draw_genera,
    operating_curve,
    state_of,
)
from corallum.observers.sequential_plan import find_plan

pytestmark = pytest.mark.calibration

SITTINGS = 4000
SEED = 20261125
# Invented: the survey's shares, and two observers who each know some genera better. The
# second is of .80 overall, though of .90 if every genus counted alike.
SHARES = np.array([0.4, 0.2, 0.2, 0.1, 0.1])
KNOWS = {0.90: np.array([0.95, 0.95, 0.85, 0.9, 0.7]), 0.80: np.array([0.6, 0.9, 0.9, 1.0, 1.0])}


def sit(knows: np.ndarray, shares: np.ndarray, rng: np.random.Generator) -> tuple[bool, int]:
    """One observer sits the test; passed, and items."""
    plan = find_plan(Aim())
    genera = draw_genera(shares, plan.largest, rng)
    found = state_of(plan, (rng.random(plan.largest) < knows[genera]).tolist())
    assert found.state is not State.GO_ON
    return found.state is State.PASSED, found.n


@pytest.mark.parametrize("accuracy", KNOWS)
def test_sittings_agree_with_the_recursion(accuracy: float) -> None:
    """Share of passes and mean items lie within three standard errors of the recursion."""
    knows = KNOWS[accuracy]
    assert SHARES @ knows == pytest.approx(accuracy)
    rng = np.random.default_rng(SEED)
    passed, items = np.array([sit(knows, SHARES, rng) for _ in range(SITTINGS)]).T
    curve = operating_curve(find_plan(Aim()), [accuracy])
    chance, mean = curve.pass_chance[0], curve.expected_items[0]
    spread = np.sqrt((curve.pass_after + curve.fail_after)[0] @ np.arange(204) ** 2 - mean**2)
    print(f"\n{accuracy}: passed {passed.mean():.4f} of {chance:.4f}, items {items.mean():.2f} "
          f"of {mean:.2f}")  # fmt: skip
    assert abs(passed.mean() - chance) <= 3 * np.sqrt(chance * (1 - chance) / SITTINGS)
    assert abs(items.mean() - mean) <= 3 * spread / np.sqrt(SITTINGS)


def test_items_not_in_proportion_are_caught() -> None:
    """Negative control: drawn evenly, the observer of .80 passes far more often than stated."""
    rng = np.random.default_rng(SEED)
    even = np.full(5, 0.2)
    passed = np.array([sit(KNOWS[0.80], even, rng)[0] for _ in range(1000)])
    chance = operating_curve(find_plan(Aim()), [0.80]).pass_chance[0]
    assert passed.mean() - chance > 3 * np.sqrt(chance * (1 - chance) / 1000)
