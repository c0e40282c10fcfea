"""Where a reference will fail, and what its genera and characters are worth.

Simulates colonies of every genus of a region, reports them with an observer's
errors, and determines them again with the reference itself. Strata are genera:
the same number of colonies of each, weighed by the regional prior. All figures
are about the reference as written, not about the reef.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.model.compiled import Floats
from corallum.model.evidence import Evidence
from corallum.model.likelihood import GroupLikelihood, Kernel
from corallum.model.posterior import log_likelihood
from corallum.model.prior import genus_prior
from corallum.model.simulate import simulate

__all__ = ["Assessment", "CharacterWorth", "Figure", "GenusFate", "GenusWorth", "assess"]

# The first look of anybody: worth of a character added is measured on top of these.
_BASIC = ("growth_form", "corallite_arrangement")
_LOST_TO = 3


@dataclass(frozen=True, slots=True)
class Figure:
    """An estimate and its standard error."""

    value: float
    se: float


@dataclass(frozen=True, slots=True)
class GenusFate:
    """How often colonies of a genus are named right, and what else they are named."""

    genus: str
    prior: float
    named_right: Figure
    lost_to: tuple[tuple[str | None, float], ...]


@dataclass(frozen=True, slots=True)
class CharacterWorth:
    """Accuracy lost by dropping a character from all, and gained by adding it to the basic ones."""

    character: str
    dropped: Figure
    added: Figure


@dataclass(frozen=True, slots=True)
class GenusWorth:
    """What happens where a genus is left out of the reference.

    ``others`` is the gain in accuracy on the other genera (0 to 1); ``misnamed``
    is the share of its own colonies that would be settled as another genus.
    """

    genus: str
    others: Figure
    misnamed: Figure


@dataclass(frozen=True, slots=True)
class Assessment:
    """Expected performance of a reference in one region."""

    region: str | None
    colonies: int
    characters: tuple[str, ...]
    accuracy: Figure
    settled: Figure
    settled_wrong: Figure
    set_size: Figure
    coverage: Figure
    genera: tuple[GenusFate, ...]
    worth: tuple[CharacterWorth, ...]
    left_out: tuple[GenusWorth, ...]


def assess(
    kernel: Kernel,
    region: str | None,
    rng: np.random.Generator,
    *,
    per_genus: int = 50,
    seen: Sequence[str] = ("w",),
    progress: Callable[[float], None] = lambda _: None,
) -> Assessment:
    """Assess a reference by simulation.

    Parameters
    ----------
    kernel : Kernel
        The reference and the observer.
    region : str or None
        Region whose genera are drawn.
    rng : numpy.random.Generator
        Source of randomness.
    per_genus : int
        Colonies drawn of each genus.
    seen : sequence of str
        Characters reported: those seen in these ways.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    Assessment
        With standard errors of the simulation.
    """
    compiled = kernel.compiled
    prior = genus_prior(compiled, region)
    drawn = _Drawn(kernel, prior, tuple(seen))
    for i in range(len(drawn.genera)):
        drawn.add(i, per_genus, rng)
        progress((i + 1) / len(drawn.genera))
    return drawn.assessment(region, per_genus)


class _Drawn:
    """Results of all simulated colonies, genus by genus."""

    def __init__(self, kernel: Kernel, prior: Floats, seen: tuple[str, ...]) -> None:
        self.kernel, self.compiled, self.prior = kernel, kernel.compiled, prior
        floor = 2 * self.compiled.settings.prior_off_list
        self.genera = np.flatnonzero(prior[:-1] > floor)
        weight = prior[self.genera]
        self.weight = weight / weight.sum()
        self.looked = np.array([c.seen in seen for c in self.compiled.characters])
        self.characters = np.flatnonzero(self.looked)
        self.genus: list[Floats] = []
        self.dropped: list[NDArray[np.bool_]] = []
        self.added: list[NDArray[np.bool_]] = []

    def add(self, i: int, n: int, rng: np.random.Generator) -> None:
        """Draw and determine the colonies of one genus."""
        only = np.zeros(len(self.compiled.genera) + 1)
        only[self.genera[i]] = 1.0
        drawn = simulate(self.kernel, only, np.tile(self.looked, (n, 1)), rng)
        groups = {group.group: group for group in self.kernel.groups(drawn.evidence)}
        self.genus.append(self._determine(list(groups.values()), n))
        truth = self.genera[i]
        self.dropped.append(self._each(drawn.evidence, groups, truth, n, keep_rest=True))
        self.added.append(self._each(drawn.evidence, groups, truth, n, keep_rest=False))

    def _determine(self, groups: list[GroupLikelihood], n: int) -> Floats:
        """P(genus), shape (n, G + 1)."""
        logs = log_likelihood(groups, n, self.compiled.n_forms) + self.kernel.log_weight
        logs += np.log(self.prior)[self.compiled.form_genus]
        form = np.exp(logs - logs.max(axis=1, keepdims=True))
        genus = self.compiled.genus_sum(form)
        normalised: Floats = genus / genus.sum(axis=1, keepdims=True)
        return normalised

    def _each(
        self,
        evidence: Evidence,
        groups: dict[int, GroupLikelihood],
        truth: int,
        n: int,
        *,
        keep_rest: bool,
    ) -> NDArray[np.bool_]:
        """Whether colonies are named right with each character dropped, or added, (C, n)."""
        index = self.compiled.character_index
        basic = {index[id_] for id_ in _BASIC if id_ in index}
        right = np.zeros((len(self.characters) + 1, n), dtype=np.bool_)
        for row, c in enumerate([*self.characters.tolist(), -1]):
            kept = set(self.characters.tolist()) - {c} if keep_rest else basic | {c}
            kept.discard(-1)
            chosen = self._groups(evidence, groups, kept)
            right[row] = self._determine(chosen, n).argmax(axis=1) == truth
        return right

    def _groups(
        self, evidence: Evidence, groups: dict[int, GroupLikelihood], kept: set[int]
    ) -> list[GroupLikelihood]:
        """Likelihood of groups with only the kept characters; whole groups are re-used."""
        found = []
        for index, group in groups.items():
            reported = {
                c
                for c in self.compiled.groups[index].members
                if c in evidence.states or c in evidence.sizes
            }
            if reported <= kept:
                found.append(group)
            elif reported & kept:
                part = Evidence(
                    evidence.size,
                    {c: v for c, v in evidence.states.items() if c in kept & reported},
                    {c: v for c, v in evidence.sizes.items() if c in kept & reported},
                    evidence.conditions,
                )
                found.extend(self.kernel.groups(part))
        return found

    def _figure(self, values: Sequence[Floats]) -> Figure:
        """Stratified mean and its standard error."""
        means = np.array([v.mean() for v in values])
        variances = np.array([v.var(ddof=1) / len(v) for v in values])
        return Figure(float(self.weight @ means), float(np.sqrt(self.weight**2 @ variances)))

    def assessment(self, region: str | None, per_genus: int) -> Assessment:
        """Sum up."""
        mass = self.compiled.settings.set_mass
        right = [g.argmax(axis=1) == t for g, t in zip(self.genus, self.genera, strict=True)]
        top = [g.max(axis=1) >= mass for g in self.genus]
        in_reference = [g.argmax(axis=1) < len(self.compiled.genera) for g in self.genus]
        settled = [a & b for a, b in zip(top, in_reference, strict=True)]
        wrong = [s & ~r for s, r in zip(settled, right, strict=True)]
        sizes, holds = zip(*(self._sets(i, mass) for i in range(len(self.genera))), strict=True)
        return Assessment(
            region,
            per_genus * len(self.genera),
            tuple(self.compiled.characters[c].id for c in self.characters),
            self._figure([r.astype(float) for r in right]),
            self._figure([s.astype(float) for s in settled]),
            self._figure([w.astype(float) for w in wrong]),
            self._figure(sizes),
            self._figure(holds),
            tuple(self._fate(i, r) for i, r in enumerate(right)),
            self._worth(),
            tuple(self._without(i) for i in range(len(self.genera))),
        )

    def _sets(self, i: int, mass: float) -> tuple[Floats, Floats]:
        """Size of each colony's smallest set, and whether it holds the truth."""
        genus = self.genus[i]
        ordered = -np.sort(-genus, axis=1)
        size = (np.cumsum(ordered, axis=1) < mass - 1e-12).sum(axis=1) + 1
        least = ordered[np.arange(len(size)), size - 1]
        return size.astype(float), (genus[:, self.genera[i]] >= least).astype(float)

    def _fate(self, i: int, right: NDArray[np.bool_]) -> GenusFate:
        """Say what becomes of one genus."""
        named = self.genus[i].argmax(axis=1)
        counts = np.bincount(named, minlength=self.genus[i].shape[1]) / len(named)
        counts[self.genera[i]] = 0.0
        order = np.argsort(-counts, kind="stable")[:_LOST_TO]
        lost = tuple((self._name(j), float(counts[j])) for j in order.tolist() if counts[j] > 0)
        share = float(right.mean())
        # Two colonies more, one right and one wrong, keep the error of 0 and 1 above zero.
        held = (right.sum() + 1) / (len(right) + 2)
        se = float(np.sqrt(held * (1 - held) / (len(right) + 2)))
        genus = self.compiled.genera[self.genera[i]]
        return GenusFate(genus, float(self.weight[i]), Figure(share, se), lost)

    def _name(self, j: int) -> str | None:
        """Name of a genus, None for something else."""
        return self.compiled.genera[j] if j < len(self.compiled.genera) else None

    def _worth(self) -> tuple[CharacterWorth, ...]:
        """Worth of each character, the most missed first."""
        found = []
        for row, c in enumerate(self.characters.tolist()):
            dropped = [d[-1].astype(float) - d[row] for d in self.dropped]
            added = [a[row].astype(float) - a[-1] for a in self.added]
            id_ = self.compiled.characters[c].id
            found.append(CharacterWorth(id_, self._figure(dropped), self._figure(added)))
        return tuple(sorted(found, key=lambda worth: -worth.dropped.value))

    def _without(self, i: int) -> GenusWorth:
        """Determine everything again with one genus left out."""
        left = self.genera[i]
        mass = self.compiled.settings.set_mass
        gains = []
        for j, truth in enumerate(self.genera.tolist()):
            if j == i:
                gains.append(np.zeros(len(self.genus[j])))
                continue
            other = self.genus[j].copy()
            other[:, left] = 0.0
            before = self.genus[j].argmax(axis=1) == truth
            gains.append((other.argmax(axis=1) == truth).astype(float) - before)
        own = self.genus[i].copy()
        own[:, left] = 0.0
        own /= np.maximum(own.sum(axis=1, keepdims=True), 1e-300)
        misnamed = (own[:, :-1].max(axis=1) >= mass).astype(float)
        se = float(misnamed.std(ddof=1) / np.sqrt(len(misnamed)))
        genus = self.compiled.genera[left]
        return GenusWorth(genus, self._figure(gains), Figure(float(misnamed.mean()), se))
