"""The model against colonies drawn from itself: proves the code, not the reference.

Bounds are those set for the project, for 20,000 colonies a region or more: with
80,000, the share of right answers in a bin has a standard error below .006.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from corallum.model.evidence import Evidence
from corallum.model.likelihood import GroupLikelihood, Kernel
from corallum.model.posterior import posterior
from corallum.model.prior import genus_prior
from corallum.model.simulate import simulate
from corallum.reference.genera import REGIONS
from support import compiled, random_looks

pytestmark = pytest.mark.calibration

COLONIES = 80_000
SEED = 20261125
CHUNK = 1000


@dataclass(frozen=True)
class Outcome:
    """How N simulated colonies were determined."""

    held: np.ndarray
    mass: np.ndarray
    top: np.ndarray
    right: np.ndarray


class Twice(Kernel):
    """A kernel that counts all evidence twice: the negative control."""

    def groups(self, evidence: Evidence) -> list[GroupLikelihood]:
        """Square every likelihood."""
        return [replace(g, likelihood=g.likelihood**2) for g in super().groups(evidence)]


def determine(drawn_by: Kernel, judged_by: Kernel, region: str | None, n: int) -> Outcome:
    """Draw colonies by one kernel and determine them by another."""
    rng = np.random.default_rng(SEED)
    prior = genus_prior(compiled(), region)
    parts = []
    for _ in range(0, n, CHUNK):
        drawn = simulate(drawn_by, prior, random_looks(CHUNK, rng), rng)
        genus = posterior(judged_by, drawn.evidence, prior).genus
        order = np.argsort(-genus, axis=1)
        total = np.cumsum(np.take_along_axis(genus, order, axis=1), axis=1)
        size = (total < 0.9 - 1e-12).sum(axis=1) + 1
        rank = (order == drawn.genus[:, None]).argmax(axis=1)
        mass = total[np.arange(CHUNK), size - 1]
        parts.append((rank < size, mass, genus.max(axis=1), rank == 0))
    return Outcome(*(np.concatenate(column) for column in zip(*parts, strict=True)))


@cache
def outcome(region: str) -> Outcome:
    """Colonies of one region, determined with the errors they were drawn with."""
    kernel = Kernel(compiled())
    return determine(kernel, kernel, region, COLONIES)


@pytest.mark.parametrize("region", REGIONS)
def test_sets_hold_the_truth_as_often_as_they_say(region: str) -> None:
    """The share of 90 % sets that hold the truth equals their mass, and is at least .9."""
    found = outcome(region)
    print(f"\n{region}: {len(found.held)} colonies, held {found.held.mean():.4f}, "
          f"stated {found.mass.mean():.4f}")  # fmt: skip
    assert abs(found.held.mean() - found.mass.mean()) <= 0.01
    assert found.held.mean() >= 0.9


@pytest.mark.parametrize("region", REGIONS)
def test_the_leading_genus_is_right_as_often_as_it_says(region: str) -> None:
    """In ten equal-count bins the leading probability stays within three points of the truth."""
    found = outcome(region)
    bins = np.array_split(np.argsort(found.top), 10)
    gaps = np.array([found.top[b].mean() - found.right[b].mean() for b in bins])
    print(f"\n{region}: gaps by bin", np.round(gaps, 4).tolist())
    assert np.abs(gaps).max() <= 0.03


def test_sets_survive_an_observer_twice_as_wrong() -> None:
    """With true errors twice the assumed ones, sets still hold the truth for at least .8."""
    found = determine(Kernel(twice_as_wrong()), Kernel(compiled()), "indo_pacific", COLONIES)
    print(f"\nerrors doubled: held {found.held.mean():.4f}, stated {found.mass.mean():.4f}")
    assert found.held.mean() >= 0.8


def twice_as_wrong() -> CompiledReference:
    """The reference with every rate of confusion and misreading, and every size error, doubled."""
    base = compiled()
    characters = tuple(
        replace(c, errors=_doubled(c.errors)) if c.errors.size else c for c in base.characters
    )
    groups = tuple(replace(g, misread=2 * g.misread) for g in base.groups)
    methods = {
        id_: replace(
            m,
            observer_sd=(2 * m.observer_sd[0], 2 * m.observer_sd[1]),
            each_sd=2 * m.each_sd,
            bias=(2 * m.bias[0], 2 * m.bias[1]),
        )
        for id_, m in base.methods.items()
    }
    return replace(base, characters=characters, groups=groups, methods=methods)


def _doubled(errors: np.ndarray) -> np.ndarray:
    """Double the off-diagonal of P(reported | true), at most to certainty."""
    doubled = 2 * errors
    size = errors.shape[-1]
    doubled[:, range(size), range(size)] = 0
    total = doubled.sum(axis=2, keepdims=True)
    doubled = np.where(total > 1, doubled / np.maximum(total, 1e-12), doubled)
    doubled[:, range(size), range(size)] = 1 - doubled.sum(axis=2)
    return doubled


def test_evidence_counted_twice_is_caught() -> None:
    """Negative control: a kernel that counts evidence twice breaks both bounds."""
    found = determine(Kernel(compiled()), Twice(compiled()), "indo_pacific", COLONIES)
    gap = abs(found.held.mean() - found.mass.mean())
    bins = np.array_split(np.argsort(found.top), 10)
    worst = max(abs(found.top[b].mean() - found.right[b].mean()) for b in bins)
    print(
        f"\nevidence twice: held {found.held.mean():.4f}, stated {found.mass.mean():.4f}, "
        f"{worst=:.3f}"
    )
    assert gap > 0.01
    assert worst > 0.03


def test_default_errors_are_between_a_trained_and_a_new_observer() -> None:
    """An unknown observer is right less often than a trained one, more often than a new one."""
    sizes = {}
    for observer in (Observer.TRAINED, Observer.UNKNOWN, Observer.NEW):
        kernel = Kernel(compiled(), observer)
        found = determine(kernel, kernel, "indo_pacific", 6000)
        sizes[observer] = found.right.mean()
    assert sizes[Observer.TRAINED] > sizes[Observer.UNKNOWN] > sizes[Observer.NEW]
