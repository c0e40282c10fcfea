"""What several tests share: the shipped reference, read once, and colonies in a few words."""

from __future__ import annotations

from functools import cache

import numpy as np

from corallum.actions.references import Library
from corallum.model.answer import Determiner
from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from corallum.records.answer import Answer
from corallum.records.colony import Colony, Report, SizeReport, StateReport


@cache
def library() -> Library:
    """The shipped reference."""
    return Library()


def compiled() -> CompiledReference:
    """The shipped reference, compiled."""
    return library().compiled


@cache
def determiner(observer: Observer = Observer.UNKNOWN) -> Determiner:
    """A determiner on the shipped reference."""
    return Determiner(compiled(), observer)


def colony(
    *, region: str | None = None, conditions: tuple[str, ...] = (), **observations: object
) -> Colony:
    """A colony from plain values: a state, a list of states, or a size in the unit of the id."""
    reports: dict[str, Report] = {}
    for id_, value in observations.items():
        if isinstance(value, str):
            reports[id_] = StateReport((value,))
        elif isinstance(value, list):
            reports[id_] = StateReport(tuple(value))
        elif isinstance(value, StateReport | SizeReport):
            reports[id_] = value
        else:
            reports[id_] = SizeReport(float(value), 5, "ruler")  # type: ignore[arg-type]
    return Colony("c", reports, region, None, conditions)


def answer(*, observer: Observer = Observer.UNKNOWN, **what: object) -> Answer:
    """The answer for a colony from plain values."""
    return determiner(observer).determine(colony(**what))  # type: ignore[arg-type]


def probability(found: Answer, genus: str) -> float:
    """Probability of a genus in an answer."""
    return next((c.probability for c in found.candidates if c.genus == genus), 0.0)


def leader(found: Answer) -> str | None:
    """Most probable genus of an answer."""
    return found.candidates[0].genus


def random_looks(n: int, rng: np.random.Generator, least: int = 6, most: int = 12) -> np.ndarray:
    """Which characters are looked at, chosen blind to the form, (n, C)."""
    seen = np.flatnonzero([c.seen in ("w", "l") for c in compiled().characters])
    looks = np.zeros((n, len(compiled().characters)), dtype=np.bool_)
    for row in looks:
        row[rng.choice(seen, rng.integers(least, most + 1), replace=False)] = True
    return looks
