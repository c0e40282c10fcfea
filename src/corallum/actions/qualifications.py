"""Qualify observers: begin a test, see how it stands, and who may survey what."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

import numpy as np

from corallum.actions.observer_errors import ObserverErrors, learn_observers
from corallum.actions.practice_sets import keep_reference
from corallum.actions.programme_reference import programme_library
from corallum.actions.qualification_steps import (
    plan_text,
    same_colony,
    standing_of,
)
from corallum.actions.unit_of_work import (
    Unit,
    check_choice,
    check_id,
    check_share,
    new_id,
    unit_of_work,
)
from corallum.errors import ConflictError
from corallum.model.compiled import CompiledReference
from corallum.observers.fixed_length import Aim, FixedTest, fixed_test, pass_chance
from corallum.observers.repeats import Repeats, compare_repeats
from corallum.observers.sequential import OperatingCurve, SequentialPlan, Standing, operating_curve
from corallum.observers.sequential_plan import find_plan
from corallum.practice.item import Item
from corallum.practice.kept import KeptAnswer, PracticeSet, Qualification
from corallum.practice.sets import MOST_ITEMS, SetWish, make_items
from corallum.records.programme import Role
from corallum.reference.genera import REGIONS
from corallum.store import practice as store
from corallum.store.history import time_text
from corallum.store.people import change_keyed, insert_keyed, person_of
from corallum.store.programme import Programme
from corallum.store.schema import practice_set, qualification

__all__ = [
    "BeginTest",
    "PlanFigures",
    "StopTest",
    "SurveyRight",
    "begin_test",
    "list_tests",
    "plan_figures",
    "repeats_of",
    "standing",
    "stop_test",
    "survey_rights",
]

_DAYS = 365
# One item in so many is a colony that the observer has seen before, days ago.
_REPEAT_EVERY, _LEAST_DAYS = 8, 1
# The genera that a named list does not hold are drawn no more; below this a genus is not known.
_LEAST_RIGHT, _LEAST_TRIES = 0.5, 2
_MOST_DAYS = 3650
_QUIZ = (20, 17)


@dataclass(frozen=True, slots=True)
class BeginTest:
    """A test of a person, for some genera (none: all of the region)."""

    person: str
    region: str = ""
    genera: tuple[str, ...] = ()
    aim: Aim = field(default_factory=Aim)
    days: int = _DAYS


@dataclass(frozen=True, slots=True)
class StopTest:
    """A test to be broken off without an outcome."""

    qualification: str


@dataclass(frozen=True, slots=True)
class PlanFigures:
    """How often a plan passes observers of several accuracies, beside fixed tests.

    Attributes
    ----------
    curve : OperatingCurve
        Of the sequential plan.
    fixed : FixedTest
        The shortest fixed test of the same two error rates.
    fixed_passes, quiz_passes : tuple of float
        Chance of passing that, and a quiz of 20 items with 17 right, at each accuracy.
    """

    plan: SequentialPlan
    curve: OperatingCurve
    fixed: FixedTest
    fixed_passes: tuple[float, ...]
    quiz_passes: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SurveyRight:
    """What a person may record, until when: genera at rank genus, the rest at rank family.

    ``genera`` None is all of the region but ``not_yet``: genera that their answers show
    to be missed more often than named.
    """

    person: str
    genera: tuple[str, ...] | None
    not_yet: tuple[str, ...]
    until: date


def plan_figures(aim: Aim) -> PlanFigures:
    """Return what a plan does, exactly, at .70, .75 ... .95."""
    plan = find_plan(aim)
    accuracies = np.round(np.arange(0.70, 0.951, 0.05), 2)
    fixed = fixed_test(aim)
    return PlanFigures(
        plan,
        operating_curve(plan, accuracies),
        fixed,
        tuple(pass_chance(fixed.n, fixed.mark, p) for p in accuracies.tolist()),
        tuple(pass_chance(*_QUIZ, p) for p in accuracies.tolist()),
    )


def begin_test(
    programme: Programme, command: BeginTest, now: datetime, rng: np.random.Generator, person: str
) -> Qualification:
    """Begin a qualification (a lead's work); items are drawn as the survey meets them.

    Raises
    ------
    ConflictError
        Where the person has a test open already.
    """
    region = check_choice(command.region or programme.settings.regions[0], "region", REGIONS)
    check_share(command.days, "days that a pass lasts", 1, _MOST_DAYS)
    library = programme_library(programme)
    plan = find_plan(command.aim)
    size = min(plan.largest, MOST_ITEMS)
    wish = SetWish("mixed", region, size, command.genera)
    items = make_items(library.compiled, wish, rng)
    set_id, id_ = new_id(rng), new_id(rng)
    with unit_of_work(programme, person, now, Role.LEAD, "begin qualifications") as unit:
        of = person_of(unit.connection, check_id(command.person, "person"))
        if any(one.outcome == "open" for one in store.all_qualifications(unit.connection, of.id)):
            raise ConflictError(f"{of.name} has a test open already. Finish or stop it first.")
        items = _with_repeats(unit, of.id, items, rng)
        keep_reference(programme, unit)
        row: dict[str, object] = {
            "id": set_id, "title": f"Test of {of.name}, {now.date().isoformat()}",
            "purpose": "test", "region": region, "made_for": of.id,
            "items": store.items_text(items), "reference_hash": library.compiled.hash,
            "made_at": time_text(now), "open": True,
        }  # fmt: skip
        insert_keyed(unit.connection, unit.act, "make practice set", practice_set, row)
        row = {
            "id": id_, "person": of.id, "practice_set": set_id,
            "genera": json.dumps(command.genera), "plan": plan_text(command.aim, command.days),
            "outcome": "open", "started_at": time_text(now), "ended_at": None,
            "expires_on": None,
        }  # fmt: skip
        insert_keyed(unit.connection, unit.act, "begin qualification", qualification, row)
        return store.qualification_of(unit.connection, id_)


def _with_repeats(
    unit: Unit, person: str, items: Sequence[Item], rng: np.random.Generator
) -> list[Item]:
    """Put colonies among the items that the person answered days ago; they do not count."""
    before = unit.act.now - timedelta(days=_LEAST_DAYS)
    old = [one for one in store.all_answers(unit.connection, person=person) if one.at <= before]
    sets = {one.practice_set for one in old}
    found = {id_: store.set_of(unit.connection, id_).items for id_ in sets}
    seen = {same_colony(item): item for one in old for item in [found[one.practice_set][one.item]]}
    pool = [seen[key] for key in sorted(seen)]
    rng.shuffle(pool)
    mixed: list[Item] = []
    for i, item in enumerate(items):
        if pool and i % _REPEAT_EVERY == _REPEAT_EVERY - 1:
            mixed.append(replace(pool.pop(), why="repeat"))
        mixed.append(item)
    return mixed


def stop_test(
    programme: Programme,
    command: StopTest,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> Qualification:
    """Break a test off; its answers are kept."""
    with unit_of_work(programme, person, now, Role.LEAD, "stop qualifications") as unit:
        id_ = check_id(command.qualification, "qualification")
        test = store.qualification_of(unit.connection, id_)
        if test.outcome != "open":
            raise ConflictError("this test is over already.")
        row = {"id": id_, "outcome": "stopped", "ended_at": time_text(now)}
        change_keyed(unit.connection, unit.act, "stop qualification", qualification, row)
        return store.qualification_of(unit.connection, id_)


def list_tests(programme: Programme, person: str | None = None) -> tuple[Qualification, ...]:
    """Return qualifications, the newest first."""
    with programme.read() as connection:
        return store.all_qualifications(connection, person)


def standing(programme: Programme, test: Qualification) -> tuple[Standing, PracticeSet]:
    """Return how a test stands, and its items."""
    with programme.read() as connection:
        found = store.set_of(connection, test.practice_set)
        answers = store.all_answers(connection, person=test.person, practice_set_=found.id)
    return standing_of(test, found, answers), found


def survey_rights(programme: Programme, region: str, on: date) -> tuple[SurveyRight, ...]:
    """Return who may record genera on a day, and what they still miss.

    Of tests for the same genera the newest that was decided counts, so a later failure
    takes a pass away; passes for several lists of genera add up.
    """
    decided: dict[tuple[str, tuple[str, ...]], Qualification] = {}
    for test in list_tests(programme):
        if test.outcome in ("passed", "failed"):
            decided.setdefault((test.person, test.genera), test)
    by_person: dict[str, list[Qualification]] = {}
    for test in decided.values():
        if test.outcome == "passed" and test.expires_on is not None and test.expires_on >= on:
            by_person.setdefault(test.person, []).append(test)
    if not by_person:
        return ()
    known = learn_observers(programme, region)
    compiled = programme_library(programme).compiled
    return tuple(
        _right(compiled, person, passed, known.get(person)) for person, passed in by_person.items()
    )


def _right(
    compiled: CompiledReference,
    person: str,
    passed: Sequence[Qualification],
    known: ObserverErrors | None,
) -> SurveyRight:
    """Add up the passes of one person."""
    whole = [test for test in passed if not test.genera]
    counted = whole or list(passed)
    named = None if whole else tuple(dict.fromkeys(g for test in passed for g in test.genera))
    missed: tuple[str, ...] = ()
    if known is not None:
        mixed = known.confusions
        share = np.diagonal(mixed.counts) / mixed.counts.sum(axis=1)
        tried = mixed.seen.sum(axis=1) >= _LEAST_TRIES
        missed = tuple(compiled.genera[i] for i in np.flatnonzero(tried & (share < _LEAST_RIGHT)))
    until = [test.expires_on for test in counted if test.expires_on is not None]
    return SurveyRight(person, named, missed, max(until) if whole else min(until))


def repeats_of(programme: Programme, person: str) -> Repeats | None:
    """Compare a person's answers to colonies that they saw again days later."""
    with programme.read() as connection:
        kept = store.all_answers(connection, person=check_id(person, "person"))
        sets = {id_: store.set_of(connection, id_) for id_ in {one.practice_set for one in kept}}
    first: dict[object, KeptAnswer] = {}
    pairs: list[tuple[KeptAnswer, KeptAnswer]] = []
    for one in kept:
        key = same_colony(sets[one.practice_set].items[one.item])
        if key in first:
            pairs.append((first.pop(key), one))
        first[key] = one
    if not pairs:
        return None
    days = [(b.at - a.at).total_seconds() / 86400 for a, b in pairs]
    return compare_repeats(
        [a.answer.genera for a, _ in pairs], [b.answer.genera for _, b in pairs], days
    )
