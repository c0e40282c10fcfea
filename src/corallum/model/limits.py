"""What no look can settle: how well the best genus could be known at most.

Draws colonies from the posterior, reports every character that is left without
error, and averages the probability of the best genus. The draws are the same in
every language, see :mod:`corallum.model.sequence`.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from corallum.model.compiled import CompiledCharacter, CompiledReference, Floats
from corallum.model.errors import Observer
from corallum.model.evidence import ColonyEvidence, Evidence
from corallum.model.likelihood import Kernel
from corallum.model.posterior import Posterior
from corallum.model.sequence import normal_quantile, spread_points
from corallum.records.answer import Limits

__all__ = ["DRAWS", "ExactReports", "find_limits"]

DRAWS = 1000
# Forms less probable than this are neither drawn nor weighed.
_NEGLIGIBLE = 1e-7
# The first two dimensions choose the form and the condition.
_FIRST_DIMENSION = 2
# Nodes of the grid off which the base rate of a size is read.
_GRID = 2048


class ExactReports:
    """Tables of error-free reports, kept from one question to the next."""

    def __init__(self, compiled: CompiledReference) -> None:
        self.compiled = compiled
        self.kernel = Kernel(compiled, Observer.EXACT)
        self._base: dict[str, tuple[Floats, Floats]] = {}

    @cached_property
    def points(self) -> Floats:
        """The draws, (DRAWS, 2 + C)."""
        return spread_points(DRAWS, _FIRST_DIMENSION + len(self.compiled.characters))

    def base_density(self, character: CompiledCharacter, log_value: Floats) -> Floats:
        """Density of a size over all forms, read off a fine grid by straight lines."""
        if character.id not in self._base:
            grid = np.linspace(np.log(character.least), np.log(character.most), _GRID)
            bells = _bells(self.compiled, character, slice(None), grid)
            self._base[character.id] = (grid, bells @ character.mixture)
        return np.interp(log_value, *self._base[character.id])


def _bells(
    compiled: CompiledReference,
    character: CompiledCharacter,
    forms: NDArray[np.int64] | slice,
    log_value: Floats,
) -> Floats:
    """Log-normal density of error-free sizes with its thin tail, shape (values, forms)."""
    sd = character.log_sd[forms]
    bells: Floats = log_value[:, None] - character.log_mean[forms]
    bells /= sd
    bells *= bells
    bells *= -0.5
    np.exp(bells, out=bells)
    tail = compiled.settings.size_tail
    bells *= (1 - tail) / (sd * np.sqrt(2 * np.pi))
    bells += tail / np.log(character.most / character.least)
    return bells


def find_limits(
    exact: ExactReports, colony: ColonyEvidence, evidence: Evidence, found: Posterior
) -> Limits:
    """Return the expected probability of the best genus after all is seen.

    Parameters
    ----------
    exact : ExactReports
        Tables of error-free reports.
    colony, evidence, found : records
        One colony's evidence, the same as a batch of one, and its posterior.

    Returns
    -------
    Limits
        After all characters seen in water or with a lens, and after those of
        the cleaned skeleton too.
    """
    draws = _Draws(exact, evidence, found)
    return Limits(draws.best(colony, ("w", "l")), draws.best(colony, ("k",)))


class _Draws:
    """Colonies drawn from one posterior, and the odds of every form for each."""

    def __init__(self, exact: ExactReports, evidence: Evidence, found: Posterior) -> None:
        self.exact, self.compiled = exact, exact.compiled
        self.forms = np.flatnonzero(found.form[0] > _NEGLIGIBLE)
        self.share = found.form[0, self.forms]
        self.condition = self._condition_odds(evidence, found)
        self.form = _choose(self.share[None, :], exact.points[:, 0])
        self.acting = _choose(self.condition[self.form], exact.points[:, 1])
        self.odds = np.tile(self.share, (DRAWS, 1))
        self.starts = np.flatnonzero(np.diff(self.compiled.form_genus[self.forms], prepend=-1))

    def _condition_odds(self, evidence: Evidence, found: Posterior) -> Floats:
        """P(condition | form, evidence), shape (forms, K + 1)."""
        odds = np.tile(evidence.conditions[0], (len(self.forms), 1))
        for group in found.groups:
            if self.compiled.groups[group.group].conditions_act:
                odds = (
                    odds
                    * np.broadcast_to(group.clean[0], (odds.shape[1], self.compiled.n_forms))[
                        :, self.forms
                    ].T
                )
        odds /= odds.sum(axis=1, keepdims=True)
        return odds

    def best(self, colony: ColonyEvidence, seen: tuple[str, ...]) -> float:
        """Report what is left and seen so, and average the best genus."""
        for group in self.compiled.groups:
            members = [
                c
                for c in group.members
                if self.compiled.characters[c].seen in seen
                and c not in colony.characters
                and c not in colony.hidden
            ]
            if members and group.conditions_act:
                self.odds *= self._conditioned(members)
            else:
                for c in members:
                    self.odds *= self._likelihood(c)
            # Only ratios between forms matter: the best is kept at one.
            self.odds /= self.odds.max(axis=1, keepdims=True)
        genus = np.add.reduceat(self.odds, self.starts, axis=1)
        return float(np.mean(genus.max(axis=1) / self.odds.sum(axis=1)))

    def _likelihood(self, c: int) -> Floats:
        """Likelihood of each draw's report of one character, (DRAWS, forms)."""
        character = self.compiled.characters[c]
        point = self.exact.points[:, _FIRST_DIMENSION + c]
        if not character.is_size:
            table = np.ascontiguousarray(self.exact.kernel.tables[c][:, self.forms])
            return table[_choose(table.T[self.form], point)]
        size, none = self._draw_size(character, point)
        return self._weigh_size(character, size, none)

    def _conditioned(self, members: list[int]) -> Floats:
        """Likelihood of characters on which one condition acts together, (DRAWS, forms)."""
        states = [c for c in members if not self.compiled.characters[c].is_size]
        sizes = [c for c in members if self.compiled.characters[c].is_size]
        tables = [self.exact.kernel.tables[c][:, :, self.forms] for c in states]
        drawn = np.zeros((DRAWS, len(states)), dtype=np.int64)
        for i, (c, table) in enumerate(zip(states, tables, strict=True)):
            point = self.exact.points[:, _FIRST_DIMENSION + c]
            drawn[:, i] = _choose(table[self.acting, :, self.form], point)
        # Few combinations of states are drawn: each is weighed once, (combinations, K + 1, forms).
        found, which = np.unique(drawn, axis=0, return_inverse=True)
        weight = np.tile(self.condition.T, (len(found), 1, 1))
        for i, table in enumerate(tables):
            weight *= table.transpose(1, 0, 2)[found[:, i]]
        return self._with_sizes(sizes, weight, which.reshape(-1))

    def _with_sizes(self, sizes: list[int], weight: Floats, which: NDArray[np.intp]) -> Floats:
        """Add sizes that conditions shift; conditions with the same shifts are one."""
        characters = [self.compiled.characters[c] for c in sizes]
        shifts = np.array([c.log_shift for c in characters]).reshape(len(sizes), weight.shape[1])
        kinds, kind = np.unique(shifts, axis=1, return_inverse=True)
        drawn = [
            self._draw_size(character, self.exact.points[:, _FIRST_DIMENSION + c])
            for c, character in zip(sizes, characters, strict=True)
        ]
        total = np.zeros((DRAWS, len(self.forms)))
        for k in range(kinds.shape[1]):
            part = weight[:, kind.reshape(-1) == k].sum(axis=1)[which]
            for shift, character, (size, none) in zip(kinds[:, k], characters, drawn, strict=True):
                part *= self._weigh_size(character, size - shift, none)
            total += part
        return total

    def _weigh_size(
        self, character: CompiledCharacter, size: Floats, none: NDArray[np.bool_]
    ) -> Floats:
        """Likelihood of sizes, or of "does not apply", (DRAWS, forms)."""
        forms = self.forms
        likelihood = _bells(self.compiled, character, forms, size)
        known = character.known[forms]
        if not character.conditional and known.all():
            return likelihood
        base = self.exact.base_density(character, size)[:, None]
        likelihood[:, ~known] = base
        if not character.conditional:
            return likelihood
        slip, applies = self.compiled.settings.inapplicable, character.applies[forms]
        likelihood *= applies * (1 - slip)
        likelihood += (1 - applies) * slip * base
        likelihood[none] = applies * slip + (1 - applies) * (1 - slip)
        return likelihood

    def _draw_size(
        self, character: CompiledCharacter, point: Floats
    ) -> tuple[Floats, NDArray[np.bool_]]:
        """Log of each draw's size, and where it was said not to apply."""
        slip = self.compiled.settings.inapplicable
        form = self.forms[self.form]
        applies = character.applies[form]
        outside = applies * slip + (1 - applies) * (1 - slip)
        outside = np.where(character.conditional, outside, 0.0)
        none = point < outside
        left = np.clip((point - outside) / (1 - outside), 0.0, 1 - 1e-12)
        source, quantile = self._size_source(character, form, np.where(none, 0.5, left))
        z = normal_quantile(np.clip(quantile, 1e-12, 1 - 1e-12))
        shift = character.log_shift[self.acting] if character.log_shift.size else 0.0
        size: Floats = character.log_mean[source] + character.log_sd[source] * z + shift
        return np.clip(size, np.log(character.least), np.log(character.most)), none

    def _size_source(
        self, character: CompiledCharacter, form: NDArray[np.int64], point: Floats
    ) -> tuple[NDArray[np.int64], Floats]:
        """Form whose range a size is drawn from: the own one, or where that is not known, any."""
        slip = self.compiled.settings.inapplicable
        own = character.applies[form] * (1 - slip)
        strange = np.where(character.conditional, (1 - character.applies[form]) * slip, 0.0)
        share = np.where(character.known[form], own / (own + strange), 0.0)
        mine = point < share
        rest = np.clip((point - share) / np.maximum(1 - share, 1e-300), 0.0, 1 - 1e-12)
        cumulative = np.cumsum(character.mixture)
        other = np.minimum(np.searchsorted(cumulative, rest, side="right"), len(cumulative) - 1)
        weight = np.maximum(character.mixture[other], 1e-300)
        within = (rest - (cumulative[other] - character.mixture[other])) / weight
        quantile = np.where(mine, point / np.maximum(share, 1e-300), within)
        return np.where(mine, form, other), quantile


def _choose(weights: Floats, point: Floats) -> NDArray[np.int64]:
    """Choose a column of each row of weights by a point from 0 to 1, shape (draws,)."""
    cumulative = np.cumsum(weights, axis=-1)
    chosen = (cumulative < (point * cumulative[..., -1])[:, None]).sum(axis=-1)
    clipped: NDArray[np.int64] = np.minimum(chosen, weights.shape[-1] - 1)
    return clipped
