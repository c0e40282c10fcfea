"""What a person can ask of several observers' readings of the same items."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import numpy as np
from numpy.typing import NDArray

from corallum.errors import Fault, InputError
from corallum.exchange.observer_answers import consensus_csv
from corallum.exchange.readings import read_readings
from corallum.exchange.text_file import read_text, write_text
from corallum.observers.agreement import Agreement, measure_agreement
from corallum.observers.consensus import Consensus, ConsensusPlan, reach_consensus
from corallum.observers.hierarchical import Shrinkage
from corallum.observers.krippendorff import Level
from corallum.observers.readings import Readings, put_in_order
from corallum.observers.sampled import SamplePlan
from corallum.observers.starts import StartPlan

__all__ = [
    "AgreementQuestion",
    "ConsensusQuestion",
    "agreement_of",
    "consensus_of",
    "open_readings",
    "write_consensus",
]

Progress = Callable[[float], None]
# Readings of more labels or items than this would need more memory than a laptop has.
_MOST_CELLS = 200_000_000


@dataclass(frozen=True, slots=True)
class AgreementQuestion:
    """How to reckon agreement.

    Parameters
    ----------
    level : str
        nominal, ordinal, interval or ratio, for alpha.
    weights : str
        none, linear or quadratic, for weighted kappa of two observers.
    order : str or None
        Labels in their order, joined by commas; by default sorted.
    draws : int
        Samples of items for the interval of alpha.
    """

    level: str = "nominal"
    weights: str = "none"
    order: str | None = None
    draws: int = 1000


@dataclass(frozen=True, slots=True)
class ConsensusQuestion:
    """How to find a consensus.

    Parameters
    ----------
    is_hierarchical : bool
        Draw each observer's rows to the group's.
    strength : float or None
        How strongly, in readings; None estimates it.
    n_starts : int
        Random starts beside that from the votes.
    keep : str
        votes or best.
    most_rounds : int
        Rounds of EM after which to give up.
    n_sweeps : int
        Sweeps of the sampler; 0 does not sample.
    """

    is_hierarchical: bool = False
    strength: float | None = None
    n_starts: int = 5
    keep: str = "votes"
    most_rounds: int = 2000
    n_sweeps: int = 0


def open_readings(path: str, stdin: IO[bytes], most_mb: int) -> Readings:
    """Read a table of readings from a file, or from standard input where the path is ``-``.

    Raises
    ------
    InputError
        Where the file can't be read, or with every fault of the table.
    """
    text, name = read_text(path, stdin, most_mb)
    return read_readings(text, name)


def agreement_of(
    readings: Readings,
    question: AgreementQuestion,
    rng: np.random.Generator,
    progress: Progress = lambda _: None,
) -> Agreement:
    """Reckon every coefficient of agreement.

    Raises
    ------
    InputError
        Where the order leaves a label out, or a level needs numbers and a label is none.
    """
    if question.order is not None:
        readings = put_in_order(readings, [word.strip() for word in question.order.split(",")])
    level = Level(question.level)
    values = None
    if level in (Level.INTERVAL, Level.RATIO):
        values = _numbers(readings, level)
    return measure_agreement(
        readings,
        rng,
        level=level,
        weights=question.weights,
        values=values,
        draws=question.draws,
        progress=progress,
    )


def _numbers(readings: Readings, level: Level) -> NDArray[np.float64]:
    """Return the number that each label is."""
    values, faults = [], []
    for label in readings.labels:
        try:
            value = float(label)
        except ValueError:
            value = math.nan
        values.append(value)
        if not math.isfinite(value) or (level == Level.RATIO and value < 0):
            kind = "a number" if level == Level.INTERVAL else "a number, 0 or more,"
            remedy = "Mend it, or use --level nominal."
            faults.append(Fault("labels", "", f"{kind} for --level {level}", repr(label), remedy))
    if faults:
        raise InputError(faults)
    return np.array(values)


def consensus_of(
    readings: Readings,
    question: ConsensusQuestion,
    rng: np.random.Generator,
    progress: Progress = lambda _: None,
) -> Consensus:
    """Find the labels that the readings speak for, and each observer's errors.

    Raises
    ------
    InputError
        Where there are more items, observers and labels than memory can hold.
    """
    n_labels = len(readings.labels)
    cells = n_labels * max(len(readings.items), len(readings.observers) * n_labels)
    if cells > _MOST_CELLS:
        size = f"{len(readings.items)} x {len(readings.observers)} x {n_labels}"
        expected = f"at most {_MOST_CELLS:,} items x labels, or observers x labels x labels"
        remedy = "Check that the label column holds names, or split the file."
        raise InputError([Fault("items x observers x labels", "", expected, size, remedy)])
    plan = ConsensusPlan(
        Shrinkage(question.strength) if question.is_hierarchical else None,
        StartPlan(question.n_starts, question.keep),
        SamplePlan(question.n_sweeps) if question.n_sweeps else None,
        question.most_rounds,
    )
    return reach_consensus(readings, rng, plan, progress)


def write_consensus(found: Consensus, path: Path, below: float) -> None:
    """Write a consensus as a table, never over a file that is there."""
    write_text(path, consensus_csv(found, below))
