"""What to look at next: the expected gain of every character not yet reported.

A character that may not apply is weighed by what its states tell where it does: the
part of the information that lies in "does not apply" belongs to the look on which
its applicability hangs, and is not counted again.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from corallum.model.compiled import CompiledCharacter, CompiledReference, Floats
from corallum.model.errors import size_error
from corallum.model.evidence import ColonyEvidence, Evidence
from corallum.model.information import expected_gain_bits
from corallum.model.likelihood import Kernel, size_density
from corallum.model.posterior import Posterior
from corallum.records.answer import NextLook

__all__ = ["ASSUMED_METHOD", "ASSUMED_READINGS", "Looker", "next_looks"]

# A next measurement is assumed to be made so.
ASSUMED_METHOD = "ruler"
ASSUMED_READINGS = 5
# Forms less probable than this do not widen the range over which sizes are averaged.
_NEGLIGIBLE = 1e-6
_RANGE_SDS = 6.0


def next_looks(
    kernel: Kernel,
    colony: ColonyEvidence,
    evidence: Evidence,
    found: Posterior,
    *,
    seen: tuple[str, ...] = ("w", "l"),
    nodes: int = 64,
) -> tuple[NextLook, ...]:
    """Rank the looks that are left by what each is expected to tell of the genus.

    Parameters
    ----------
    colony, evidence, found : records
        One colony's evidence, the same as a batch of one, and its posterior.
    seen : tuple of str
        Ways of seeing to offer: w, l, k.
    nodes : int
        Quadrature nodes for a size, in the log of millimetres.

    Returns
    -------
    tuple of NextLook
        Most bits first; looks that can tell nothing are left out.
    """
    looker = Looker(kernel, colony, evidence, found, nodes)
    looks = [
        NextLook(id_, gain, seconds, way)
        for id_, gain, seconds, way in looker.gains()
        if way in seen and gain > 1e-9
    ]
    return tuple(sorted(looks, key=lambda look: (-look.gain_bits, look.character)))


class Looker:
    """Weighs each outcome of each look for one colony."""

    def __init__(
        self,
        kernel: Kernel,
        colony: ColonyEvidence,
        evidence: Evidence,
        found: Posterior,
        nodes: int,
    ) -> None:
        self.kernel, self.colony, self.evidence, self.nodes = kernel, colony, evidence, nodes
        self.form = found.form[0]
        self.groups = {group.group: group for group in found.groups}
        self.points, self.weights = np.polynomial.legendre.leggauss(nodes)

    def gains(self) -> Iterator[tuple[str, float, float, str]]:
        """Yield id, bits, seconds and way of seeing for each look that is left."""
        compiled = self.kernel.compiled
        for c, character in enumerate(compiled.characters):
            if c in self.colony.hidden:
                continue
            if character.is_size:
                if c not in self.colony.sizes and c not in self.colony.states:
                    gain = self._gain(self._size_joint(c, character))
                    yield character.id, gain, character.seconds, character.seen
                continue
            yield from self._state_gains(compiled, c, character)

    def _state_gains(
        self, compiled: CompiledReference, c: int, character: CompiledCharacter
    ) -> Iterator[tuple[str, float, float, str]]:
        """Yield a character with states, and the views of it, where they are left."""
        columns, _ = self.colony.states.get(c, (frozenset[int](), True))
        if len(columns) == 1:
            return
        reported = self.colony.ids.get(c, ()) if columns else ()
        width = len(character.states) + 1
        left = sorted(columns) if columns else list(range(width))
        if character.conditional:
            left = [column for column in left if column < len(character.states)]
        joint = self._state_joint(c, left)
        if character.id not in reported:
            yield character.id, self._gain(joint), character.seconds, character.seen
        views: dict[str, list[set[int]]] = {}
        for view in compiled.views:
            if view.character == c and view.id not in (character.id, *reported):
                views.setdefault(view.id, []).append(set(view.columns))
        for id_, parts in views.items():
            view = next(v for v in compiled.views if v.id == id_)
            merged = np.array(
                [
                    joint[[i for i, col in enumerate(left) if col in part]].sum(axis=0)
                    for part in parts
                ]
            )
            yield id_, self._gain(merged), view.seconds, view.seen

    @staticmethod
    def _gain(joint: Floats) -> float:
        """Gain over the outcomes of a look, times the chance that it applies at all."""
        return expected_gain_bits(joint) * min(float(joint.sum()), 1.0)

    def _rest(self, c: int, group: int) -> Floats:
        """Likelihood of the other reports of a group, without misreading."""
        if group not in self.groups:
            return np.ones(1)
        clean: Floats = self.groups[group].clean[0]
        if c not in self.colony.states:
            return clean
        rest: Floats = np.ones_like(self.groups[group].clean[0])
        for other in self.kernel.compiled.groups[group].members:
            if other != c and (other in self.evidence.states or other in self.evidence.sizes):
                rest = rest * self.kernel.report(other, self.evidence)[0]
        return rest

    def _joint(self, c: int, outcomes: Floats) -> Floats:
        """Joint weights of outcome and genus, (outcomes, G + 1).

        ``outcomes`` is P(outcome | form), (outcomes, NF), or by condition.
        """
        compiled = self.kernel.compiled
        group = compiled.characters[c].group
        clean = self._rest(c, group) * outcomes
        if compiled.groups[group].conditions_act:
            odds = self.evidence.conditions[0]
            clean = np.einsum(
                "k,skf->sf",
                odds,
                np.broadcast_to(clean, (len(outcomes), len(odds), compiled.n_forms)),
            )
        likelihood = self.kernel.slip(group, clean)
        before = self.form / self.groups[group].likelihood[0] if group in self.groups else self.form
        return compiled.genus_sum(before * likelihood)

    def _state_joint(self, c: int, columns: list[int]) -> Floats:
        """Joint weights for the outcomes in ``columns``."""
        table = self.kernel.tables[c]
        if table.ndim == 3:
            return self._joint(c, table[:, columns].transpose(1, 0, 2))
        return self._joint(c, table[columns])

    def _size_joint(self, c: int, character: CompiledCharacter) -> Floats:
        """Joint weights for the nodes of a size."""
        compiled = self.kernel.compiled
        readings = ASSUMED_READINGS if character.unit == "mm" else 1
        variance, _ = size_error(compiled, ASSUMED_METHOD, readings, self.kernel.observer)
        low, high = self._log_range(character, variance)
        value = (low + high) / 2 + (high - low) / 2 * self.points
        density = size_density(compiled, character, value, np.full(self.nodes, variance))
        weight = self.weights * (high - low) / 2
        return self._joint(c, density) * weight[:, None]

    def _log_range(self, character: CompiledCharacter, variance: float) -> tuple[float, float]:
        """Log range that holds the size for every form that is still possible."""
        likely = character.known & (self.form > _NEGLIGIBLE)
        if not likely.any():
            likely = character.known
        if not likely.any():
            return float(np.log(character.least)), float(np.log(character.most))
        reach = _RANGE_SDS * np.sqrt(character.log_sd[likely] ** 2 + variance)
        shift = character.log_shift if character.log_shift.size else np.zeros(1)
        low = float((character.log_mean[likely] - reach).min() + shift.min())
        high = float((character.log_mean[likely] + reach).max() + shift.max())
        return max(low, np.log(character.least)), min(high, np.log(character.most))
