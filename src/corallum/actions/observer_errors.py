"""Each observer's errors, learned from the programme's practice answers."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

import numpy as np

from corallum.actions.programme_reference import OWN, determiner_of, programme_library
from corallum.actions.references import Library
from corallum.actions.unit_of_work import check_id, unit_of_work
from corallum.errors import ConflictError, InputError
from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import Observer
from corallum.model.evidence import read_colony
from corallum.model.prior import genus_prior
from corallum.observers.confidence import ConfidencePosterior, learn_confidence
from corallum.observers.error_layer import ErrorPosterior, learn_errors
from corallum.observers.genus_confusions import (
    GenusConfusions,
    learn_confusions,
    simulated_confusions,
)
from corallum.observers.group_errors import default_group, learn_group
from corallum.observers.own_errors import errors_hash, errors_to_text
from corallum.practice.beside import answers_beside_truth, genera_said
from corallum.practice.item import Item, PracticeAnswer
from corallum.practice.kept import KeptAnswer
from corallum.records.colony import Colony
from corallum.records.programme import Person, Role
from corallum.store import practice as store
from corallum.store.history import time_text
from corallum.store.people import change_keyed, person_of
from corallum.store.programme import Programme
from corallum.store.schema import person as person_table

__all__ = [
    "ObserverErrors", "UseOwnErrors", "confusions_of", "learn_observers", "learn_tables",
    "use_own_errors",
]  # fmt: skip

# The sampler starts the same each time, so that a page shows what it showed before.
_SEED = 20
_HASH = 11
_learning = threading.Lock()


@dataclass(frozen=True, slots=True)
class ObserverErrors:
    """What is known of one observer.

    Attributes
    ----------
    answers, right : int
        Practice answers, and right ones.
    score : float
        Mean mark, 0 to 1; nan without answers.
    accuracy, accuracy_sd : float
        Posterior of the share right in the survey's mix of genera.
    errors, confusions, confidence : posteriors
        Of states and sizes, of genera, and of being too sure.
    """

    answers: int
    right: int
    score: float
    accuracy: float
    accuracy_sd: float
    errors: ErrorPosterior
    confusions: GenusConfusions
    confidence: ConfidencePosterior


@dataclass(frozen=True, slots=True)
class UseOwnErrors:
    """A person whose own errors shall apply to what they report from now on."""

    person: str


def learn_observers(programme: Programme, region: str) -> Mapping[str, ObserverErrors]:
    """Learn the errors of everybody who has answered, by person."""
    library = programme_library(programme)
    with programme.read() as connection:
        kept = store.all_answers(connection)
        sets = {id_: store.set_of(connection, id_) for id_ in {one.practice_set for one in kept}}
    by_person: dict[str, list[tuple[Item, KeptAnswer]]] = {}
    for one in kept:
        item = sets[one.practice_set].items[one.item]
        if _is_known(library.compiled, item, one.answer):
            by_person.setdefault(one.person, []).append((item, one))
    with _learning:
        return _learned(library, region, _Frozen(by_person))


class _Frozen:
    """Answers by person, told apart by the entries that wrote them."""

    def __init__(self, by_person: Mapping[str, list[tuple[Item, KeptAnswer]]]) -> None:
        self.by_person = by_person
        self.key = tuple(
            (person, tuple((one.history, one.at) for _, one in pairs))
            for person, pairs in by_person.items()
        )

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Frozen) and self.key == other.key


@lru_cache(maxsize=4)
def _learned(library: Library, region: str, frozen: _Frozen) -> Mapping[str, ObserverErrors]:
    """Learn once for one state of the answers."""
    pairs = {
        person: [(item, one.answer) for item, one in found]
        for person, found in frozen.by_person.items()
    }
    right = {
        person: np.array([float(one.right) for _, one in found])
        for person, found in frozen.by_person.items()
    }
    scores = {
        person: float(np.mean([one.score for _, one in found]))
        for person, found in frozen.by_person.items()
    }
    return learn_tables(library, region, pairs, right, scores)


@lru_cache(maxsize=4)
def _model_confusions(library: Library, region: str) -> Floats:
    """Return the model's own mix-ups, reckoned once for a reference and a region."""
    compiled = library.compiled
    kernel = determiner_of(library, Observer.UNKNOWN).kernel
    return simulated_confusions(
        kernel, genus_prior(compiled, region), np.random.default_rng(_SEED), each=20
    )


