"""What several readers together say of the programme's colonies, and what needs a referee."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from corallum.observers.agreement import Agreement, measure_agreement
from corallum.observers.consensus import Consensus, ConsensusPlan, reach_consensus
from corallum.observers.hierarchical import Shrinkage
from corallum.observers.readings import Readings, table_readings
from corallum.records.colony_record import ColonyRecord
from corallum.store.colonies import load_colony
from corallum.store.opinions import colonies_read_again
from corallum.store.programme import Programme

__all__ = ["Adjudication", "ReadingReport", "report_readings"]

_SEED = 7
_MOST_COLONIES = 2000
_MOST_QUEUE = 30


@dataclass(frozen=True, slots=True)
class Adjudication:
    """A colony whose readers disagree: the consensus and how probable it is (0 to 1)."""

    colony: str
    number: int
    genus: str
    probability: float
    said: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ReadingReport:
    """Agreement between readers, and the colonies that they leave in doubt, worst first.

    ``best`` is the consensus genus of each colony read twice, and its probability.
    ``agreement`` and ``consensus`` are None while no colony was read twice.
    """

    colonies: int
    agreement: Agreement | None
    consensus: Consensus | None
    queue: tuple[Adjudication, ...]
    best: Mapping[str, tuple[str, float]] = field(default_factory=dict)


def report_readings(programme: Programme) -> ReadingReport:
    """Compare what was read twice: the first determination, second readings, overrides."""
    with programme.read() as connection:
        ids = colonies_read_again(connection, _MOST_COLONIES)
        records = [load_colony(connection, id_) for id_ in ids]
    read = {}
    for record in records:
        said = _said(record)
        if len(said) > 1:
            read[record.id] = (record, said)
    if not read:
        return ReadingReport(0, None, None, ())
    lines = tuple((id_, person, genus) for id_, (_, said) in read.items() for person, genus in said)
    agreement, consensus = _reckon(lines)
    best = dict(zip(consensus.readings.items, zip(
        [consensus.readings.labels[int(i)] for i in consensus.label],
        consensus.probability.tolist(), strict=True), strict=True))  # fmt: skip
    queue = sorted(
        (Adjudication(id_, record.number, best[id_][0], best[id_][1], said)
         for id_, (record, said) in read.items() if len({genus for _, genus in said}) > 1),
        key=lambda one: (one.probability, one.number),
    )  # fmt: skip
    return ReadingReport(len(read), agreement, consensus, tuple(queue[:_MOST_QUEUE]), best)


def _said(record: ColonyRecord) -> tuple[tuple[str, str], ...]:
    """Return who read a colony as which one genus; the observer's is the model's from their look.

    A set of genera is no reading of one label and is left out.
    """
    said = []
    model = [one for one in record.determinations if one.kind == "model"]
    if record.observer and model and len(model[-1].genera) == 1 and model[-1].genera[0]:
        said.append((record.observer, str(model[-1].genera[0])))
    said.extend(
        (reading.answer.person, reading.answer.genera[0])
        for reading in record.readings
        if reading.answer is not None and len(reading.answer.genera) == 1
    )
    said.extend(
        (one.person, str(one.genera[0]))
        for one in record.determinations
        if one.kind == "override" and one.history in record.in_effect
    )
    return tuple(said)


@lru_cache(maxsize=4)
def _reckon(lines: tuple[tuple[str, str, str], ...]) -> tuple[Agreement, Consensus]:
    """Reckon both once for one state of the readings, the same each time."""
    readings: Readings = table_readings(lines)
    agreement = measure_agreement(readings, np.random.default_rng(_SEED), draws=200)
    consensus = reach_consensus(
        readings, np.random.default_rng(_SEED), ConsensusPlan(shrinkage=Shrinkage())
    )
    return agreement, consensus
