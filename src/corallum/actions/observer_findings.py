"""What is known of one observer: what a report of them rests on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from scipy.special import betaincinv

from corallum.actions.observer_errors import ObserverErrors, learn_observers
from corallum.actions.people import list_people
from corallum.actions.programme_reference import programme_library
from corallum.actions.qualifications import SurveyRight, survey_rights
from corallum.errors import Fault, InputError
from corallum.model.compiled import CompiledReference
from corallum.model.prior import genus_prior
from corallum.observers.genus_confusions import Confusion
from corallum.records.programme import Person, Role
from corallum.store.programme import Programme

__all__ = ["GenusKnown", "ObserverFindings", "find_observer", "observer_findings"]

_MOST_ROWS = 20


@dataclass(frozen=True, slots=True)
class GenusKnown:
    """How often a genus is named right: mean and 90 % interval (0 to 1), and the answers."""

    genus: str
    looks: float
    right: float
    mean: float
    low: float
    high: float
    group: float


@dataclass(frozen=True, slots=True, eq=False)
class ObserverFindings:
    """All that is known of an observer.

    Parameters
    ----------
    person, region : Person, str
        Who, and whose mix of genera counts.
    known : ObserverErrors or None
        Their errors; None before the first answer.
    genera : tuple of GenusKnown
        Genera that were shown, the least known first.
    confusions : tuple of Confusion
        Genera taken for others, the most costly to the survey first.
    pair : (str, str, float) or None
        Two genera that are mixed up most.
    right : SurveyRight or None
        What they may record on the day.
    """

    person: Person
    region: str
    known: ObserverErrors | None
    genera: tuple[GenusKnown, ...]
    confusions: tuple[Confusion, ...]
    pair: tuple[str, str, float] | None
    right: SurveyRight | None


def find_observer(programme: Programme, name: str) -> Person:
    """Return an observer by name or id.

    Raises
    ------
    InputError
        With the names of those that there are.
    """
    people = [one for one in list_people(programme) if one.role.covers(Role.OBSERVER)]
    for one in people:
        if name == one.id or name.casefold() == one.name.casefold():
            return one
    known = ", ".join(one.name for one in people)
    raise InputError([Fault("observer", "", f"one of {known}", repr(name)[:60], "Use a name.")])


def observer_findings(programme: Programme, person: Person, now: datetime) -> ObserverFindings:
    """Find what is known of an observer."""
    region = programme.settings.regions[0]
    compiled = programme_library(programme).compiled
    known = learn_observers(programme, region).get(person.id)
    rights = survey_rights(programme, region, now.date())
    right = next((one for one in rights if one.person == person.id), None)
    if known is None:
        return ObserverFindings(person, region, None, (), (), None, right)
    shares = genus_prior(compiled, region)[:-1]
    return ObserverFindings(
        person, region, known, _genera(known, compiled),
        tuple(known.confusions.worst(compiled, shares, _MOST_ROWS)),
        known.confusions.worst_pair(compiled, shares), right,
    )  # fmt: skip


def _genera(known: ObserverErrors, compiled: CompiledReference) -> tuple[GenusKnown, ...]:
    """Return how often each genus that was shown is named right, the least known first."""
    mixed = known.confusions
    found = []
    for g in np.flatnonzero(mixed.seen.sum(axis=1) > 0).tolist():
        a = float(mixed.counts[g, g])
        b = float(mixed.counts[g].sum()) - a
        low, high = betaincinv(a, b, [0.05, 0.95])
        found.append(GenusKnown(
            compiled.genera[g], float(mixed.seen[g].sum()), float(mixed.seen[g, g]), a / (a + b),
            float(low), float(high), float(mixed.group[g, g]),
        ))  # fmt: skip
    return tuple(sorted(found, key=lambda one: (one.mean, one.genus)))
