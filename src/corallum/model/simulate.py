"""Draw colonies and an observer's reports from the model itself.

Draws the same slips that the likelihood allows for: conditions, misread groups,
confused states, misjudged sizes, characters that do not apply.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.model.compiled import CompiledCharacter, CompiledReference, Floats
from corallum.model.errors import size_error
from corallum.model.evidence import Evidence, SizeEvidence, StateEvidence, condition_odds
from corallum.model.likelihood import Kernel

__all__ = ["Simulated", "simulate"]


@dataclass(frozen=True, slots=True)
class Simulated:
    """N colonies and what was reported of them.

    Attributes
    ----------
    genus, form, condition : ndarray of int, shape (N,)
        The truth; genus G and form NF - 1 are "something else".
    evidence : Evidence
        The reports.
    """

    genus: NDArray[np.int64]
    form: NDArray[np.int64]
    condition: NDArray[np.int64]
    evidence: Evidence


def simulate(
    kernel: Kernel,
    prior: Floats,
    looked_at: NDArray[np.bool_],
    rng: np.random.Generator,
    *,
    method: str = "eye",
    readings: int = 3,
) -> Simulated:
    """Draw colonies from a prior and report them with a kernel's errors.

    Parameters
    ----------
    kernel : Kernel
        The observer.
    prior : ndarray, shape (G + 1,)
        P(genus), "something else" last.
    looked_at : ndarray of bool, shape (N, C)
        Which characters are reported of which colony.
    rng : numpy.random.Generator
        Source of randomness.
    method, readings : str, int
        How sizes are judged.

    Returns
    -------
    Simulated
        The truth and the evidence.
    """
    compiled = kernel.compiled
    n = len(looked_at)
    genus = rng.choice(len(prior), size=n, p=prior / prior.sum())
    form = _draw_forms(compiled, genus, rng)
    odds = condition_odds(compiled, ())
    condition = rng.choice(len(odds), size=n, p=odds)
    reporter = _Reporter(kernel, condition, rng, method, readings)
    states, sizes = {}, {}
    for index, group in enumerate(compiled.groups):
        read_as = _misread(kernel, index, form, rng)
        for c in group.members:
            if not looked_at[:, c].any():
                continue
            if compiled.characters[c].is_size:
                sizes[c] = reporter.size(c, read_as, looked_at[:, c])
            else:
                states[c] = reporter.states(c, read_as, looked_at[:, c])
    evidence = Evidence(n, states, sizes, np.tile(odds, (n, 1)))
    return Simulated(genus, form, condition, evidence)


def _draw_forms(
    compiled: CompiledReference, genus: NDArray[np.int64], rng: np.random.Generator
) -> NDArray[np.int64]:
    """Draw a form of each genus by its weight."""
    total = np.cumsum(compiled.form_weight)
    starts = compiled.genus_starts
    ends = np.append(starts[1:], compiled.n_forms)
    before = total[starts[genus]] - compiled.form_weight[starts[genus]]
    point = before + rng.random(len(genus)) * (total[ends[genus] - 1] - before)
    drawn = np.searchsorted(total, point, side="right")
    form: NDArray[np.int64] = np.clip(drawn, starts[genus], ends[genus] - 1)
    return form


def _misread(
    kernel: Kernel, group: int, form: NDArray[np.int64], rng: np.random.Generator
) -> NDArray[np.int64]:
    """Return the form as which a group is read."""
    base = kernel.compiled.base_weight
    other = rng.choice(len(base), size=len(form), p=base / base.sum())
    return np.where(rng.random(len(form)) < kernel.misread[group], other, form)


class _Reporter:
    """Reports single characters of N colonies."""

    def __init__(
        self,
        kernel: Kernel,
        condition: NDArray[np.int64],
        rng: np.random.Generator,
        method: str,
        readings: int,
    ) -> None:
        self.kernel, self.condition, self.rng = kernel, condition, rng
        self.method, self.readings = method, readings

    def states(
        self, c: int, form: NDArray[np.int64], looked_at: NDArray[np.bool_]
    ) -> StateEvidence:
        """Report one character with states; codes are columns plus one."""
        table = self.kernel.tables[c]
        shares = table.T[form] if table.ndim == 2 else table[self.condition, :, form]
        point = self.rng.random(len(form))
        drawn = (np.cumsum(shares, axis=1) < point[:, None] * shares.sum(axis=1)[:, None]).sum(
            axis=1
        )
        width = shares.shape[1]
        codes = np.where(looked_at, np.minimum(drawn, width - 1) + 1, 0).astype(np.int32)
        masks = np.vstack([np.zeros(width, dtype=np.bool_), np.eye(width, dtype=np.bool_)])
        return StateEvidence(codes, masks, np.ones(width + 1, dtype=np.bool_))

    def size(self, c: int, form: NDArray[np.int64], looked_at: NDArray[np.bool_]) -> SizeEvidence:
        """Report one size, or that it does not apply."""
        character = self.kernel.compiled.characters[c]
        n = len(form)
        slip = self.kernel.compiled.settings.inapplicable
        does = self.rng.random(n) < character.applies[form]
        slipped = self.rng.random(n) < slip
        none = (does == slipped) & character.conditional & looked_at
        own = character.known[form] & (does | (not character.conditional))
        source = np.where(own, form, self._any_form(character, n))
        value = self._reported(character, source)
        value = np.where(looked_at & ~none, value, np.nan)
        return SizeEvidence(
            value, np.full(n, float(self.readings)), (self.method,) * n, np.ones(n, np.bool_), none
        )

    def _any_form(self, character: CompiledCharacter, n: int) -> NDArray[np.int64]:
        """Draw forms at the base rate of a size."""
        return self.rng.choice(len(character.mixture), size=n, p=character.mixture)

    def _reported(self, character: CompiledCharacter, form: NDArray[np.int64]) -> Floats:
        """Log of the size that the observer reports."""
        compiled = self.kernel.compiled
        variance, bias = size_error(compiled, self.method, self.readings, self.kernel.observer)
        spread = np.sqrt(character.log_sd[form] ** 2 + variance)
        value = self.rng.normal(character.log_mean[form] + bias, spread)
        if character.log_shift.size:
            value = value + character.log_shift[self.condition]
        low, high = np.log(character.least), np.log(character.most)
        gross = self.rng.random(len(form)) < compiled.settings.size_tail
        reported: Floats = np.where(gross, self.rng.uniform(low, high, len(form)), value)
        return reported
