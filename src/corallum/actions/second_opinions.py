"""Second readings by another person, and samples sent to a collection under a permit."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from corallum.actions.colony_answers import provenance_of
from corallum.actions.colony_changes import change_colony
from corallum.actions.permits import require_permit
from corallum.actions.programme_reference import programme_library
from corallum.actions.references import find_genus
from corallum.actions.unit_of_work import (
    Unit,
    check_id,
    check_line,
    check_notes,
    check_number,
    check_share,
)
from corallum.errors import ConflictError, Fault, InputError
from corallum.records.colony_record import ColonyRecord, ColonyRow, SecondReading, Voucher
from corallum.records.fold import row_of
from corallum.records.programme import Role
from corallum.store import opinions
from corallum.store.colonies import Wanted, list_rows, load_colony
from corallum.store.history import add_row
from corallum.store.people import person_of
from corallum.store.programme import Programme
from corallum.store.schema import determination, reading_answer, reading_request, voucher

__all__ = [
    "AnswerReading",
    "AskReading",
    "SendVoucher",
    "answer_reading",
    "ask_reading",
    "list_vouchers",
    "send_voucher",
    "waiting_readings",
]

_MOST_GENERA = 10
_MOST_ROWS = 200


@dataclass(frozen=True, slots=True)
class AskReading:
    """A colony that somebody else shall read; ``of`` is whom, None is anybody."""

    colony: str
    question: str = ""
    of: str | None = None


@dataclass(frozen=True, slots=True)
class AnswerReading:
    """What a second reader says: one genus, or those that they can't choose between."""

    request: int
    genera: tuple[str, ...]
    confidence: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class SendVoucher:
    """A sample of a colony for a collection, under the permit of this number."""

    colony: str
    permit: str
    label: str = ""
    held_by: str = ""
    note: str = ""


