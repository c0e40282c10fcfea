"""How well each report fits the truth, and the chance that it belongs to a misread group."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from corallum.model.compiled import Floats
from corallum.model.evidence import Evidence, StateEvidence
from corallum.model.likelihood import Kernel
from corallum.observers.answered import Answered
from corallum.observers.eye import EyePosterior

__all__ = ["Weighing"]


class Weighing:
    """The reports of one observer, ready to be weighed again and again.

    Parameters
    ----------
    kernel : Kernel
        Of an unknown observer: its base rates weigh whether a group was misread.
    answered : Answered
        Reports beside the truth.
    """

    def __init__(self, kernel: Kernel, answered: Answered) -> None:
        self.kernel, self.compiled, self.answered = kernel, kernel.compiled, answered
        self.known = _where_known(answered)
        self.base = self._base_rates()

    def _base_rates(self) -> Floats:
        """Likelihood at the base rate of all forms, (N, groups), of what has a truth beside it."""
        evidence = self.known.evidence
        base = np.ones((evidence.size, len(self.compiled.groups)))
        if not evidence.size:
            return base
        for k, group in enumerate(self.compiled.groups):
            members = [c for c in group.members if c in evidence.states or c in evidence.sizes]
            if not members:
                continue
            clean = np.ones(1)
            for c in members:
                clean = clean * self.kernel.report(c, evidence)
            mixed = clean @ self.compiled.base_weight
            base[:, k] = (mixed * evidence.conditions).sum(axis=1) if mixed.ndim == 2 else mixed
        return base

    def not_misread(
        self, counts: Mapping[int, Floats], eye: EyePosterior, weight: Floats | None = None
    ) -> Floats:
        """P(the group was not misread) of each colony and group, (N, groups).

        Parameters
        ----------
        counts : mapping of int to ndarray, each (S, S)
            Dirichlet parameters, or rates, of each true state's row.
        eye : EyePosterior
            Of sizes.
        weight : ndarray or None, shape (N, groups)
            What each colony's reports count in ``counts``: taken off where it is itself
            weighed, or a strange report would vouch for itself. None takes nothing off.
        """
        clean = np.ones_like(self.base)
        for c, true in self.known.true.items():
            group = self.compiled.characters[c].group
            said = _said(self.known.evidence.states[c], true.shape[1])
            left = counts[c][None]
            if weight is not None:
                unsure = self.compiled.settings.unsure
                left = left - _own(self.known, c, counts[c], weight[:, group], unsure)
            rows = left / left.sum(axis=2, keepdims=True)
            found = (true[:, :, None] * rows * said[:, None, :]).sum(axis=(1, 2))
            clean[:, group] *= np.where(found > 0, found, 1.0)
        for c, log in self.known.true_log_sizes.items():
            said = self.known.evidence.sizes[c].log_value
            there = ~np.isnan(said) & ~np.isnan(log)
            density = np.where(there, eye.density(np.where(there, said - log, 0.0)), 1.0)
            clean[:, self.compiled.characters[c].group] *= density
        rate = self.kernel.misread
        kept: Floats = (1 - rate) * clean / ((1 - rate) * clean + rate * self.base)
        return kept

    def residuals(self, weight: Floats) -> tuple[Floats, Floats]:
        """Log errors of all sizes judged by eye, and their weights."""
        errors, weights = [np.zeros(0)], [np.zeros(0)]
        for c, log in self.known.true_log_sizes.items():
            reports = self.known.evidence.sizes[c]
            there = ~np.isnan(reports.log_value) & ~np.isnan(log)
            errors.append((reports.log_value - log)[there])
            worth = np.where(reports.sure, 1.0, 1.0 - self.compiled.settings.unsure)
            weights.append((worth * weight[:, self.compiled.characters[c].group])[there])
        return np.concatenate(errors), np.concatenate(weights)

    def reports(
        self, counts: Mapping[int, Floats], weight: Floats, rng: np.random.Generator | None = None
    ) -> dict[int, Floats]:
        """Number of reports for each true and said state, (S, S) by character.

        Parameters
        ----------
        counts : mapping of int to ndarray, each (S, S)
            Dirichlet parameters, or rates, of each true state's row.
        weight : ndarray, shape (N, groups)
            What each group of reports counts.
        rng : numpy.random.Generator or None
            Draws whether each group was misread; None counts by the chance.
        """
        if rng is not None:
            weight = (rng.random(weight.shape) < weight).astype(np.float64)
        return {
            c: _expected(self.known, c, counts[c], weight[:, self.compiled.characters[c].group],
                         self.compiled.settings.unsure)
            for c in self.known.true
        }  # fmt: skip


def _said(reports: StateEvidence, width: int) -> Floats:
    """Reported states, (N, S); rows of zeros where nothing or "not applicable" is reported."""
    masks = reports.masks[:, :width].astype(np.float64)
    masks[reports.masks[:, width]] = 0.0
    shown: Floats = masks[reports.codes]
    return shown


def _expected(answered: Answered, c: int, counts: Floats, weight: Floats, unsure: float) -> Floats:
    """Expected number of reports for each true and said state, (S, S)."""
    expected: Floats = _own(answered, c, counts, weight, unsure).sum(axis=0)
    return expected


def _own(answered: Answered, c: int, counts: Floats, weight: Floats, unsure: float) -> Floats:
    """Expected number of reports of each colony, (N, S, S)."""
    true = answered.true[c]
    said = _said(answered.evidence.states[c], true.shape[1])
    rows = counts / counts.sum(axis=1, keepdims=True)
    # P(said r of the set | true t), joined with P(true t): exact where both are one state.
    joint = true[:, :, None] * rows[None] * said[:, None, :]
    total = joint.sum(axis=(1, 2))
    sure = answered.evidence.states[c].sure[answered.evidence.states[c].codes]
    worth = weight * np.where(sure, 1.0, 1.0 - unsure)
    share = np.where(total > 0, worth / np.maximum(total, 1e-300), 0.0)
    own: Floats = joint * share[:, None, None]
    return own


def _where_known(answered: Answered) -> Answered:
    """Leave out reports without a truth beside them."""
    states = {}
    for c, true in answered.true.items():
        reports = answered.evidence.states[c]
        proper = ~reports.masks[reports.codes, -1] & (true.sum(axis=1) > 0)
        codes = np.where(proper, reports.codes, 0).astype(np.int32)
        states[c] = StateEvidence(codes, reports.masks, reports.sure)
    sizes = {}
    for c, log in answered.true_log_sizes.items():
        reports_ = answered.evidence.sizes[c]
        # Sizes by ruler or photo tell nothing of the eye.
        eye = np.array([method == "eye" for method in reports_.method], dtype=np.bool_)
        value = np.where(np.isnan(log) | ~eye, np.nan, reports_.log_value)
        sizes[c] = type(reports_)(
            value, reports_.n, reports_.method, reports_.sure,
            np.zeros(len(value), dtype=np.bool_),
        )  # fmt: skip
    evidence = Evidence(answered.evidence.size, states, sizes, answered.evidence.conditions)
    return Answered(evidence, answered.true, answered.true_log_sizes)
