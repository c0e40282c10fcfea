"""Which genera an observer takes for which, shrunk to the group and to the model's own mix-ups.

The model says which genera are hard to tell apart at all: its mean posterior over
colonies that an unknown observer looked at in passing. A group's row is drawn towards
that, a member's row towards the group's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv, expit, log_expit, logit

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.likelihood import Kernel
from corallum.model.posterior import posterior
from corallum.model.truth import draw_colonies, report_colonies

__all__ = ["Confusion", "GenusConfusions", "learn_confusions", "simulated_confusions"]

# Answers that the model's row is worth for a group, and the group's for a member: guesses.
MODEL_WORTH, GROUP_WORTH = 10.0, 6.0
_SHIFTS = np.linspace(-5.0, 5.0, 401)
# Share of the characters seen in water, and with a lens, that is looked at in passing.
_LOOKS = {"w": 0.5, "l": 0.3}


@dataclass(frozen=True, slots=True)
class Confusion:
    """One genus taken for another: mean and 90 % interval of P(said | true), and the answers.

    ``times`` of ``looks`` answers to the true genus named the other; ``cost`` is how
    often it happens in 100 colonies of the survey.
    """

    true: str
    said: str
    mean: float
    low: float
    high: float
    times: float
    looks: float
    group: float
    cost: float


@dataclass(frozen=True, slots=True)
class GenusConfusions:
    """Rows of P(said | true) of one observer.

    Attributes
    ----------
    counts : ndarray, shape (G, G + 1)
        Dirichlet parameters of each true genus; the last column is "something else".
    seen : ndarray, shape (G, G + 1)
        Answers behind them; an answer of several genera is shared among them.
    group : ndarray, shape (G, G + 1)
        The group's rows, each adding up to 1.
    shift_sd : float
        How far the member's shift of the log odds of being right may be off; it moves
        all rows together.
    """

    counts: Floats
    seen: Floats
    group: Floats
    shift_sd: float = 0.0

    def accuracy(self, shares: Floats) -> tuple[float, float]:
        """Return mean and standard deviation of the share right in a mix of genera.

        Parameters
        ----------
        shares : ndarray, shape (G,)
            Of the true genera; need not add up to 1.
        """
        total = self.counts.sum(axis=1)
        right = np.diagonal(self.counts) / total
        weight = shares / shares.sum()
        variance = weight**2 @ (right * (1 - right) / (total + 1))
        # What a shift of all rows would move: their part that is not the member's own answers.
        prior = (total - self.seen.sum(axis=1)) / total
        slope = weight @ (prior * right * (1 - right))
        return float(weight @ right), float(np.sqrt(variance + (slope * self.shift_sd) ** 2))

    def worst(self, compiled: CompiledReference, shares: Floats, most: int = 20) -> list[Confusion]:
        """List genera that were taken for others, the most costly to the survey first."""
        looks = self.seen.sum(axis=1)
        total = self.counts.sum(axis=1)
        weight = 100 * shares / shares.sum()
        names = (*compiled.genera, "something else")
        found = []
        for t, s in np.argwhere(self.seen > 0).tolist():
            if t == s:
                continue
            a, b = float(self.counts[t, s]), float(total[t] - self.counts[t, s])
            low, high = betaincinv(a, b, [0.05, 0.95])
            mean = a / (a + b)
            found.append(
                Confusion(names[t], names[s], mean, float(low), float(high),
                          float(self.seen[t, s]), float(looks[t]), float(self.group[t, s]),
                          float(weight[t] * mean))
            )  # fmt: skip
        return sorted(found, key=lambda one: -one.cost)[:most]

    def worst_pair(
        self, compiled: CompiledReference, shares: Floats
    ) -> tuple[str, str, float] | None:
        """Return the two genera that are mixed up most, and the answers that did so.

        Counts both directions, each beyond what the group does, weighted by the survey.
        """
        size = len(self.seen)
        total = self.counts.sum(axis=1, keepdims=True)
        weight = (shares / shares.sum())[:, None]
        # Genera that the survey rarely meets still count for the one who confuses them.
        excess = (self.counts / total - self.group)[:, :size] * np.sqrt(weight)
        excess = np.where(self.seen[:, :size] > 0, excess, 0.0)
        np.fill_diagonal(excess, 0.0)
        both = excess + excess.T
        a, b = np.unravel_index(int(np.argmax(both)), both.shape)
        if both[a, b] <= 0:
            return None
        times = float(self.seen[a, b] + self.seen[b, a])
        return compiled.genera[int(a)], compiled.genera[int(b)], times


def simulated_confusions(
    kernel: Kernel, prior: Floats, rng: np.random.Generator, each: int = 60
) -> Floats:
    """Return the model's own mix-ups, shape (G, G + 1), rows adding up to 1.

    Parameters
    ----------
    kernel : Kernel
        Of an unknown observer.
    prior : ndarray, shape (G + 1,)
        P(genus) of the region.
    rng : numpy.random.Generator
        Draws colonies and reports.
    each : int
        Colonies of each genus.
    """
    compiled = kernel.compiled
    size = len(compiled.genera)
    rows = np.zeros((size, size + 1))
    looks = np.array([_LOOKS.get(one.seen, 0.0) for one in compiled.characters])
    for g in range(size):
        forms = np.arange(compiled.genus_starts[g], compiled.genus_starts[g + 1])
        weight = compiled.form_weight[forms]
        form = rng.choice(forms, each, p=weight / weight.sum())
        looked_at = rng.random((each, len(looks))) < looks
        true = draw_colonies(compiled, form, rng)
        evidence = report_colonies(compiled, true, kernel.observer, looked_at, rng)
        rows[g] = posterior(kernel, evidence, prior).genus.mean(axis=0)
    return rows


def learn_confusions(
    model: Floats,
    true: Sequence[NDArray[np.int64]],
    said: Sequence[Floats],
) -> list[GenusConfusions]:
    """Learn every member's rows.

    A member who names more right than the model expects does so for all genera alike:
    one shift of the log odds of being right, learned for the group and then for the
    member, moves every row before the member's own answers to that genus are added.

    Parameters
    ----------
    model : ndarray, shape (G, G + 1)
        The model's own mix-ups.
    true : sequence of ndarray, each (n,)
        True genus of each answer, by member.
    said : sequence of ndarray, each (n, G + 1)
        The answer, shared among the genera named.

    Returns
    -------
    list of GenusConfusions
        One a member; the group's rows leave the member's own answers out.
    """
    seen = [_table(len(model), *pair) for pair in zip(true, said, strict=True)]
    total = np.sum(seen, axis=0) if seen else np.zeros_like(model)
    found = []
    for own in seen:
        others = total - own
        of_group = _shift(model, others)
        group = MODEL_WORTH * _shifted(model, of_group[0]) + others
        group /= group.sum(axis=1, keepdims=True)
        shift, sd = _shift(group, own)
        counts = GROUP_WORTH * _shifted(group, shift) + own
        found.append(GenusConfusions(counts, own, group, sd))
    return found


def _shift(rows: Floats, seen: Floats) -> tuple[float, float]:
    """Most probable shift of the log odds of being right, and its sd; prior normal(0, 1)."""
    odds = logit(np.clip(np.diagonal(rows), 1e-3, 1 - 1e-3))
    right = np.diagonal(seen)
    wrong = seen.sum(axis=1) - right
    at = odds + _SHIFTS[:, None]
    logs = log_expit(at) @ right + log_expit(-at) @ wrong - 0.5 * _SHIFTS**2
    share = np.exp(logs - logs.max())
    share /= share.sum()
    mean = share @ _SHIFTS
    sd = float(np.sqrt(share @ (_SHIFTS - mean) ** 2))
    return float(_SHIFTS[int(np.argmax(logs))]), sd


def _shifted(rows: Floats, shift: float) -> Floats:
    """Move the diagonal of every row by a shift of its log odds, the rest in proportion."""
    size = len(rows)
    right = np.clip(np.diagonal(rows), 1e-3, 1 - 1e-3)
    moved = expit(logit(right) + shift)
    found: Floats = rows * ((1 - moved) / (1 - np.diagonal(rows)).clip(1e-9))[:, None]
    found[np.arange(size), np.arange(size)] = moved
    found /= found.sum(axis=1, keepdims=True)
    return found


def _table(size: int, true: NDArray[np.int64], said: Floats) -> Floats:
    """Add up answers by true genus."""
    table = np.zeros((size, size + 1))
    np.add.at(table, true, said)
    return table