def ask_reading(
    programme: Programme,
    command: AskReading,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> SecondReading:
    """Ask for a second reading of a colony.

    Raises
    ------
    ConflictError
        Where one waits already, or it is asked of the colony's own observer.
    """
    question = check_notes(command.question, "question", empty=True)

    def change(unit: Unit, record: ColonyRecord) -> None:
        if any(reading.answer is None for reading in record.readings):
            raise ConflictError("a second reading of this colony waits already.")
        if command.of is not None:
            asked = person_of(unit.connection, check_id(command.of, "person"))
            if not asked.active or not asked.role.covers(Role.OBSERVER):
                raise ConflictError(f"{asked.name} may not read colonies. Ask somebody else.")
            if asked.id == record.observer:
                raise ConflictError(f"{asked.name} saw this colony first. Ask somebody else.")
        row = {"colony": record.id, "asked_of": command.of, "question": question}
        add_row(unit.connection, unit.act, "ask reading", reading_request, row)

    what = "ask for second readings"
    return change_colony(programme, command.colony, (now, person), what, change).readings[-1]


def answer_reading(
    programme: Programme,
    command: AnswerReading,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> SecondReading:
    """Answer a second reading; the answer is also kept as a determination that its reader signs.

    Raises
    ------
    ConflictError
        Where it is answered already, or who answers saw the colony first.
    """
    request = check_number(command.request, "second reading")
    genera = _genera(programme, command.genera)
    note = check_notes(command.note, "note", empty=True)
    confidence = check_share(command.confidence, "confidence")
    with programme.read() as connection:
        colony = opinions.colony_of_request(connection, request)
    on = provenance_of(programme, "")

    def change(unit: Unit, record: ColonyRecord) -> None:
        _check_reader(record, request, unit)
        answer = {"colony": record.id, "request": request, "genera": json.dumps(genera),
                  "confidence": confidence, "note": note}  # fmt: skip
        add_row(unit.connection, unit.act, "answer reading", reading_answer, answer)
        name = f"{genera[0]} sp." if len(genera) == 1 else " or ".join(genera)
        said = {
            "colony": record.id, "kind": "reading", "status": "read_again",
            "genera": json.dumps(genera), "name": name[:200], "probability": confidence,
            "rank": "genus" if len(genera) == 1 else "several", "needs": "", "reason": note,
            "reference_hash": on.reference_hash, "reference_version": on.reference_version,
            "program": on.program, "observer_errors": "",
            "evidence_upto": record.history[-1].id,
        }  # fmt: skip
        add_row(unit.connection, unit.act, "read again", determination, said)

    record = change_colony(programme, colony, (now, person), "answer second readings", change)
    return next(reading for reading in record.readings if reading.history == request)


def _genera(programme: Programme, names: tuple[str, ...]) -> tuple[str, ...]:
    """Return the genera of today that are named."""
    if not 1 <= len(names) <= _MOST_GENERA:
        expected = f"1 to {_MOST_GENERA} genera"
        raise InputError([Fault("answer", "genera", expected, str(len(names)), "Name them.")])
    library = programme_library(programme)
    found = (find_genus(library, check_line(name, "genus")) for name in names)
    return tuple(dict.fromkeys(found))


def _check_reader(record: ColonyRecord, request: int, unit: Unit) -> None:
    """Refuse an answer that would be no second reading."""
    found = [reading for reading in record.readings if reading.history == request]
    if not found:
        raise ConflictError("this second reading was taken back. Look again.")
    if found[0].answer is not None:
        raise ConflictError("this second reading is answered already. Look again.")
    if unit.person.id == record.observer:
        message = f"{unit.person.name} saw this colony first. Somebody else must read it."
        raise ConflictError(message)
    if found[0].asked_of not in (None, unit.person.id):
        message = "this second reading was asked of somebody else. Leave it to them."
        raise ConflictError(message)


def send_voucher(
    programme: Programme,
    command: SendVoucher,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> Voucher:
    """Note that a sample of a colony goes to a collection; without a permit none may be taken.

    Raises
    ------
    InputError
        Where the programme has no permit of that number that is good today.
    """
    if not isinstance(command.permit, str) or not command.permit.strip():
        remedy = "Take no sample without one; local rules decide."
        raise InputError([Fault("voucher", "permit", "the permit's number", "none", remedy)])
    permit = check_line(command.permit, "permit")
    label = check_line(command.label, "label", empty=True)
    held_by = check_line(command.held_by, "held by", empty=True)
    note = check_notes(command.note, "note", empty=True)

    def change(unit: Unit, record: ColonyRecord) -> None:
        require_permit(unit.connection, permit, now.date())
        row = {"colony": record.id, "permit": permit, "label": label, "held_by": held_by,
               "note": note}  # fmt: skip
        add_row(unit.connection, unit.act, "voucher", voucher, row)

    what = "send vouchers"
    return change_colony(programme, command.colony, (now, person), what, change).vouchers[-1]


def waiting_readings(
    programme: Programme, most: int = 50
) -> tuple[tuple[SecondReading, ColonyRow], ...]:
    """Return the second readings that wait for an answer, with their colonies."""
    most = min(max(most, 0), _MOST_ROWS)
    with programme.read() as connection:
        rows = list_rows(connection, Wanted(waits="reading"), skip=0, most=most)
        records = [load_colony(connection, row.id) for row in rows]
    return tuple(
        (reading, row_of(record))
        for record in records
        for reading in record.readings
        if reading.answer is None
    )


def list_vouchers(programme: Programme, most: int = 50) -> tuple[tuple[Voucher, ColonyRow], ...]:
    """Return the samples that were sent, with their colonies, newest first."""
    most = min(max(most, 0), _MOST_ROWS)
    with programme.read() as connection:
        colonies = opinions.colonies_with_vouchers(connection, most)
        records = [load_colony(connection, id_) for id_ in colonies]
    found = [(item, row_of(record)) for record in records for item in record.vouchers]
    return tuple(sorted(found, key=lambda pair: -pair[0].history)[:most])
