"""What an append-only history says now: later entries win, and undone ones never were."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Protocol, TypeVar

from corallum.records.colony import Colony, SizeReport, StateReport
from corallum.records.colony_record import (
    ColonyParts,
    ColonyRecord,
    ColonyRow,
    Determination,
    Entry,
    HistoryEntry,
    ReadingAnswer,
    SecondReading,
)

__all__ = ["as_colony", "assemble_record", "current_entries", "entries_in_effect", "row_of"]


class _Dated(Protocol):
    """Something that one history entry wrote."""

    @property
    def history(self) -> int: ...


_T = TypeVar("_T", bound=_Dated)


def entries_in_effect(history: Iterable[HistoryEntry]) -> frozenset[int]:
    """Return the ids of the entries that no entry in effect undoes.

    An undo is later than what it undoes, so one pass from the newest settles
    undos of undos too.
    """
    undone: set[int] = set()
    effective: set[int] = set()
    for entry in sorted(history, key=lambda entry: -entry.id):
        if entry.id in undone:
            continue
        effective.add(entry.id)
        if entry.undoes is not None:
            undone.add(entry.undoes)
    return frozenset(effective)


def current_entries(
    entries: Iterable[Entry], effective: frozenset[int]
) -> Mapping[tuple[str, str], Entry]:
    """Return the newest entry in effect on each subject; those taken back are left out."""
    found: dict[tuple[str, str], Entry] = {}
    for entry in sorted(entries, key=lambda entry: entry.history):
        if entry.history in effective:
            subject = str(entry.history) if entry.kind == "note" else entry.subject
            # Out and in again: the order is that of the newest word on each.
            found.pop((entry.kind, subject), None)
            found[entry.kind, subject] = entry
    return {key: entry for key, entry in found.items() if entry.report is not None}


def assemble_record(parts: ColonyParts) -> ColonyRecord:
    """Fold everything kept of a colony into the record as it stands."""
    effective = entries_in_effect(parts.history)
    current = current_entries(parts.entries, effective)
    start = parts.history[0]
    return ColonyRecord(
        id=parts.id,
        number=parts.number,
        started_at=start.at,
        started_by=start.person,
        name=_text(current, "name") or "",
        notes=tuple(entry for (kind, _), entry in current.items() if kind == "note"),
        site=_text(current, "site"),
        event=_text(current, "event"),
        seen_on=_seen_on(current, start),
        region=_text(current, "region"),
        observer=_text(current, "observer"),
        conditions=tuple(
            subject
            for (kind, subject), entry in current.items()
            if kind == "condition" and entry.report is True
        ),
        reports={subject: entry for (kind, subject), entry in current.items() if kind == "report"},
        photos=_kept(parts.photos, effective),
        measurements=_kept(parts.measurements, effective),
        determinations=parts.determinations,
        current=_current(_kept(parts.determinations, effective)),
        readings=_with_answers(_kept(parts.readings, effective), _kept(parts.answers, effective)),
        vouchers=_kept(parts.vouchers, effective),
        history=parts.history,
        in_effect=effective,
        withdrawn=start.id not in effective,
    )


def _text(current: Mapping[tuple[str, str], Entry], kind: str) -> str | None:
    """Return what stands on a subject that a colony has once."""
    entry = current.get((kind, ""))
    return entry.report if entry is not None and isinstance(entry.report, str) else None


def _seen_on(current: Mapping[tuple[str, str], Entry], start: HistoryEntry) -> date:
    """Return the day of the look; the day of the first entry where none is given."""
    text = _text(current, "seen_on")
    day = start.at.date()
    return type(day).fromisoformat(text) if text else day


def _kept(items: Sequence[_T], effective: frozenset[int]) -> tuple[_T, ...]:
    """Leave out what was undone."""
    return tuple(item for item in items if item.history in effective)


def _current(determinations: Sequence[Determination]) -> Determination | None:
    """Return the newest override, else the newest by the model."""
    for kind in ("override", "model"):
        found = [item for item in determinations if item.kind == kind]
        if found:
            return found[-1]
    return None


def _with_answers(
    readings: Sequence[SecondReading], answers: Sequence[ReadingAnswer]
) -> tuple[SecondReading, ...]:
    """Give each request its newest answer."""
    by_request = {answer.request: answer for answer in answers}
    return tuple(replace(reading, answer=by_request.get(reading.history)) for reading in readings)


def as_colony(record: ColonyRecord) -> Colony:
    """Return the evidence as the model reads it."""
    return Colony(
        str(record.number),
        {
            character: entry.report
            for character, entry in record.reports.items()
            if isinstance(entry.report, StateReport | SizeReport)
        },
        record.region,
        record.observer,
        record.conditions,
    )


def row_of(record: ColonyRecord) -> ColonyRow:
    """Return the line that lists show."""
    current = record.current
    status = "not_determined" if current is None else current.status
    named = current is not None and len(current.genera) == 1
    needs = "" if current is None else current.needs
    return ColonyRow(
        id=record.id,
        number=record.number,
        name=record.name,
        genus=current.genera[0] if current is not None and named else None,
        shown_name="" if current is None else current.name,
        status=status,
        needs=needs,
        probability=None if current is None else current.probability,
        kind="" if current is None else current.kind,
        site=record.site,
        event=record.event,
        region=record.region,
        seen_on=record.seen_on,
        changed_at=max(entry.at for entry in record.history),
        observer=record.observer,
        photo=record.photos[0].photo.sha256 if record.photos else None,
        waits_reading=any(reading.answer is None for reading in record.readings),
        waits_voucher=needs == "voucher" and not record.vouchers,
        withdrawn=record.withdrawn,
    )
