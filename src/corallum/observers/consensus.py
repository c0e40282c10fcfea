"""What several observers say together of each item, and which items to look at again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from corallum.observers.dawid_skene import Fit, Priors, ReadingMatrix, run_em
from corallum.observers.hierarchical import GroupFit, Shrinkage, fit_group
from corallum.observers.readings import Readings
from corallum.observers.sampled import Sampled, SamplePlan, sample_labels
from corallum.observers.starts import StartPlan, Starts, try_starts

__all__ = ["Consensus", "ConsensusPlan", "reach_consensus"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


# Below it probabilities of EM claim too much: tests/calibration/test_consensus_small.py.
_FEW_ITEMS = 400


@dataclass(frozen=True, slots=True)
class ConsensusPlan:
    """How to find a consensus.

    Parameters
    ----------
    shrinkage : Shrinkage or None
        Draw each observer's rows to the group's; None is plain maximum likelihood.
    starts : StartPlan
        Random starts, and which end to keep.
    sample : SamplePlan or None
        Sample labels and rates from where EM ended; needs `shrinkage`.
    most_rounds : int
        Rounds of EM after which to give up.
    """

    shrinkage: Shrinkage | None = None
    starts: StartPlan = field(default_factory=StartPlan)
    sample: SamplePlan | None = None
    most_rounds: int = 2000


@dataclass(frozen=True, slots=True, eq=False)
class Consensus:
    """Labels of N items with their probabilities, and what each observer errs on.

    Attributes
    ----------
    readings : Readings
        What it rests on.
    fit : Fit
        What EM found, and whether it converged.
    starts : Starts
        Whether other starts ended in the same place.
    sampled : Sampled or None
        What sampling found; then label, probability and rows are from there.
    label : ndarray of int, shape (N,)
        Most probable label of each item; of equal ones the first.
    probability : ndarray, shape (N,)
        Its probability.
    """

    readings: Readings
    fit: Fit
    starts: Starts
    sampled: Sampled | None
    label: Ints
    probability: Floats

    @property
    def posterior(self) -> Floats:
        """P(true label) of each item, shape (N, L)."""
        return self.fit.posterior if self.sampled is None else self.sampled.posterior

    @property
    def prevalence(self) -> Floats:
        """P(true label), shape (L,)."""
        return self.fit.model.prevalence if self.sampled is None else self.sampled.prevalence

    @property
    def matrices(self) -> Floats:
        """P(said | observer, true), shape (O, L, L)."""
        return self.fit.model.matrices if self.sampled is None else self.sampled.matrices

    @property
    def weights(self) -> Floats:
        """Expected number of readings that each row rests on, shape (O, L)."""
        return self.fit.weights if self.sampled is None else self.sampled.weights

    @property
    def group(self) -> Floats | None:
        """The group's rows, where rows were drawn together."""
        if self.sampled is not None:
            return self.sampled.group
        return self.fit.group if isinstance(self.fit, GroupFit) else None

    @property
    def strength(self) -> float | None:
        """How many readings the group's rows counted for."""
        if self.sampled is not None:
            return self.sampled.strength
        return self.fit.strength if isinstance(self.fit, GroupFit) else None

    @property
    def note(self) -> str | None:
        """What to mind about the probabilities."""
        if len(self.readings.observers) == 1:
            return "one observer only: the labels are theirs, and nothing tells if they are right"
        if self.sampled is None and len(self.readings.items) < _FEW_ITEMS:
            return (
                "with so few items the probabilities claim too much: take them as an order, "
                "or sample them"
            )
        return None

    def queue(self, below: float = 0.95) -> Ints:
        """Items to adjudicate: those less probable than `below`, the least probable first."""
        order = np.argsort(self.probability, kind="stable")
        return order[self.probability[order] < below]


def reach_consensus(
    readings: Readings,
    rng: np.random.Generator,
    plan: ConsensusPlan | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> Consensus:
    """Find the labels that the readings speak for.

    Parameters
    ----------
    readings : Readings
        All readings; repeats count one each.
    rng : numpy.random.Generator
        Draws the random starts, and what is sampled.
    plan : ConsensusPlan, optional
        How; plain maximum likelihood by default.
    progress : callable
        Is told the share done, 0 to 1.
    """
    plan = plan or ConsensusPlan()
    matrix = ReadingMatrix(readings)
    is_sampled = plan.sample is not None and plan.shrinkage is not None
    share = 0.5 if is_sampled else 1.0

    def run(start: Floats, tell: Callable[[float], None]) -> Fit:
        if plan.shrinkage is None:
            return run_em(matrix, start, Priors(), plan.most_rounds, tell)
        return fit_group(matrix, start, plan.shrinkage, plan.most_rounds, tell)

    fit, starts = try_starts(matrix, run, rng, plan.starts, lambda done: progress(share * done))
    sampled = None
    if is_sampled:
        shrinkage, sample = plan.shrinkage or Shrinkage(), plan.sample
        sampled = sample_labels(
            matrix, fit.posterior, shrinkage, rng, sample, lambda done: progress(0.5 + done / 2)
        )
    posterior = fit.posterior if sampled is None else sampled.posterior
    label = posterior.argmax(axis=1)
    probability = posterior[np.arange(len(label)), label]
    return Consensus(readings, fit, starts, sampled, label, probability)
