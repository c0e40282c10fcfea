"""The file that the page for a phone saves: colonies a line each, with their whole records.

A line is a colony as ``corallum determine`` reads it, and under ``record`` the log that
it was folded from: who wrote what and when, what was taken back, and the answer as it was
shown. Both must say the same.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from corallum.errors import Fault, InputError
from corallum.exchange.colonies import BadColony, parse_colony, read_lines
from corallum.exchange.phone_answers import PhoneAnswer, parse_answer
from corallum.exchange.phone_fields import FieldReader
from corallum.records.colony import Colony, Report, SizeReport, StateReport

__all__ = ["PhoneEntry", "PhoneRecord", "colony_after", "read_phone_records"]

FORMAT = 1
_KINDS = ("report", "condition", "region", "observer", "site", "seen_on", "name", "note")
_KEYS = {"format", "id", "started_at", "log", "shown"}

EntryValue = Report | str | bool | None


@dataclass(frozen=True, slots=True)
class PhoneEntry:
    """One piece of what was said of a colony; None as value takes it back.

    Kinds are those of a colony's entries in a programme; of ``site`` and ``observer``
    the value is a name.
    """

    at: datetime
    kind: str
    subject: str
    value: EntryValue


@dataclass(frozen=True, slots=True)
class PhoneRecord:
    """A record as the phone kept it.

    Parameters
    ----------
    id : str
        Given by the phone; no two records have the same.
    place : str
        Where it stands in the file.
    started_at : datetime
        By the phone's clock.
    entries : tuple of PhoneEntry
        Everything that was ever said, in order.
    answers : tuple of PhoneAnswer
        What the page showed; one for each reference that it was shown with.
    colony : Colony
        What the entries say in the end.
    kept : mapping
        The record as it stands in the file.
    """

    id: str
    place: str
    started_at: datetime
    entries: tuple[PhoneEntry, ...]
    answers: tuple[PhoneAnswer, ...]
    colony: Colony
    kept: Mapping[str, Any]

    def seal(self, count: int) -> str:
        """Return a hash of the first entries, by which they are known again."""
        log = json.dumps(self.kept["log"][:count], sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(log.encode()).hexdigest()

    def text(self, kind: str, count: int | None = None) -> str | None:
        """Return what the first entries say of a kind that a colony has once."""
        found = None
        for entry in self.entries[:count]:
            if entry.kind == kind:
                found = entry.value
        return found if isinstance(found, str) else None


def read_phone_records(text: str, file: str) -> tuple[PhoneRecord, ...]:
    """Read a file that the page saved.

    Raises
    ------
    InputError
        With every fault of every line at once.
    """
    faults: list[Fault] = []
    found: list[PhoneRecord] = []
    first: dict[str, str] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip("\ufeff \t"):
            continue
        record = _read_line(line, file, f"line {number}", faults)
        if record is None:
            continue
        if record.id in first:
            expected = f"each record once ({record.id} is in {first[record.id]})"
            faults.append(Fault(file, record.place, expected, "it again", "Leave one out."))
        first.setdefault(record.id, record.place)
        found.append(record)
    if not found and not faults:
        expected = "colonies that the phone page saved"
        faults.append(Fault(file, "", expected, "none at all", "Save the file on the phone again."))
    if faults:
        raise InputError(faults)
    return tuple(found)


def _read_line(line: str, file: str, place: str, faults: list[Fault]) -> PhoneRecord | None:
    """Read one line; what is wrong with it is added to the faults."""
    text = line.strip().removeprefix("\ufeff")
    if text.startswith("["):
        FieldReader(file, place, faults).fault("", "one colony a line", "a list", "Mend it.")
        return None
    colony = next(read_lines([text], file))
    if isinstance(colony, BadColony):
        faults += [_placed(fault, place) for fault in colony.faults]
        return None
    fields = FieldReader(file, f"{place}, record", faults)
    kept = json.loads(text).get("record")
    if not isinstance(kept, dict) or kept.keys() != _KEYS or kept["format"] != FORMAT:
        expected = f"an object of {', '.join(sorted(_KEYS))}, format {FORMAT}"
        fields.fault("", expected, kept, "Save the file on the phone again.")
        return None
    before = len(faults)
    id_, started = (
        fields.phone_id("id", kept["id"]),
        fields.moment("started_at", kept["started_at"]),
    )
    entries = _entries(fields, kept["log"])
    answers = _answers(fields, kept["shown"], len(entries))
    if len(faults) > before or started is None:
        return None
    record = PhoneRecord(id_, place, started, entries, answers, colony, kept)
    _compare(record, fields)
    return record if len(faults) == before else None


def _placed(fault: Fault, place: str) -> Fault:
    """Put a fault of a single line into its place in the file."""
    inside = fault.place.removeprefix("line 1").removeprefix(", ")
    whole = f"{place}, {inside}" if inside else place
    return Fault(fault.where, whole, fault.expected, fault.found, fault.remedy)


def _entries(fields: FieldReader, log: object) -> tuple[PhoneEntry, ...]:
    """Read the log."""
    found = []
    for number, item in enumerate(fields.items("log", log), start=1):
        inside = fields.inside(f"log {number}")
        if not isinstance(item, dict) or item.keys() != {"at", "kind", "subject", "value"}:
            inside.fault("", "an object of at, kind, subject and value", item)
            continue
        at, kind = inside.moment("at", item["at"]), inside.one_of("kind", item["kind"], _KINDS)
        if not kind:
            continue
        subject = inside.text("subject", item["subject"], empty=kind not in ("report", "condition"))
        value = _value(inside, kind, subject, item["value"])
        if at is not None:
            found.append(PhoneEntry(at, kind, subject, value))
    return tuple(found)


def _value(fields: FieldReader, kind: str, subject: str, value: object) -> EntryValue:
    """Read what one entry says."""
    if kind == "report":
        return _report(fields, subject, value)
    if kind == "condition":
        if not isinstance(value, bool):
            fields.fault("value", "true or false", value)
        return bool(value)
    if value is None and kind not in ("seen_on", "note"):
        return None
    text = fields.text("value", value)
    if kind == "seen_on":
        try:
            date.fromisoformat(text)
        except ValueError:
            fields.fault("value", "a day such as 2026-03-14", value)
    return text


def _report(fields: FieldReader, subject: str, value: object) -> Report | None:
    """Read a report as a file of colonies holds it; null takes it back."""
    found = parse_colony({"id": "x", "observations": {subject: value}}, fields.file, fields.place)
    if isinstance(found, BadColony):
        fields.faults += found.faults
        return None
    return found.observations.get(subject)


def _answers(fields: FieldReader, shown: object, count: int) -> tuple[PhoneAnswer, ...]:
    """Read the answers that were shown."""
    read = (
        parse_answer(fields.inside(f"shown {number}"), item, count)
        for number, item in enumerate(fields.items("shown", shown), start=1)
    )
    return tuple(answer for answer in read if answer is not None)


def colony_after(record: PhoneRecord, count: int | None = None) -> Colony:
    """Return what the first entries (None: all) of a record say, as the model reads it."""
    reports: dict[str, Report] = {}
    conditions: dict[str, None] = {}
    for entry in record.entries[:count]:
        if entry.kind == "report":
            reports.pop(entry.subject, None)
            if isinstance(entry.value, StateReport | SizeReport):
                reports[entry.subject] = entry.value
        elif entry.kind == "condition":
            conditions.pop(entry.subject, None)
            if entry.value is True:
                conditions[entry.subject] = None
    region, observer = record.text("region", count), record.text("observer", count)
    return Colony(record.colony.id, reports, region, observer, tuple(conditions))


def _compare(record: PhoneRecord, fields: FieldReader) -> None:
    """Refuse a line whose log says something else than its colony."""
    log, line = colony_after(record), record.colony
    pairs: Sequence[tuple[str, object, object]] = (
        ("observations", log.observations, line.observations),
        ("conditions", set(log.conditions), set(line.conditions)),
        ("region", log.region, line.region),
        ("observer", log.observer, line.observer),
    )
    for key, here, there in pairs:
        if here != there:
            remedy = "The file was edited: take it from the phone again."
            fields.fault(key, "the same in the log as beside it", "another", remedy)
