"""Run all evidence again after the reference, the names or an observer's errors changed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from corallum.actions.colony_answers import (
    Provenance,
    errors_of,
    provenance_of,
    write_model_determination,
)
from corallum.actions.programme_reference import programme_determiner, programme_library
from corallum.actions.unit_of_work import Unit, unit_of_work
from corallum.errors import ConflictError, InputError
from corallum.records.answer import Verdict
from corallum.records.colony_record import ColonyRecord, Determination
from corallum.records.fold import as_colony
from corallum.records.programme import Role
from corallum.store.colonies import colony_ids, load_colony, rewrite_row
from corallum.store.history import write_entry
from corallum.store.programme import Programme

__all__ = [
    "Redetermination",
    "Redetermine",
    "Redetermined",
    "preview_redetermination",
    "redetermine",
]

# Colonies that are written in one transaction: others get their turn between.
_PIECE = 100


@dataclass(frozen=True, slots=True)
class Redetermine:
    """Apply what a preview showed; ``hash`` is that of the reference it ran on."""

    hash: str


@dataclass(frozen=True, slots=True)
class Redetermined:
    """A colony whose verdict changed; ``overridden`` where a lead's name stands above it."""

    colony: str
    number: int
    name: str
    old: Determination
    new: Verdict
    overridden: bool


@dataclass(frozen=True, slots=True)
class Redetermination:
    """What running all evidence again changed, or would change.

    Parameters
    ----------
    hash, version : str
        Of the reference that it ran on.
    rerun : int
        Colonies that were run again.
    unchanged : int
        Colonies left alone, because nothing that they rest on changed.
    changes : tuple of Redetermined
        Those that were run again with another status, name or set of genera.
    failed : tuple
        Number of each colony whose evidence the reference no longer knows, and why.
    """

    hash: str
    version: str
    rerun: int
    unchanged: int
    changes: tuple[Redetermined, ...]
    failed: tuple[tuple[str, str], ...]


def _nothing(_: float) -> None:
    """Tell nobody."""


def preview_redetermination(
    programme: Programme, progress: Callable[[float], None] = _nothing
) -> Redetermination:
    """Say what would change if all evidence were run again; nothing is written.

    Parameters
    ----------
    programme : Programme
        Whose colonies.
    progress : callable
        Is told the share done, 0 to 1.
    """
    run = _Run(programme)
    for piece, share in run.pieces():
        with programme.read() as connection:
            records = [load_colony(connection, id_) for id_ in piece]
        for record in records:
            run.again(record)
        progress(share)
    return run.result()


def redetermine(
    programme: Programme,
    command: Redetermine,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
    progress: Callable[[float], None] = _nothing,
) -> Redetermination:
    """Run all evidence again and keep the answers as new determinations (a lead's work).

    What was determined before is kept, and a lead's override still stands above the
    model. If it is stopped half-way, what is written stands, and the next run goes on.

    Raises
    ------
    ConflictError
        Where the reference changed since the preview.
    """
    what = "determine all colonies again"
    with unit_of_work(programme, person, now, Role.LEAD, what):
        run = _Run(programme)
    if run.hash != command.hash:
        message = "the reference changed since the preview. Look at a new one first."
        raise ConflictError(message)
    for piece, share in run.pieces():
        with unit_of_work(programme, person, now, Role.LEAD, what) as unit:
            for id_ in piece:
                _write(programme, run, unit, load_colony(unit.connection, id_))
        progress(share)
    found = run.result()
    with unit_of_work(programme, person, now, Role.LEAD, what) as unit:
        detail = {"hash": found.hash, "rerun": found.rerun, "changed": len(found.changes),
                  "unchanged": found.unchanged, "failed": len(found.failed)}  # fmt: skip
        write_entry(unit.connection, unit.act, "redetermine", detail)
    return found


def _write(programme: Programme, run: _Run, unit: Unit, record: ColonyRecord) -> None:
    """Run one colony again and keep the answer."""
    verdict = run.again(record)
    if verdict is not None:
        on = run.provenance(record)
        write_model_determination(programme, unit, record, verdict, on)
        rewrite_row(unit.connection, record.id)


class _Run:
    """Runs colonies again and keeps count."""

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        self.hash = programme_library(programme).compiled.hash
        self.errors: dict[str | None, str] = {}
        self.rests_on: dict[str, Provenance] = {}
        self.rerun = self.unchanged = 0
        self.changes: list[Redetermined] = []
        self.failed: list[tuple[str, str]] = []

    def pieces(self) -> Iterator[tuple[list[str], float]]:
        """Yield ids of determined colonies piece by piece, with the share done after each."""
        with self.programme.read() as connection:
            ids = list(colony_ids(connection, determined=True))
        for start in range(0, len(ids), _PIECE):
            piece = ids[start : start + _PIECE]
            yield piece, (start + len(piece)) / len(ids)

    def provenance(self, record: ColonyRecord) -> Provenance:
        """Return what a new determination would rest on."""
        observer = record.observer
        if observer not in self.errors:
            self.errors[observer] = errors_of(self.programme, observer)
        errors = self.errors[observer]
        if errors not in self.rests_on:
            self.rests_on[errors] = provenance_of(self.programme, errors)
        return self.rests_on[errors]

    def again(self, record: ColonyRecord) -> Verdict | None:
        """Run one colony again; None where there is no need, or it can't be."""
        by_model = [
            one
            for one in record.determinations
            if one.kind == "model" and one.history in record.in_effect
        ]
        if not by_model or record.withdrawn:
            return None
        old, on = by_model[-1], self.provenance(record)
        if not _is_stale(record, old, on):
            self.unchanged += 1
            return None
        determiner = programme_determiner(self.programme, on.observer_errors)
        try:
            new = determiner.determine(as_colony(record)).verdict
        except InputError as error:
            self.failed.append((str(record.number), "; ".join(map(str, error.faults))))
            return None
        self.rerun += 1
        if (old.status, old.name, old.genera) != (new.status, new.name, new.genera):
            overridden = record.current is not None and record.current.kind == "override"
            self.changes.append(
                Redetermined(record.id, record.number, record.name, old, new, overridden)
            )
        return new

    def result(self) -> Redetermination:
        """Return the count."""
        version = next(iter(self.rests_on.values()), provenance_of(self.programme, ""))
        return Redetermination(
            self.hash, version.reference_version, self.rerun, self.unchanged,
            tuple(self.changes), tuple(self.failed),
        )  # fmt: skip


_EVIDENCE_VERBS = frozenset(("start", "report", "condition", "region", "observer", "undo"))


def _is_stale(record: ColonyRecord, old: Determination, on: Provenance) -> bool:
    """Whether anything changed that a determination rests on."""
    same = (
        old.reference_hash == on.reference_hash
        and old.program == on.program
        and old.observer_errors == on.observer_errors
    )
    newer = any(
        entry.id > old.evidence_upto and entry.verb in _EVIDENCE_VERBS for entry in record.history
    )
    return newer or not same
