"""What a group of observers has in common, learned from all of them, to shrink each one to.

The group's rows are the means of its members' reports, drawn towards the errors of an
unknown observer; how strongly a member holds to them is learned with them
(Dirichlet-multinomial).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import Observer, state_errors
from corallum.model.likelihood import Kernel
from corallum.observers.answered import Answered
from corallum.observers.eye import EyePosterior, EyePrior, default_eye, learn_eye
from corallum.observers.weighing import Weighing

__all__ = ["DEFAULT_STRENGTH", "GroupErrors", "default_group", "learn_group"]

# Reports that the group's row is worth for an observer: the spread between a trained
# and a new one (diagonals of about .95 and .85) gives 20 to 40.
DEFAULT_STRENGTH = 25.0
_STRENGTHS = np.geomspace(4.0, 400.0, 41)
# Members that the default rows are worth beside those who answered.
_DEFAULT_MEMBERS = 8.0
_SWEEPS, _BURN_IN = 30, 10


@dataclass(frozen=True, slots=True)
class GroupErrors:
    """What a member is shrunk to.

    Attributes
    ----------
    states : mapping of int to ndarray, each (S, S)
        Rows of P(reported | true) by character; each adds up to 1.
    strength : float
        Reports that a row is worth.
    eye : EyePrior
        Of sizes by eye.
    members : int
        Observers behind it.
    """

    states: Mapping[int, Floats]
    strength: float
    eye: EyePrior
    members: int


def default_group(compiled: CompiledReference) -> GroupErrors:
    """Return a group nobody of which has answered yet: errors of an unknown observer."""
    states = {}
    for c, character in enumerate(compiled.characters):
        if not character.is_size:
            matrix = state_errors(character, Observer.UNKNOWN)[:-1, :-1]
            states[c] = matrix / matrix.sum(axis=1, keepdims=True)
    return GroupErrors(states, DEFAULT_STRENGTH, default_eye(compiled), 0)


def learn_group(
    kernel: Kernel, default: GroupErrors, members: Sequence[Answered], rng: np.random.Generator
) -> list[GroupErrors]:
    """Learn what each member is shrunk to: the errors of all the others.

    Gibbs sampling over which groups of characters were misread, every member's rates,
    and the strength; the misread groups are drawn and not counted by their chance,
    because counted so members look more alike than they are.

    Parameters
    ----------
    kernel : Kernel
        Of an unknown observer.
    default : GroupErrors
        Where nobody answered.
    members : sequence of Answered
        Reports of each member beside the truth.
    rng : numpy.random.Generator
        Of the sampler.

    Returns
    -------
    list of GroupErrors
        One a member, from the others' reports, and last one for somebody new.
    """
    chains = [_Chain(Weighing(kernel, one), default) for one in members]
    strength, logs = default.strength, []
    total: list[dict[int, Floats]] = [{} for _ in members]
    for sweep in range(_SWEEPS):
        rows = _rows_of(default, [chain.seen for chain in chains])
        for chain, mean in zip(chains, rows, strict=False):
            chain.step({c: strength * row for c, row in mean.items()}, rng)
        strength = _draw_strength(default.strength, rows, [chain.seen for chain in chains], rng)
        if sweep >= _BURN_IN:
            logs.append(np.log(strength))
            for sums, chain in zip(total, chains, strict=True):
                for c, counts in chain.seen.items():
                    sums[c] = sums.get(c, 0.0) + counts / (_SWEEPS - _BURN_IN)
    strength = float(np.exp(np.mean(logs)))
    eyes = [chain.eye for chain in chains]
    return [
        GroupErrors(mean, strength, _group_eye(default.eye, [*eyes[:i], *eyes[i + 1 :]]),
                    len(members) - (i < len(members)))
        for i, mean in enumerate(_rows_of(default, total))
    ]  # fmt: skip


class _Chain:
    """One member in the sampler: rates, and reports that were not misread."""

    def __init__(self, weighing: Weighing, default: GroupErrors) -> None:
        self.weighing, self.default = weighing, default
        self.rates = default.states
        self.eye = learn_eye(default.eye, np.zeros(0), np.zeros(0))
        self.seen: dict[int, Floats] = {}

    def step(self, prior: Mapping[int, Floats], rng: np.random.Generator) -> None:
        """Draw which groups were misread, then the rates."""
        weight = self.weighing.not_misread(self.rates, self.eye)
        self.seen = self.weighing.reports(self.rates, weight, rng)
        self.eye = learn_eye(self.default.eye, *self.weighing.residuals(weight))
        rates = {}
        for c, rows in prior.items():
            drawn = rng.standard_gamma(rows + self.seen.get(c, 0.0)) + 1e-12
            rates[c] = drawn / drawn.sum(axis=1, keepdims=True)
        self.rates = rates


def _rows_of(default: GroupErrors, seen: Sequence[Mapping[int, Floats]]) -> list[dict[int, Floats]]:
    """Mean rows for each member from the others, and from all for somebody new."""
    worth = [_worth(one, default.strength) for one in seen]
    found = []
    for own in (*worth, {}):
        rows = {}
        for c, mean in default.states.items():
            others = sum((one[c] for one in worth if c in one and one is not own), np.zeros(1))
            joined = _DEFAULT_MEMBERS * default.strength * mean + others
            rows[c] = joined / joined.sum(axis=1, keepdims=True)
        found.append(rows)
    return found


def _worth(seen: Mapping[int, Floats], strength: float) -> dict[int, Floats]:
    """Weigh a member's reports: many of one member are worth no more than the strength."""
    return {c: one / (1 + one.sum(axis=1, keepdims=True) / strength) for c, one in seen.items()}


def _draw_strength(
    default: float,
    rows: Sequence[Mapping[int, Floats]],
    seen: Sequence[Mapping[int, Floats]],
    rng: np.random.Generator,
) -> float:
    """Draw the strength off a log grid by its Dirichlet-multinomial likelihood.

    The prior is log-normal around the default with a factor of three.
    """
    logs = -0.5 * (np.log(_STRENGTHS / default) / np.log(3.0)) ** 2
    a = _STRENGTHS[:, None]
    for mean, one in zip(rows, seen, strict=False):
        for c, counts in one.items():
            looks = counts.sum(axis=1)
            there = looks > 0
            alpha = (_STRENGTHS[:, None, None] * mean[c])[:, there]
            logs = logs + (gammaln(alpha + counts[there]) - gammaln(alpha)).sum(axis=(1, 2))
            logs = logs - (gammaln(a + looks[there]) - gammaln(a)).sum(axis=1)
    share = np.exp(logs - logs.max())
    return float(rng.choice(_STRENGTHS, p=share / share.sum()))


def _group_eye(default: EyePrior, eyes: Sequence[EyePosterior]) -> EyePrior:
    """Move the expected bias and spread towards those of the members."""
    used = [eye for eye in eyes if eye.n > 0]
    if not used:
        return default
    weight = _DEFAULT_MEMBERS + len(used)
    bias = (_DEFAULT_MEMBERS * default.bias + sum(eye.bias for eye in used)) / weight
    log_sd = 0.5 * np.log(default.scale / (default.shape - 1))
    mean = (_DEFAULT_MEMBERS * log_sd + sum(np.log(eye.sd) for eye in used)) / weight
    variance = float(np.exp(2 * mean))
    return EyePrior(bias, default.bias_weight, default.shape, variance * (default.shape - 1))
