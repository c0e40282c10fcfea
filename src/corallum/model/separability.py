"""Which pairs of genera no look can tell apart, and which a skeleton can.

Worked out from the numbers for every pair: colonies of each genus are drawn,
every character is reported without error, and the better of two equally probable
genera is named.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass

import numpy as np

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import Observer
from corallum.model.evidence import Evidence
from corallum.model.likelihood import Kernel
from corallum.model.posterior import log_likelihood
from corallum.model.simulate import simulate

__all__ = ["Pair", "find_pairs"]


@dataclass(frozen=True, slots=True)
class Pair:
    """Two genera, and the chance of naming the right one in water and by skeleton."""

    a: str
    b: str
    in_water: float
    with_skeleton: float


def find_pairs(
    compiled: CompiledReference,
    region: str | None,
    rng: np.random.Generator,
    *,
    draws: int = 200,
    progress: Callable[[float], None] = lambda _: None,
    among: Collection[str] = (),
) -> tuple[Pair, ...]:
    """Rank the pairs of a region by how poorly the water separates them.

    Parameters
    ----------
    region : str or None
        Only genera listed there (a prior above the off-list share); None for all.
    rng : numpy.random.Generator
        Source of randomness.
    draws : int
        Colonies drawn of each genus.
    progress : callable
        Is told the share done, 0 to 1.
    among : collection of str
        Genera whose pairs are wanted, listed or not; none is all that are listed.

    Returns
    -------
    tuple of Pair
        All pairs, the least separable first. 0.5 means that nothing tells them
        apart; the standard error of a figure is at most ``0.35 / sqrt(draws)``.
    """
    wanted = _listed(compiled, region)
    if among:
        wanted = [i for i, name in enumerate(compiled.genera) if name in among]
    water = _better(compiled, wanted, ("w", "l"), rng, draws, lambda s: progress(s / 2))
    all_ = _better(compiled, wanted, ("w", "l", "k"), rng, draws, lambda s: progress(0.5 + s / 2))
    pairs = [
        Pair(compiled.genera[i], compiled.genera[j], float(water[m, n]), float(all_[m, n]))
        for m, i in enumerate(wanted)
        for n, j in enumerate(wanted)
        if m < n
    ]
    return tuple(sorted(pairs, key=lambda pair: pair.in_water))


def _listed(compiled: CompiledReference, region: str | None) -> list[int]:
    """Genera on the list of a region."""
    if region is None:
        return list(range(len(compiled.genera)))
    prior = compiled.priors[region]["mixed"][:-1]
    return np.flatnonzero(prior > 2 * compiled.settings.prior_off_list).tolist()


def _better(
    compiled: CompiledReference,
    wanted: list[int],
    seen: tuple[str, ...],
    rng: np.random.Generator,
    draws: int,
    progress: Callable[[float], None],
) -> Floats:
    """Chance of naming the better of each pair, shape (wanted, wanted)."""
    kernel = Kernel(compiled, Observer.EXACT)
    looked = np.array([character.seen in seen for character in compiled.characters])
    right = np.zeros((len(wanted), len(wanted)))
    for m, genus in enumerate(wanted):
        prior = np.zeros(len(compiled.genera) + 1)
        prior[genus] = 1.0
        drawn = simulate(kernel, prior, np.tile(looked, (draws, 1)), rng)
        logs = _genus_log_likelihood(kernel, drawn.evidence, draws)[:, wanted]
        own = logs[:, m : m + 1]
        right[m] = (1 / (1 + np.exp(-np.abs(own - logs)))).mean(axis=0)
        progress((m + 1) / len(wanted))
    return (right + right.T) / 2


def _genus_log_likelihood(kernel: Kernel, evidence: Evidence, n: int) -> Floats:
    """Log P(evidence | genus), shape (n, G + 1)."""
    compiled = kernel.compiled
    groups = kernel.groups(evidence)
    logs = log_likelihood(groups, n, compiled.n_forms) + kernel.log_weight
    top = logs.max(axis=1, keepdims=True)
    total: Floats = np.log(compiled.genus_sum(np.exp(logs - top)) + 1e-300) + top
    return total
