"""Likelihood of the reports, form by form, one evidence group at a time.

Inside a form, reports are independent up to the misreading of a whole group: with
probability e the observer read the group as some other form's. Where conditions
act, one latent condition acts on the whole group.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from corallum.model.compiled import CompiledCharacter, CompiledReference, Floats
from corallum.model.errors import Errors, Observer, size_error, state_errors
from corallum.model.evidence import Evidence, SizeEvidence, StateEvidence

__all__ = ["GroupLikelihood", "Kernel", "size_density"]

_SQRT_TAU = np.sqrt(2 * np.pi)


@dataclass(frozen=True, slots=True)
class GroupLikelihood:
    """Likelihood of one group's reports for N colonies.

    Attributes
    ----------
    group : int
        Index of the group.
    clean : ndarray, shape (N, NF) or (N, K + 1, NF)
        Without misreading; by condition where conditions act.
    likelihood : ndarray, shape (N, NF)
        With it.
    """

    group: int
    clean: Floats
    likelihood: Floats


class Kernel:
    """Tables of what an observer reports, ready to be looked up.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    observer : Observer or OwnErrors
        Whose errors to assume.
    misread : bool
        Whether whole groups can be misread. Off only in checks.
    """

    def __init__(
        self,
        compiled: CompiledReference,
        observer: Errors = Observer.UNKNOWN,
        *,
        misread: bool = True,
    ) -> None:
        self.compiled = compiled
        self.observer = observer
        exact = observer is Observer.EXACT or not misread
        self.misread = np.array([0.0 if exact else g.misread for g in compiled.groups])
        self.log_weight = np.log(compiled.form_weight)

    @cached_property
    def tables(self) -> tuple[Floats, ...]:
        """P(report | form) of each character, shape (S + 1, NF) or (K + 1, S + 1, NF)."""
        return tuple(
            np.zeros(0) if character.is_size else self._table(character)
            for character in self.compiled.characters
        )

    def _table(self, character: CompiledCharacter) -> Floats:
        """Pass the true states through conditions and errors."""
        errors = state_errors(character, self.observer)
        if not character.flips.size:
            return np.ascontiguousarray((character.true @ errors).T)
        moved = character.true @ character.flips @ errors
        return np.ascontiguousarray(moved.transpose(0, 2, 1))

    def groups(self, evidence: Evidence) -> list[GroupLikelihood]:
        """Likelihood of every group that has a report."""
        found = []
        for index, group in enumerate(self.compiled.groups):
            members = [c for c in group.members if c in evidence.states or c in evidence.sizes]
            if members:
                found.append(self._group(index, members, evidence))
        return found

    def _group(self, index: int, members: list[int], evidence: Evidence) -> GroupLikelihood:
        """Multiply the reports of one group, then let it be misread."""
        acts = self.compiled.groups[index].conditions_act
        clean = np.ones((1, 1, 1) if acts else (1, 1))
        for c in members:
            clean = clean * self.report(c, evidence)
        mixed = np.einsum("nk,nkf->nf", evidence.conditions, clean) if acts else clean
        return GroupLikelihood(index, clean, self.slip(index, mixed))

    def slip(self, group: int, likelihood: Floats) -> Floats:
        """Let a group be misread as another form's: (1 - e) L + e sum_h b_h L_h."""
        rate = self.misread[group]
        if not rate:
            return likelihood
        base = likelihood @ self.compiled.base_weight
        mixed: Floats = (1 - rate) * likelihood + rate * base[..., None]
        return mixed

    def report(self, c: int, evidence: Evidence) -> Floats:
        """Likelihood of one character's reports, (N, NF) or (N, K + 1, NF) where conditions act."""
        if c in evidence.states:
            return self._state_report(c, evidence.states[c])
        return self._size_report(c, evidence.sizes[c])

    def _state_report(self, c: int, reports: StateEvidence) -> Floats:
        """Look up each distinct report once, then spread it over the colonies."""
        rows = reports.masks.astype(np.float64) @ self.tables[c]
        if rows.ndim == 3:
            rows = rows.transpose(1, 0, 2)
        rows = self._unsure(rows, reports.sure.reshape((-1,) + (1,) * (rows.ndim - 1)))
        rows[0] = 1.0
        return rows[reports.codes]

    def _unsure(self, likelihood: Floats, sure: NDArray[np.bool_]) -> Floats:
        """Mix an unsure report with a guess at the base rate."""
        share = np.where(sure, 0.0, self.compiled.settings.unsure)
        mixed: Floats = (1 - share) * likelihood + share * likelihood[..., -1:]
        return mixed

    def _size_report(self, c: int, reports: SizeEvidence) -> Floats:
        """Density of each measured size in log units; 1 where not measured."""
        character = self.compiled.characters[c]
        errors = [
            size_error(self.compiled, method, int(n), self.observer)
            for method, n in zip(reports.method, reports.n, strict=True)
        ]
        variance, bias = np.array(errors).T
        measured = ~np.isnan(reports.log_value)
        value = np.where(measured, reports.log_value, 0.0) - bias
        density = size_density(self.compiled, character, value, variance)
        shape = (-1,) + (1,) * (density.ndim - 1)
        density = self._unsure(density, reports.sure.reshape(shape))
        density = np.where(measured.reshape(shape), density, 1.0)
        slip = self.compiled.settings.inapplicable
        outside = character.applies * slip + (1 - character.applies) * (1 - slip)
        none: Floats = np.where(reports.inapplicable.reshape(shape), outside, density)
        return none


def size_density(
    compiled: CompiledReference, character: CompiledCharacter, log_value: Floats, variance: Floats
) -> Floats:
    """Density of a reported size per unit of its log.

    Parameters
    ----------
    log_value, variance : ndarray, shape (N,)
        Log of the size, bias taken off, and variance of the report's error.

    Returns
    -------
    ndarray, shape (N, NF) or (N, K + 1, NF) where conditions act on the size
        Within a form, a log-normal with a thin tail over the plausible range;
        where the reference says nothing, the mixture over all forms.
    """
    value, spread = log_value[:, None], variance[:, None]
    if character.log_shift.size:
        value = value[:, None] - character.log_shift[:, None]
        spread = spread[:, None]
    total = np.sqrt(character.log_sd**2 + spread)
    within = np.exp(-0.5 * ((value - character.log_mean) / total) ** 2) / (total * _SQRT_TAU)
    tail = compiled.settings.size_tail
    within *= 1 - tail
    within += tail / np.log(character.most / character.least)
    base = (within @ character.mixture)[..., None]
    known: Floats = np.where(character.known, within, base)
    if not character.conditional:
        return known
    slip = compiled.settings.inapplicable
    density: Floats = character.applies * (1 - slip) * known + (1 - character.applies) * slip * base
    return density
