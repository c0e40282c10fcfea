"""Answer a practice item, and see the answer marked and explained."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from corallum.actions.programme_reference import (
    check_report,
    determiner_of,
    programme_determiner,
    programme_library,
)
from corallum.actions.qualification_steps import settle_qualification
from corallum.actions.references import find_genus
from corallum.actions.unit_of_work import (
    Unit,
    check_id,
    check_line,
    check_number,
    check_share,
    unit_of_work,
)
from corallum.errors import ConflictError, Fault, InputError, NotAllowedError, NotFoundError
from corallum.model.errors import Observer
from corallum.model.prior import genus_prior
from corallum.practice.item import Item, PracticeAnswer
from corallum.practice.kept import KeptAnswer, PracticeSet, answer_to_text
from corallum.practice.marking import mark_answer
from corallum.practice.worked import Worked, work_through
from corallum.records.colony import Report
from corallum.records.programme import Role
from corallum.store import practice as store
from corallum.store.history import add_row, time_text
from corallum.store.people import person_of
from corallum.store.programme import Programme
from corallum.store.schema import practice_answer

__all__ = [
    "AnswerItem", "Course", "answer_item", "answers_of", "course_of", "read_answer", "worked_item",
    "worked_item_alone",
]  # fmt: skip

_MOST_GENERA = 10
_MOST_SECONDS = 24 * 3600.0


@dataclass(frozen=True, slots=True)
class AnswerItem:
    """An answer to one item (counted from 0).

    ``genera`` are one genus, or those that can't be told apart here; none says that it is
    not in the reference. ``of`` is who answered, where a lead enters a paper sheet.
    """

    practice_set: str
    item: int
    genera: tuple[str, ...]
    confidence: float
    reports: Mapping[str, object] = field(default_factory=dict)
    seconds: float | None = None
    of: str | None = None


@dataclass(frozen=True, slots=True)
class Course:
    """How far a person is in a set: answers by item, and the next item (None: done)."""

    set: PracticeSet
    answers: Mapping[int, KeptAnswer]
    next: int | None


def read_answer(programme: Programme, command: AnswerItem) -> PracticeAnswer:
    """Check an answer against the reference.

    Raises
    ------
    InputError
        With what is wrong.
    """
    if len(command.genera) > _MOST_GENERA:
        expected = f"at most {_MOST_GENERA} genera"
        found = str(len(command.genera))
        raise InputError([Fault("answer", "genera", expected, found, "Name fewer.")])
    library = programme_library(programme)
    names = (find_genus(library, check_line(name, "genus")) for name in command.genera)
    confidence = check_share(command.confidence, "confidence")
    seconds = check_share(command.seconds, "seconds", 0.0, _MOST_SECONDS)
    reports: dict[str, Report] = {
        id_: check_report(programme, id_, value) for id_, value in command.reports.items()
    }
    return PracticeAnswer(
        tuple(dict.fromkeys(names)), 0.5 if confidence is None else confidence, reports, seconds
    )


def answer_item(
    programme: Programme,
    command: AnswerItem,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> KeptAnswer:
    """Keep and mark an answer; each person answers an item of a set once.

    Raises
    ------
    ConflictError
        Where it is answered already, the set is closed, or a test is over.
    """
    answer = read_answer(programme, command)
    compiled = programme_library(programme).compiled
    with unit_of_work(programme, person, now, Role.OBSERVER, "answer practice items") as unit:
        found = store.set_of(unit.connection, check_id(command.practice_set, "practice set"))
        of = _who(unit, command.of)
        _check_open(unit, found, command.item, of)
        item = found.items[command.item]
        mark = mark_answer(compiled, item, answer, genus_prior(compiled, item.region))
        test = next(
            (one for one in store.all_qualifications(unit.connection)
             if one.practice_set == found.id), None,
        )  # fmt: skip
        if test is not None and test.person != of:
            raise ConflictError("this is the test of somebody else. Take your own.")
        if test is not None and test.outcome != "open":
            raise ConflictError("this test is over. Look at its outcome.")
        row = {
            "practice_set": found.id, "item": command.item, "person": of,
            "at": time_text(now), "answer": answer_to_text(answer), "score": mark.score,
            "right": mark.right, "qualification": None if test is None else test.id,
        }  # fmt: skip
        add_row(unit.connection, unit.act, "practice answer", practice_answer, row)
        if test is not None:
            settle_qualification(unit, test, found)
        kept = store.all_answers(unit.connection, person=of, practice_set_=found.id)
        return kept[-1]


def _who(unit: Unit, of: str | None) -> str:
    """Return whose answer it is; only a lead enters somebody else's."""
    if of is None or of == unit.person.id:
        return unit.person.id
    if not unit.person.role.covers(Role.LEAD):
        raise NotAllowedError(unit.person.role, "enter the answers of others", Role.LEAD)
    return person_of(unit.connection, check_id(of, "person")).id


def _check_open(unit: Unit, found: PracticeSet, item: int, person: str) -> None:
    """Refuse an answer to what is not there, closed, or answered."""
    if not 0 <= item < len(found.items):
        raise NotFoundError("practice item", item + 1)
    if not found.open:
        raise ConflictError("this set is closed. Choose another.")
    answered = store.all_answers(unit.connection, person=person, practice_set_=found.id)
    if any(one.item == item for one in answered):
        raise ConflictError("this item is answered already. Go on to the next.")


def course_of(programme: Programme, practice_set: str, person: str) -> Course:
    """Return how far a person is in a set."""
    with programme.read() as connection:
        found = store.set_of(connection, check_id(practice_set, "practice set"))
        kept = store.all_answers(connection, person=person, practice_set_=found.id)
    answers = {one.item: one for one in kept}
    left = (i for i in range(len(found.items)) if i not in answers)
    return Course(found, answers, next(left, None))


def answers_of(programme: Programme, person: str) -> tuple[KeptAnswer, ...]:
    """Return all answers of a person, in the order given."""
    with programme.read() as connection:
        return store.all_answers(connection, person=check_id(person, "person"))


def worked_item(programme: Programme, item: Item, kept: KeptAnswer, errors: str) -> Worked:
    """Mark an answer again and explain it.

    Parameters
    ----------
    item : Item
        That was shown.
    kept : KeptAnswer
        What was said.
    errors : str
        Whose errors to assume for the report: as :func:`errors_of` says.
    """
    check_number(kept.history, "practice answer")
    exact = determiner_of(programme_library(programme), Observer.EXACT)
    return work_through(exact, programme_determiner(programme, errors), item, kept.answer)


def worked_item_alone(programme: Programme, item: Item) -> Worked:
    """Explain an item that nobody answered: as if it had been named right, for a hand-out."""
    exact = determiner_of(programme_library(programme), Observer.EXACT)
    observer = programme_determiner(programme)
    return work_through(exact, observer, item, PracticeAnswer((item.genus,), 1.0))