def learn_tables(
    library: Library,
    region: str,
    pairs: Mapping[str, list[tuple[Item, PracticeAnswer]]],
    right: Mapping[str, Floats],
    scores: Mapping[str, float],
) -> Mapping[str, ObserverErrors]:
    """Learn the errors of several observers from items and answers.

    Parameters
    ----------
    library : Library
        The reference.
    region : str
        Whose mix of genera counts.
    pairs : mapping of str to list of (Item, PracticeAnswer)
        By observer.
    right, scores : mapping
        Whether each answer was right, and the mean mark, by observer.
    """
    compiled = library.compiled
    kernel = determiner_of(library, Observer.UNKNOWN).kernel
    shares = genus_prior(compiled, region)[:-1]
    people = list(pairs)
    answered = [answers_beside_truth(compiled, pairs[one]) for one in people]
    groups = learn_group(
        kernel, default_group(compiled), answered, np.random.default_rng(_SEED)
    )[: len(people)] if people else []  # fmt: skip
    said = [genera_said(compiled, pairs[one]) for one in people]
    confusions = learn_confusions(
        _model_confusions(library, region), [one[0] for one in said], [one[1] for one in said]
    )
    found = {}
    for one, group, beside, mixed in zip(people, groups, answered, confusions, strict=True):
        confidence = np.array([answer.confidence for _, answer in pairs[one]])
        mean, sd = mixed.accuracy(shares)
        found[one] = ObserverErrors(
            len(pairs[one]), int(right[one].sum()), scores[one], mean, sd,
            learn_errors(kernel, group, beside), mixed, learn_confidence(confidence, right[one]),
        )  # fmt: skip
    return found


def confusions_of(
    programme: Programme, region: str, people: Sequence[str]
) -> tuple[GenusConfusions, ...]:
    """Return what each of several people takes for what.

    Of one who has not answered anything, it is what the group and the model say of a new
    member, with all its doubt.
    """
    known = learn_observers(programme, region)
    members = [one.confusions.seen for one in known.values()]
    library = programme_library(programme)
    model = _model_confusions(library, region)
    genera = np.arange(len(model))
    # Seen answers of the others as one table a member, and one member without any.
    true = [np.repeat(genera, model.shape[1]) for _ in members]
    said = [
        np.eye(model.shape[1])[np.tile(np.arange(model.shape[1]), len(model))] * seen.reshape(-1, 1)
        for seen in members
    ]
    empty = (np.zeros(0, np.int64), np.zeros((0, model.shape[1])))
    new = learn_confusions(model, [*true, empty[0]], [*said, empty[1]])[-1]
    return tuple(known[one].confusions if one in known else new for one in people)


def _is_known(compiled: CompiledReference, item: Item, answer: PracticeAnswer) -> bool:
    """Whether today's reference still knows all that was said; an edit may have ended that."""
    if item.genus not in compiled.genera:
        return False
    if any(genus not in compiled.genera for genus in answer.genera):
        return False
    try:
        read_colony(compiled, Colony("", answer.reports))
    except InputError:
        return False
    return True


def use_own_errors(
    programme: Programme,
    command: UseOwnErrors,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> Person:
    """Keep what is known of a person's errors now, and use it for what they report.

    Raises
    ------
    ConflictError
        Where the person has not answered anything yet.
    """
    of = check_id(command.person, "person")
    with unit_of_work(programme, person, now, Role.LEAD, "say whose errors apply"):
        pass
    region = programme.settings.regions[0]
    known = learn_observers(programme, region).get(of)
    if known is None:
        raise ConflictError("nothing is known of this person's errors yet. Let them practise.")
    compiled = programme_library(programme).compiled
    text = errors_to_text(known.errors.own_errors(compiled), compiled)
    hash_ = errors_hash(text)
    with unit_of_work(programme, person, now, Role.LEAD, "say whose errors apply") as unit:
        person_of(unit.connection, of)
        at = time_text(now)
        store.keep_errors(unit.connection, hash_, of, at, known.answers, text)
        row = {"id": of, "errors": f"{OWN}{hash_[:_HASH]}"}
        change_keyed(unit.connection, unit.act, "use own errors", person_table, row)
        return person_of(unit.connection, of)
