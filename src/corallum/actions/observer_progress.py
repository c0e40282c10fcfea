"""How an observer gets on: set by set, on a pair of genera, and in ability."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from corallum.actions.qualification_steps import same_colony
from corallum.practice.ability import Ability, ability_of, shrunken_difficulty
from corallum.practice.item import Item
from corallum.practice.kept import KeptAnswer
from corallum.store import practice as store
from corallum.store.programme import Programme

__all__ = ["Abilities", "SetProgress", "abilities", "progress_of"]

_MOST_ITEMS = 600


@dataclass(frozen=True, slots=True)
class SetProgress:
    """One set as one person answered it.

    ``pair_right`` of ``pair_looks`` answers to the genera asked about were right.
    """

    practice_set: str
    title: str
    at: datetime
    answers: int
    right: int
    score: float
    pair_looks: int
    pair_right: int


@dataclass(frozen=True, slots=True)
class Abilities:
    """Abilities by person, and difficulties of the items that most people answered.

    ``hardest`` are (item, difficulty, its standard deviation, answers, right), in logits.
    """

    people: Mapping[str, Ability]
    hardest: Sequence[tuple[Item, float, float, int, int]]


def progress_of(
    programme: Programme, person: str, genera: Sequence[str] = ()
) -> tuple[SetProgress, ...]:
    """Return a person's sets in the order in which they were begun.

    Parameters
    ----------
    genera : sequence of str
        Genera whose answers are counted apart, such as a pair that is mixed up.
    """
    with programme.read() as connection:
        kept = store.all_answers(connection, person=person)
        order = list(dict.fromkeys(one.practice_set for one in kept))
        sets = {id_: store.set_of(connection, id_) for id_ in order}
    found = []
    for id_ in order:
        own = [one for one in kept if one.practice_set == id_]
        pair = [one for one in own if sets[id_].items[one.item].genus in genera]
        found.append(
            SetProgress(id_, sets[id_].title, own[0].at, len(own), sum(one.right for one in own),
                        sum(one.score for one in own) / len(own), len(pair),
                        sum(one.right for one in pair))
        )  # fmt: skip
    return tuple(found)


def abilities(programme: Programme) -> Abilities:
    """Return abilities and difficulties by the one-parameter model, few answers shrunk."""
    with programme.read() as connection:
        kept = store.all_answers(connection)
        sets = {id_: store.set_of(connection, id_) for id_ in {one.practice_set for one in kept}}
    items: dict[tuple[str, str, int, str], Item] = {}
    first: dict[tuple[str, tuple[str, str, int, str]], KeptAnswer] = {}
    for one in kept:
        item = sets[one.practice_set].items[one.item]
        key = same_colony(item)
        if key in items or len(items) < _MOST_ITEMS:
            items.setdefault(key, item)
            first.setdefault((one.person, key), one)
    people = list(dict.fromkeys(person for person, _ in first))
    if not people:
        return Abilities({}, ())
    keys = list(items)
    table = np.full((len(people), len(keys)), np.nan)
    for (person, key), one in first.items():
        table[people.index(person), keys.index(key)] = float(one.right)
    hard = shrunken_difficulty(table)
    known = {
        person: ability_of(row, hard.mean, sd=hard.sd)
        for person, row in zip(people, table, strict=True)
    }
    asked = (~np.isnan(table)).sum(axis=0)
    right = np.nansum(table, axis=0)
    order = np.argsort(-hard.mean, kind="stable")[:12].tolist()
    return Abilities(
        known,
        [(items[keys[i]], float(hard.mean[i]), float(hard.sd[i]), int(asked[i]), int(right[i]))
         for i in order],
    )  # fmt: skip
