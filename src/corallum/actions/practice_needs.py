"""What one observer needs most: what is due again, and where the survey would gain."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from corallum.actions.programme_reference import programme_library
from corallum.model.prior import genus_prior
from corallum.practice.choose import Candidates, Choice, choose_next, grasp_of
from corallum.practice.kept import KeptAnswer
from corallum.practice.schedule import Answer, Memory, recall_chance, replay
from corallum.store import practice as store
from corallum.store.programme import Programme

__all__ = ["GenusNeed", "memories_of", "needs_of", "rank_needs"]

Floats = NDArray[np.float64]
_LEAST_SHARE = 1e-3


@dataclass(frozen=True, slots=True)
class GenusNeed:
    """One genus that an observer may practise.

    ``due`` is when the scheduler asks for it again (None: never practised), ``recall``
    the chance that it is still known.
    """

    genus: str
    gain: float
    reason: str
    due: datetime | None
    recall: float | None
    answers: int
    right: int


def _answered(programme: Programme, person: str) -> list[tuple[str, KeptAnswer]]:
    """Return the true genus of every answer of a person."""
    with programme.read() as connection:
        kept = store.all_answers(connection, person=person)
        sets = {id_: store.set_of(connection, id_) for id_ in {one.practice_set for one in kept}}
    return [(sets[one.practice_set].items[one.item].genus, one) for one in kept]


def memories_of(programme: Programme, person: str) -> dict[str, Memory]:
    """Return what the scheduler holds of each genus, from a person's answers alone."""
    return replay(
        Answer(genus, one.at, one.score, one.answer.confidence)
        for genus, one in _answered(programme, person)
    )


def rank_needs(
    programme: Programme, person: str, region: str, now: datetime
) -> tuple[GenusNeed, ...]:
    """Rank the genera of a region by what a person has to gain; due ones come first."""
    compiled = programme_library(programme).compiled
    shares = genus_prior(compiled, region)[:-1]
    met = np.flatnonzero(shares > _LEAST_SHARE)
    answered = [(g, one) for g, one in _answered(programme, person) if g in compiled.genera]
    memories = replay(
        Answer(genus, one.at, one.score, one.answer.confidence) for genus, one in answered
    )
    row = {int(g): i for i, g in enumerate(met.tolist())}
    known = [(row[compiled.genera.index(g)], one) for g, one in answered
             if compiled.genera.index(g) in row]  # fmt: skip
    grasp = grasp_of([i for i, _ in known], [float(one.right) for _, one in known], shares[met])
    held = [memories.get(compiled.genera[g]) for g in met.tolist()]
    candidates = Candidates(
        np.arange(len(met)),
        np.zeros(len(met)),
        np.array([np.nan if one is None else recall_chance(one, now) for one in held]),
        np.array([one is not None and one.due <= now for one in held]),
    )
    ranked = choose_next(candidates, grasp, most=len(met))
    return tuple(
        _need(choice, compiled.genera[int(met[choice.item])], held[choice.item], answered, now)
        for choice in ranked
    )


def _need(
    choice: Choice,
    genus: str,
    memory: Memory | None,
    answered: list[tuple[str, KeptAnswer]],
    now: datetime,
) -> GenusNeed:
    """Say what is to gain from one genus."""
    own = [one for name, one in answered if name == genus]
    return GenusNeed(
        genus, choice.gain, str(choice.reason), None if memory is None else memory.due,
        None if memory is None else recall_chance(memory, now), len(own),
        sum(one.right for one in own),
    )  # fmt: skip


def needs_of(
    programme: Programme, person: str, region: str, now: datetime
) -> tuple[Floats, tuple[str, ...]]:
    """Return weights and reasons by genus of the reference, for a set that a person needs.

    What is due is taken alone where there is any, as long as it lasts.
    """
    compiled = programme_library(programme).compiled
    ranked = rank_needs(programme, person, region, now)
    due = [one for one in ranked if one.due is not None and one.due <= now]
    weights = np.zeros(len(compiled.genera))
    reasons = [""] * len(compiled.genera)
    for one in due or ranked:
        g = compiled.genera.index(one.genus)
        weights[g] = 1.0 if due else one.gain
        tried = f" {one.right} of {one.answers} right so far." if one.answers else ""
        reasons[g] = f"{one.reason.capitalize()}.{tried}"
    return weights, tuple(reasons)
