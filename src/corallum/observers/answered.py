"""What one observer reported of colonies whose true look is known, side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.evidence import Evidence, SizeEvidence, StateEvidence
from corallum.model.truth import TrueColonies

__all__ = ["Answered", "beside_truth", "join_answered"]


@dataclass(frozen=True, slots=True)
class Answered:
    """Reports of N colonies by one observer, and what was there to be seen.

    Attributes
    ----------
    evidence : Evidence
        The reports.
    true : mapping of int to ndarray, each (N, S)
        P(true state) by character; rows of zeros where it is not known or the
        character does not apply.
    true_log_sizes : mapping of int to ndarray, each (N,)
        Log of the true size; nan where it is not known.
    """

    evidence: Evidence
    true: Mapping[int, Floats]
    true_log_sizes: Mapping[int, Floats]


def beside_truth(compiled: CompiledReference, true: TrueColonies, evidence: Evidence) -> Answered:
    """Put reports of drawn colonies beside their truth, for the characters reported."""
    states = {}
    for c in evidence.states:
        if compiled.characters[c].is_size:
            continue
        width = len(compiled.characters[c].states)
        states[c] = np.eye(width + 1)[true.states[c]][:, :width]
    return Answered(evidence, states, {c: true.log_sizes[c] for c in evidence.sizes})


def join_answered(parts: Sequence[Answered]) -> Answered:
    """Put several sets of answers of one observer after each other.

    Parameters
    ----------
    parts : sequence of Answered
        One at least.
    """
    sizes = [part.evidence.size for part in parts]
    states = {c for part in parts for c in part.true}
    measured = {c for part in parts for c in part.true_log_sizes}
    evidence = Evidence(
        sum(sizes),
        {c: _join_states([part.evidence for part in parts], c) for c in sorted(states)},
        {c: _join_sizes([part.evidence for part in parts], c) for c in sorted(measured)},
        np.vstack([part.evidence.conditions for part in parts]),
    )
    return Answered(
        evidence,
        {c: _join_true(parts, c) for c in sorted(states)},
        {
            c: np.concatenate(
                [
                    part.true_log_sizes.get(c, np.full(n, np.nan))
                    for part, n in zip(parts, sizes, strict=True)
                ]
            )
            for c in sorted(measured)
        },
    )


def _join_true(parts: Sequence[Answered], c: int) -> Floats:
    """Join the true states of one character; unknown where a part lacks it."""
    width = next(part.true[c].shape[1] for part in parts if c in part.true)
    return np.vstack([part.true.get(c, np.zeros((part.evidence.size, width))) for part in parts])


def _join_states(parts: Sequence[Evidence], c: int) -> StateEvidence:
    """Join the reports of one character, the codes of later parts moved up."""
    codes, masks, sure = [], [], []
    start = 0
    for part in parts:
        found = part.states.get(c)
        if found is None:
            codes.append(np.full(part.size, -1, dtype=np.int32))
            continue
        codes.append((found.codes + start).astype(np.int32))
        masks.append(found.masks)
        sure.append(found.sure)
        start += len(found.masks)
    width = masks[0].shape[1]
    # Code 0 must be "not looked at".
    all_masks = np.vstack([np.zeros((1, width), dtype=np.bool_), *masks])
    return StateEvidence(np.concatenate(codes) + 1, all_masks, np.concatenate([[True], *sure]))


def _join_sizes(parts: Sequence[Evidence], c: int) -> SizeEvidence:
    """Join the reports of one size."""
    found = [
        part.sizes.get(c)
        or SizeEvidence(
            np.full(part.size, np.nan), np.ones(part.size), ("eye",) * part.size,
            np.ones(part.size, dtype=np.bool_), np.zeros(part.size, dtype=np.bool_),
        )
        for part in parts
    ]  # fmt: skip
    return SizeEvidence(
        np.concatenate([one.log_value for one in found]),
        np.concatenate([one.n for one in found]),
        tuple(method for one in found for method in one.method),
        np.concatenate([one.sure for one in found]),
        np.concatenate([one.inapplicable for one in found]),
    )
