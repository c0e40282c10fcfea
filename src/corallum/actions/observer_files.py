"""What files, or a programme, show of each observer: their errors, and how they qualify."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import numpy as np

from corallum.actions.observer_errors import ObserverErrors, learn_observers, learn_tables
from corallum.actions.people import list_people
from corallum.actions.practice_files import open_answered_set
from corallum.actions.programme_reference import programme_library
from corallum.actions.programmes import open_programme
from corallum.actions.qualifications import PlanFigures, plan_figures
from corallum.actions.references import Library, check_region
from corallum.errors import Fault, InputError
from corallum.exchange.right_answers import read_right_answers
from corallum.exchange.text_file import read_text
from corallum.model.compiled import CompiledReference
from corallum.model.prior import genus_prior
from corallum.observers.fixed_length import Aim
from corallum.observers.sequential import Standing, count_once, state_of
from corallum.practice.item import Item, PracticeAnswer
from corallum.practice.marking import mark_answer
from corallum.store.programme import Programme

__all__ = [
    "ErrorsFound",
    "QualifyFound",
    "Stood",
    "errors_in_programme",
    "errors_of_files",
    "errors_of_programme",
    "qualify_files",
]


@dataclass(frozen=True, slots=True)
class ErrorsFound:
    """Errors by observer, against one reference and one region's mix of genera."""

    compiled: CompiledReference
    region: str
    observers: Mapping[str, ObserverErrors]


@dataclass(frozen=True, slots=True)
class Stood:
    """How one observer stands: by the plan, and answers that it did not count.

    ``repeats`` are items answered before, ``after`` those after the decision.
    """

    observer: str
    standing: Standing
    repeats: int
    after: int


@dataclass(frozen=True, slots=True)
class QualifyFound:
    """A plan in numbers, and how each observer stands; none where no answers were given."""

    figures: PlanFigures
    stood: tuple[Stood, ...]


def errors_of_files(
    library: Library, paths: Sequence[str], region: str | None, stdin: IO[bytes], most_mb: int
) -> ErrorsFound:
    """Learn the errors of everybody in some tables of answers.

    Parameters
    ----------
    library : Library
        The reference.
    paths : sequence of str
        A set and its answers, then the next set and its answers.
    region : str or None
        Whose mix of genera counts; None is that of the first set.
    stdin, most_mb : binary stream, int
        For the path ``-``, and the largest file.

    Raises
    ------
    InputError
        Where a set comes without answers, or with every fault of a file.
    """
    if not paths or len(paths) % 2:
        expected = "sets and answers in turn: SET ANSWERS SET ANSWERS"
        remedy = "Name the answers behind each set, or use --programme."
        raise InputError([Fault("files", "", expected, f"{len(paths)} files", remedy)])
    check_region(region)
    pairs: dict[str, list[tuple[Item, PracticeAnswer]]] = {}
    regions = []
    for one, other in zip(paths[::2], paths[1::2], strict=True):
        made, given = open_answered_set(library, one, other, stdin, most_mb)
        regions.append(made.region)
        for answer in given:
            item = made.items[answer.item - 1]
            pairs.setdefault(answer.observer, []).append((item, answer.answer))
    region = region or regions[0]
    compiled = library.compiled
    marks = {
        observer: [
            mark_answer(compiled, item, answer, genus_prior(compiled, item.region))
            for item, answer in own
        ]
        for observer, own in pairs.items()
    }
    right = {who: np.array([float(one.right) for one in own]) for who, own in marks.items()}
    scores = {who: float(np.mean([one.score for one in own])) for who, own in marks.items()}
    return ErrorsFound(compiled, region, learn_tables(library, region, pairs, right, scores))


def errors_of_programme(folder: Path, region: str | None) -> ErrorsFound:
    """Learn the errors of everybody who answered practice items of a programme.

    Raises
    ------
    InputError
        Where the folder is no programme, or nobody has answered.
    """
    programme = open_programme(folder)
    try:
        return errors_in_programme(programme, region)
    finally:
        programme.close()


def errors_in_programme(programme: Programme, region: str | None) -> ErrorsFound:
    """Learn the errors of everybody who answered practice items of an open programme.

    Raises
    ------
    InputError
        Where nobody has answered.
    """
    check_region(region)
    region = region or programme.settings.regions[0]
    known = learn_observers(programme, region)
    names = {one.id: one.name for one in list_people(programme)}
    compiled = programme_library(programme).compiled
    if not known:
        remedy = "Let observers practise first."
        where = str(programme.folder)
        raise InputError([Fault(where, "", "practice answers", "none at all", remedy)])
    taken = list(names.values())
    observers = {
        names[id_] if taken.count(names[id_]) == 1 else f"{names[id_]} ({id_})": one
        for id_, one in known.items()
    }
    return ErrorsFound(compiled, region, observers)


def qualify_files(aim: Aim, path: str | None, stdin: IO[bytes], most_mb: int) -> QualifyFound:
    """Say what a plan does, and how everybody in a table of answers stands by it.

    Parameters
    ----------
    aim : Aim
        What to tell apart, and how often it may err.
    path : str or None
        CSV with observer, item and right, in the order answered; None: only the plan.
    stdin, most_mb : binary stream, int
        For the path ``-``, and the largest file.

    Raises
    ------
    InputError
        With every fault of the table.
    """
    answered: Mapping[str, list[tuple[str, bool]]] = {}
    if path is not None:
        answered = read_right_answers(*read_text(path, stdin, most_mb))
    figures = plan_figures(aim)
    stood = []
    for observer, own in answered.items():
        first = count_once([item for item, _ in own], [right for _, right in own])
        standing = state_of(figures.plan, first)
        stood.append(Stood(observer, standing, len(own) - len(first), len(first) - standing.n))
    return QualifyFound(figures, tuple(stood))
