"""Which reports the verdict hangs on, were one left out or misjudged."""

from __future__ import annotations

from dataclasses import dataclass, replace

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.evidence import ColonyEvidence, batch
from corallum.model.likelihood import Kernel
from corallum.model.posterior import posterior
from corallum.model.verdict import is_settled, leader_of, smallest_set
from corallum.records.answer import Fragile

__all__ = ["LEFT_OUT", "find_fragile"]

LEFT_OUT = "left_out"
# A size misjudged by a third either way.
_SIZE_FACTORS = (2 / 3, 4 / 3)


@dataclass(frozen=True, slots=True)
class _Change:
    """One report changed."""

    character: str
    change: str
    evidence: ColonyEvidence


def find_fragile(
    kernel: Kernel, colony: ColonyEvidence, genus: Floats, prior: Floats
) -> tuple[Fragile, ...]:
    """List the changes of one report that change the verdict.

    Parameters
    ----------
    colony : ColonyEvidence
        The evidence as reported.
    genus : ndarray, shape (G + 1,)
        P(genus | evidence) as it stands.
    prior : ndarray, shape (G + 1,)
        P(genus) before anything was seen.

    Returns
    -------
    tuple of Fragile
        With the verdict that would follow. A verdict changes when another genus
        leads, or when "settled" is gained or lost.
    """
    compiled = kernel.compiled
    changes = list(_changes(compiled, colony))
    if not changes:
        return ()
    evidence = batch(compiled, [change.evidence for change in changes])
    others = posterior(kernel, evidence, prior).genus
    leader, settled = leader_of(genus), is_settled(compiled, genus)
    found = []
    for change, other in zip(changes, others, strict=True):
        if leader_of(other) == leader and is_settled(compiled, other) == settled:
            continue
        chosen = smallest_set(other, compiled.settings.set_mass)
        names = tuple(
            compiled.genera[i] if i < len(compiled.genera) else None for i in chosen.tolist()
        )
        found.append(Fragile(change.character, change.change, names, float(other[chosen].sum())))
    return tuple(found)


def _changes(compiled: CompiledReference, colony: ColonyEvidence) -> list[_Change]:
    """List every report left out, taken for another state, or off by a third."""
    changes = []
    for c in colony.characters:
        character = compiled.characters[c]
        id_ = colony.ids[c][0]
        changes.append(_Change(id_, LEFT_OUT, colony.without(c)))
        if c in colony.sizes:
            report = colony.sizes[c]
            for factor in _SIZE_FACTORS:
                value = min(max(report.value * factor, character.least), character.most)
                other = colony.with_size(c, replace(report, value=value))
                changes.append(_Change(id_, f"{value:.3g} {character.unit}", other))
        else:
            changes.extend(_other_states(compiled, colony, c))
    return changes


def _other_states(compiled: CompiledReference, colony: ColonyEvidence, c: int) -> list[_Change]:
    """List the states that a report is easily taken for; for a view, its other states."""
    character = compiled.characters[c]
    columns, _ = colony.states[c]
    changes = []
    if len(columns) == 1 and min(columns) < len(character.states):
        for other in character.taken_for[min(columns)]:
            evidence = colony.with_states(c, frozenset({other}))
            changes.append(_Change(character.id, character.states[other], evidence))
    for id_ in colony.ids[c]:
        for view in compiled.views:
            other_columns = frozenset(view.columns)
            if view.id == id_ != character.id and not other_columns & columns:
                evidence = colony.with_states(c, other_columns)
                changes.append(_Change(id_, view.state, evidence))
    return changes
