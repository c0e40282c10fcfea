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
from corallum.model.likelihood import Kernel, size_density
from corallum.model.posterior import Posterior
from corallum.model.sequence import normal_quantile, spread_points
from corallum.records.answer import Limits

__all__ = ["DRAWS", "ExactReports", "find_limits"]

DRAWS = 1000
# Forms less probable than this are neither drawn nor weighed.
_NEGLIGIBLE = 1e-7
# The first two dimensions choose the form and the condition.
_FIRST_DIMENSION = 2


class ExactReports:
    """Tables of error-free reports, kept from one question to the next."""

    def __init__(self, compiled: CompiledReference) -> None:
        self.compiled = compiled
        self.kernel = Kernel(compiled, Observer.EXACT)

    @cached_property
    def points(self) -> Floats:
        """The draws, (DRAWS, 2 + C)."""
        return spread_points(DRAWS, _FIRST_DIMENSION + len(self.compiled.characters))


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
        self.log_odds = np.tile(np.log(self.share), (DRAWS, 1))
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
                if self.compiled.characters[c].seen in seen and c not in colony.characters
            ]
            if members and group.conditions_act:
                self._add_conditioned(members)
            else:
                for c in members:
                    self.log_odds += np.log(self._likelihood(c))
        odds = np.exp(self.log_odds - self.log_odds.max(axis=1, keepdims=True))
        genus = np.add.reduceat(odds, self.starts, axis=1)
        return float(np.mean(genus.max(axis=1) / odds.sum(axis=1)))

    def _add_conditioned(self, members: list[int]) -> None:
        """Weigh characters on which one condition acts together."""
        odds = self.condition.T[None]
        for c in members:
            odds = odds * self._likelihood(c)
        self.log_odds += np.log(odds.sum(axis=1))

    def _likelihood(self, c: int) -> Floats:
        """Likelihood of each draw's report, (DRAWS, forms), or by condition."""
        character = self.compiled.characters[c]
        point = self.exact.points[:, _FIRST_DIMENSION + c]
        if character.is_size:
            return self._size_likelihood(character, point)
        table = self.exact.kernel.tables[c]
        if table.ndim == 2:
            table = table[:, self.forms]
            return table[_choose(table.T[self.form], point)]
        table = table[:, :, self.forms]
        state = _choose(table[self.acting, :, self.form], point)
        spread: Floats = table.transpose(1, 0, 2)[state]
        return spread

    def _size_likelihood(self, character: CompiledCharacter, point: Floats) -> Floats:
        """Draw a size, or "does not apply", and weigh it."""
        slip = self.compiled.settings.inapplicable
        applies = character.applies[self.forms]
        outside = applies * slip + (1 - applies) * (1 - slip)
        if not character.conditional:
            outside = np.zeros_like(applies)
        none = point < outside[self.form]
        left = np.clip((point - outside[self.form]) / (1 - outside[self.form]), 0.0, 1.0)
        size = self._draw_size(character, np.where(none, 0.5, left))
        density = size_density(self.compiled, character, size, np.zeros(DRAWS))[..., self.forms]
        shape = (DRAWS,) + (1,) * (density.ndim - 1)
        likelihood: Floats = np.where(none.reshape(shape), outside, density)
        return likelihood

    def _draw_size(self, character: CompiledCharacter, point: Floats) -> Floats:
        """Log of a size, from the form's own range or, where that is not known, another's."""
        slip = self.compiled.settings.inapplicable
        form = self.forms[self.form]
        applies = character.applies[form]
        own = applies * (1 - slip)
        strange = np.where(character.conditional, (1 - applies) * slip, 0.0)
        share = np.where(character.known[form], own / (own + strange), 0.0)
        mine = point < share
        rest = np.clip((point - share) / np.maximum(1 - share, 1e-300), 0.0, 1 - 1e-12)
        cumulative = np.cumsum(character.mixture)
        other = np.minimum(np.searchsorted(cumulative, rest, side="right"), len(cumulative) - 1)
        within = (rest - (cumulative[other] - character.mixture[other])) / np.maximum(
            character.mixture[other], 1e-300
        )
        source = np.where(mine, form, other)
        quantile = np.where(mine, point / np.maximum(share, 1e-300), within)
        z = normal_quantile(np.clip(quantile, 1e-12, 1 - 1e-12))
        shift = character.log_shift[self.acting] if character.log_shift.size else 0.0
        size: Floats = character.log_mean[source] + character.log_sd[source] * z + shift
        return np.clip(size, np.log(character.least), np.log(character.most))


def _choose(weights: Floats, point: Floats) -> NDArray[np.int64]:
    """Choose a column of each row of weights by a point from 0 to 1, shape (draws,)."""
    cumulative = np.cumsum(weights, axis=-1)
    chosen = (cumulative < (point * cumulative[..., -1])[:, None]).sum(axis=-1)
    clipped: NDArray[np.int64] = np.minimum(chosen, weights.shape[-1] - 1)
    return clipped
