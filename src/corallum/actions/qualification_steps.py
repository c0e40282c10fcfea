"""One step of a qualification: what the answers so far decide."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import timedelta

from corallum.actions.unit_of_work import Unit
from corallum.observers.fixed_length import Aim
from corallum.observers.sequential import SequentialPlan, Standing, State, count_once, state_of
from corallum.observers.sequential_plan import find_plan
from corallum.practice.item import Item
from corallum.practice.kept import KeptAnswer, PracticeSet, Qualification
from corallum.store import practice as store
from corallum.store.history import time_text
from corallum.store.people import change_keyed
from corallum.store.schema import qualification

__all__ = ["aim_of", "plan_of", "same_colony", "settle_qualification", "standing_of"]

_OUTCOMES = {State.PASSED: "passed", State.FAILED: "failed"}


def aim_of(test: Qualification) -> Aim:
    """Return what a test tells apart."""
    plan = test.plan
    return Aim(plan["good"], plan["poor"], plan["good_failed"], plan["poor_passed"])


def plan_of(test: Qualification) -> SequentialPlan:
    """Return the plan of a test, found again from what it was made from."""
    return find_plan(aim_of(test))


def same_colony(item: Item) -> tuple[str, str, int, str]:
    """Return what two items of the same colony share."""
    return (item.genus, item.form, item.seed, item.photo)


def standing_of(test: Qualification, found: PracticeSet, answers: Sequence[KeptAnswer]) -> Standing:
    """Return how a test stands; colonies shown in an earlier set do not count."""
    repeats = {i for i, item in enumerate(found.items) if item.why == "repeat"}
    counted = [one for one in answers if one.item not in repeats]
    items = [same_colony(found.items[one.item]) for one in counted]
    return state_of(plan_of(test), count_once(items, [one.right for one in counted]))


def settle_qualification(unit: Unit, test: Qualification, found: PracticeSet) -> None:
    """Write the outcome where the answers bring one."""
    answers = store.all_answers(unit.connection, person=test.person, practice_set_=found.id)
    state = standing_of(test, found, answers).state
    if state not in _OUTCOMES:
        return
    days = int(test.plan["days"])
    until = (unit.act.now + timedelta(days=days)).date().isoformat()
    row = {
        "id": test.id, "outcome": _OUTCOMES[state], "ended_at": time_text(unit.act.now),
        "expires_on": until if state is State.PASSED else None,
    }  # fmt: skip
    change_keyed(unit.connection, unit.act, "end qualification", qualification, row)


def plan_text(aim: Aim, days: int) -> str:
    """Write what a plan is made from."""
    found = {"good": aim.good, "poor": aim.poor, "good_failed": aim.good_failed,
             "poor_passed": aim.poor_passed, "days": days}  # fmt: skip
    return json.dumps(found, sort_keys=True)
