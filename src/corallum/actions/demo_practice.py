"""Practice of the invented reserve: invented observers answer, each with errors of their own.

Observer 3 calls shared and separate walls the other way, and so mixes up two genera;
nothing else in the programme knows that.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from corallum.actions.practice_answers import AnswerItem, answer_item
from corallum.actions.practice_sets import MakeSet, NoteItem, make_set, note_item
from corallum.actions.programme_reference import programme_library
from corallum.actions.qualifications import BeginTest, begin_test, list_tests, standing
from corallum.model.compiled import CompiledReference
from corallum.practice.item import Item
from corallum.store.programme import Programme

__all__ = ["MIXED_UP", "invent_practice"]

MIXED_UP = ("Dipsastraea", "Favites")
# Days ago, and what for.
_ROUNDS = ((21, "common"), (14, "pair"), (6, "mixed"))
_WALLS = {"plocoid": "cerioid", "cerioid": "plocoid"}
_SIZE = 14


@dataclass(frozen=True, slots=True)
class _Answerer:
    """An invented observer: share named right, slips in looks, and judgement of sizes (log)."""

    names_right: float
    slips: float
    bias: float
    spread: float
    sure: float


_ANSWERERS = {
    "Observer 1": _Answerer(0.97, 0.03, 0.02, 0.15, 0.9),
    "Observer 2": _Answerer(0.85, 0.08, 0.15, 0.3, 0.8),
    "Observer 3": _Answerer(0.86, 0.12, 0.1, 0.35, 0.9),
    "Observer 4": _Answerer(0.75, 0.15, -0.05, 0.4, 0.7),
}


def invent_practice(
    programme: Programme, people: Mapping[str, str], now: datetime, rng: np.random.Generator
) -> None:
    """Let the invented observers answer three sets each, and Observer 1 pass a test.

    Parameters
    ----------
    people : mapping of str to str
        Id by name.
    now : datetime
        The sets lie days before it.
    """
    lead = people["Lead"]
    compiled = programme_library(programme).compiled
    for days, purpose in _ROUNDS:
        at = now - timedelta(days=days)
        genera = MIXED_UP if purpose == "pair" else ()
        title = {"common": "Commonest genera", "pair": "Walls: shared or separate",
                 "mixed": "Mixed, before the survey"}[purpose]  # fmt: skip
        command = MakeSet(title, purpose, size=_SIZE, genera=genera)
        made = make_set(programme, command, at, rng, lead)
        note = NoteItem(made.id, 0, "Invented note: look at the wall first, then at the size.")
        note_item(programme, note, at, rng, lead)
        for name, answerer in _ANSWERERS.items():
            for i, item in enumerate(made.items):
                given = at + timedelta(hours=2, seconds=40 * i)
                answer = _answer(compiled, name, answerer, item, rng)
                said = AnswerItem(made.id, i, answer[0], answer[1], answer[2], 35.0)
                answer_item(programme, said, given, rng, people[name])
    _pass_a_test(programme, people, now, rng)


def _answer(
    compiled: CompiledReference, name: str, answerer: _Answerer, item: Item,
    rng: np.random.Generator,
) -> tuple[tuple[str, ...], float, dict[str, object]]:  # fmt: skip
    """Invent what somebody says of an item."""
    reports: dict[str, object] = {}
    for id_ in item.pictured:
        if id_ != "corallite_arrangement" and rng.random() > 0.4:
            continue
        reports[id_] = _look(compiled, id_, item.shown[id_], answerer, rng)
    genus, sure = item.genus, answerer.sure
    wall = item.shown.get("corallite_arrangement")
    if name == "Observer 3" and genus in MIXED_UP and wall in _WALLS and rng.random() < 0.7:
        reports["corallite_arrangement"] = _WALLS[str(wall)]
        genus = MIXED_UP[1 - MIXED_UP.index(genus)]
    elif rng.random() > answerer.names_right:
        others = [one for one in item.best if one != genus][:3] or list(compiled.genera[:3])
        genus, sure = others[int(rng.integers(len(others)))], 0.7
    return (genus,), sure, reports


def _look(
    compiled: CompiledReference,
    id_: str,
    true: str | float,
    answerer: _Answerer,
    rng: np.random.Generator,
) -> object:
    """Invent one report of a look."""
    if not isinstance(true, str):
        judged = true * float(np.exp(rng.normal(answerer.bias, answerer.spread)))
        return {"value": float(f"{judged:.2g}"), "method": "eye"}
    character = compiled.characters[compiled.character_index[id_]]
    if rng.random() > answerer.slips:
        return true
    near = character.taken_for[character.states.index(true)] or range(len(character.states))
    return character.states[int(rng.choice(np.array(near)))]


def _pass_a_test(
    programme: Programme, people: Mapping[str, str], now: datetime, rng: np.random.Generator
) -> None:
    """Let Observer 1 take a test and pass it."""
    at = now - timedelta(days=2)
    who = people["Observer 1"]
    test = begin_test(programme, BeginTest(who), at, rng, people["Lead"])
    _, found = standing(programme, test)
    for i, item in enumerate(found.items):
        said = AnswerItem(found.id, i, (item.genus,), 0.9, {}, 20.0)
        given = at + timedelta(minutes=i + 1)
        answer_item(programme, said, given, rng, who)
        if list_tests(programme, who)[0].outcome != "open":
            return
