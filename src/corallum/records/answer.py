"""What the model answers for one colony."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Answer", "Candidate", "Fragile", "Limits", "NextLook", "Verdict", "Why", "WhyEntry"]


@dataclass(frozen=True, slots=True)
class Verdict:
    """The honest name, and what it still needs.

    ``genera`` is the smallest set that holds the wanted probability, most
    probable first; None in it stands for something that the reference does
    not hold. ``probability`` is the mass of that set (0 to 1).
    """

    status: str
    genera: tuple[str | None, ...]
    name: str
    probability: float
    rank: str
    needs: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A genus and its probability (0 to 1); genus None is something else."""

    genus: str | None
    family: str | None
    probability: float


@dataclass(frozen=True, slots=True)
class NextLook:
    """A character not yet reported, and what it is expected to tell (bits)."""

    character: str
    gain_bits: float
    seconds: float
    seen: str


@dataclass(frozen=True, slots=True)
class Fragile:
    """A report that, left out or misjudged as said, changes the verdict."""

    character: str
    change: str
    verdict: tuple[str | None, ...]
    probability: float


@dataclass(frozen=True, slots=True)
class WhyEntry:
    """One block of evidence and its weight in decibans for A against B."""

    character: str
    with_: tuple[str, ...]
    value: float


@dataclass(frozen=True, slots=True)
class Why:
    """What speaks for one genus against another, in decibans; the parts add up."""

    for_: str
    against: str
    decibans: tuple[WhyEntry, ...]
    form: float
    prior: float
    total: float


@dataclass(frozen=True, slots=True)
class Limits:
    """Expected probability of the best genus once all is seen without error."""

    best_in_water: float
    best_with_skeleton: float


@dataclass(frozen=True, slots=True)
class Answer:
    """Everything the model says of one colony."""

    id: str
    verdict: Verdict
    candidates: tuple[Candidate, ...]
    next_looks: tuple[NextLook, ...]
    fragile: tuple[Fragile, ...]
    why: Why | None
    limits: Limits
    cautions: tuple[str, ...]
    reference: str
