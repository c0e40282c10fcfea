"""What the model says of a colony, and opinions that are kept: dated, signed, never overwritten."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

import numpy as np

import corallum
from corallum.actions.colony_changes import change_colony
from corallum.actions.colony_lists import get_colony
from corallum.actions.programme_reference import (
    programme_determiner,
    programme_library,
    reference_version,
)
from corallum.actions.references import find_genus
from corallum.actions.unit_of_work import Unit, check_id, check_line, check_notes, unit_of_work
from corallum.errors import ConflictError
from corallum.records.answer import Answer, Verdict
from corallum.records.colony_record import ColonyRecord, Determination
from corallum.records.fold import as_colony
from corallum.records.programme import Role
from corallum.store.history import add_row, time_text
from corallum.store.people import person_of
from corallum.store.programme import Programme
from corallum.store.reference_copy import keep_version
from corallum.store.reference_folder import read_reference_folder
from corallum.store.schema import determination

__all__ = [
    "Override",
    "Provenance",
    "SaveDetermination",
    "answer_colony",
    "errors_of",
    "override_determination",
    "provenance_of",
    "save_determination",
    "write_model_determination",
]


@dataclass(frozen=True, slots=True)
class SaveDetermination:
    """A colony whose answer shall be kept."""

    colony: str


@dataclass(frozen=True, slots=True)
class Override:
    """A lead's own name for a colony, with the reason."""

    colony: str
    genus: str
    reason: str


@dataclass(frozen=True, slots=True)
class Provenance:
    """What a determination by the model rests on, beside the evidence."""

    reference_hash: str
    reference_version: str
    program: str
    observer_errors: str


def answer_colony(programme: Programme, colony: str | ColonyRecord) -> Answer:
    """Say what the model makes of a colony's evidence now; nothing is kept.

    Raises
    ------
    InputError
        Where the reference was edited and no longer knows some of the evidence.
    """
    record = colony if isinstance(colony, ColonyRecord) else get_colony(programme, colony)
    determiner = programme_determiner(programme, errors_of(programme, record.observer))
    return determiner.determine(as_colony(record))


def errors_of(programme: Programme, observer: str | None) -> str:
    """Return whose errors to assume for an observer."""
    if observer is None:
        return "unknown"
    with programme.read() as connection:
        return person_of(connection, observer).errors


def provenance_of(programme: Programme, errors: str) -> Provenance:
    """Return what a determination would rest on now."""
    hash_ = programme_library(programme).compiled.hash
    return Provenance(hash_, reference_version(programme), corallum.__version__, errors)


def save_determination(
    programme: Programme,
    command: SaveDetermination,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> Determination:
    """Keep what the model says of a colony now.

    Raises
    ------
    ConflictError
        Where nothing is reported of the colony yet.
    """
    before = get_colony(programme, command.colony)
    answer = answer_colony(programme, before)

    def change(unit: Unit, record: ColonyRecord) -> None:
        if not record.reports:
            raise ConflictError("nothing is reported of this colony yet. Add what was seen first.")
        # Somebody may have added evidence while the model was at work.
        same = record.history[-1].id == before.history[-1].id
        said = answer if same else answer_colony(programme, record)
        errors = errors_of(programme, record.observer)
        write_model_determination(
            programme, unit, record, said.verdict, provenance_of(programme, errors)
        )

    what = "keep determinations"
    return change_colony(programme, command.colony, (now, person), what, change).determinations[-1]


def write_model_determination(
    programme: Programme, unit: Unit, record: ColonyRecord, verdict: Verdict, on: Provenance
) -> None:
    """Write a determination by the model, and the tables that it rests on."""
    tables = read_reference_folder(programme.reference_folder)
    about = (on.reference_hash, on.reference_version, time_text(unit.act.now))
    keep_version(unit.connection, about, tables)
    row = {
        "colony": record.id, "kind": "model", "status": verdict.status,
        "genera": json.dumps(verdict.genera), "name": verdict.name,
        "probability": verdict.probability, "rank": verdict.rank, "needs": verdict.needs,
        "reason": "", "evidence_upto": record.history[-1].id, **_columns(on),
    }  # fmt: skip
    add_row(unit.connection, unit.act, "determine", determination, row)


def _columns(on: Provenance) -> dict[str, str]:
    """Return what a determination rests on as columns."""
    return {
        "reference_hash": on.reference_hash, "reference_version": on.reference_version,
        "program": on.program, "observer_errors": on.observer_errors,
    }  # fmt: skip


def override_determination(
    programme: Programme,
    command: Override,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> Determination:
    """Name a colony against or beside the model, with the reason (a lead's work).

    The model's determinations are kept. To undo it gives the word back to the model.

    Raises
    ------
    UnknownNameError
        Where the genus is not known, or the older name may mean several.
    """
    check_id(command.colony, "colony")
    with unit_of_work(programme, person, now, Role.LEAD, "override the model"):
        pass
    genus = find_genus(programme_library(programme), check_line(command.genus, "genus"))
    reason = check_notes(command.reason, "reason")
    on = provenance_of(programme, "")

    def change(unit: Unit, record: ColonyRecord) -> None:
        row = {
            "colony": record.id, "kind": "override", "status": "overridden",
            "genera": json.dumps([genus]), "name": f"{genus} sp.", "probability": None,
            "rank": "genus", "needs": "nothing", "reason": reason,
            "evidence_upto": record.history[-1].id, **_columns(on),
        }  # fmt: skip
        add_row(unit.connection, unit.act, "override", determination, row)

    return change_colony(
        programme, command.colony, (now, person), "override the model", change, needed=Role.LEAD
    ).determinations[-1]
