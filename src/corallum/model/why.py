"""Why one genus and not another: decibans, block by block, that add up exactly."""

from __future__ import annotations

import numpy as np

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.evidence import ColonyEvidence
from corallum.model.posterior import Posterior
from corallum.model.verdict import ranked
from corallum.records.answer import Why, WhyEntry

__all__ = ["explain", "leading_pair"]

_DECIBANS = 10 * np.log10(np.e)


def leading_pair(compiled: CompiledReference, genus: Floats) -> tuple[int, int]:
    """Return the two most probable genera of the reference."""
    order = ranked(genus[: len(compiled.genera)])
    return int(order[0]), int(order[1])


def explain(
    compiled: CompiledReference,
    colony: ColonyEvidence,
    found: Posterior,
    prior: Floats,
    pair: tuple[int, int],
) -> Why:
    """Say what speaks for genus A against genus B.

    Parameters
    ----------
    found : Posterior
        Of one colony.
    prior : ndarray, shape (G + 1,)
        P(genus) before anything was seen.
    pair : tuple of int
        A and B, indices of genera.

    Returns
    -------
    Why
        ``prior + form + blocks = 10 log10(P(A) / P(B))`` to rounding. A block is
        weighed by the forms that the evidence leaves probable in each genus;
        ``form`` is what it cost each genus to be of those forms.
    """
    a, b = (_Side.of(compiled, found, genus) for genus in pair)
    blocks = []
    for group in found.groups:
        log = np.log(group.likelihood[0])
        ids = _reported_ids(compiled, colony, group.group)
        value = float(_DECIBANS * (a.share @ log[a.forms] - b.share @ log[b.forms]))
        blocks.append(WhyEntry(ids[0], ids[1:], value))
    form = float(_DECIBANS * (b.divergence - a.divergence))
    before = float(_DECIBANS * np.log(prior[pair[0]] / prior[pair[1]]))
    blocks.sort(key=lambda entry: -abs(entry.value))
    return Why(
        compiled.genera[pair[0]],
        compiled.genera[pair[1]],
        tuple(blocks),
        form,
        before,
        form + before + sum(entry.value for entry in blocks),
    )


class _Side:
    """The forms of one genus, their share given the evidence, and how far that moved."""

    def __init__(self, forms: slice, share: Floats, divergence: float) -> None:
        self.forms, self.share, self.divergence = forms, share, divergence

    @classmethod
    def of(cls, compiled: CompiledReference, found: Posterior, genus: int) -> _Side:
        """Take the side of one genus."""
        starts = compiled.genus_starts
        forms = slice(int(starts[genus]), int(starts[genus + 1]))
        log = found.log_joint[0, forms]
        share = np.exp(log - log.max())
        share /= share.sum()
        held = share > 0
        weight = compiled.form_weight[forms]
        divergence = float(share[held] @ np.log(share[held] / weight[held]))
        return cls(forms, share, divergence)


def _reported_ids(
    compiled: CompiledReference, colony: ColonyEvidence, group: int
) -> tuple[str, ...]:
    """Ids under which the characters of one group were reported."""
    members = [c for c in compiled.groups[group].members if c in colony.characters]
    return tuple(id_ for c in members for id_ in colony.ids.get(c, (compiled.characters[c].id,)))
