"""Rows of the plain tables of colonies, made colony by colony."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import PurePosixPath
from typing import Any

from corallum.actions.survey_table_rows import PeopleNumbers
from corallum.exchange.tables_out.columns import Value
from corallum.records.colony import SizeReport, StateReport
from corallum.records.colony_record import ColonyRecord, HistoryEntry
from corallum.store import photo_rows
from corallum.store.colonies import report_of
from corallum.store.database import Connection
from corallum.store.photos import original_path
from corallum.store.programme import Programme

__all__ = ["ColonyRows", "photo_table"]

Row = dict[str, Value]


def photo_table(programme: Programme, connection: Connection) -> Iterator[Row]:
    """Yield photo files by their hash."""
    for one in photo_rows.all_photos(connection):
        path = original_path(programme.photo_folder, one.sha256, one.media_type)
        file = PurePosixPath(path.relative_to(programme.folder).as_posix())
        yield {
            "photo": one.sha256, "file": str(file), "media_type": one.media_type,
            "width_px": one.width, "height_px": one.height, "size_bytes": one.bytes,
            "added_at": one.added_at,
        }  # fmt: skip


class ColonyRows:
    """Makes the rows of one colony for each table; people stand as numbers."""

    def __init__(self, numbers: PeopleNumbers) -> None:
        self.number = numbers.number

    def all(self, record: ColonyRecord) -> Iterator[tuple[str, Row]]:
        """Yield the name of a table and a row of it, for everything kept of a colony."""
        yield "colonies", self._colony(record)
        for rows, table in (
            (self._observations(record), "observations"),
            (self._determinations(record), "determinations"),
            (self._readings(record), "colony_readings"),
            (self._photos(record), "colony_photos"),
            (self._measurements(record), "measurements"),
            (self._vouchers(record), "vouchers"),
        ):
            for row in rows:
                yield table, row

    def _colony(self, record: ColonyRecord) -> Row:
        """Return the row of a colony as it stands."""
        current = record.current
        return {
            "colony": record.id, "number": record.number, "name": record.name,
            "site": record.site, "event": record.event, "region": record.region,
            "seen_on": record.seen_on, "observer": self.number(record.observer),
            "conditions": record.conditions,
            "identification": None if current is None else current.name,
            "status": "not_determined" if current is None else current.status,
            "probability": None if current is None else current.probability,
            "started_by": self.number(record.started_by), "started_at": record.started_at,
            "withdrawn": record.withdrawn,
        }  # fmt: skip

    def _observations(self, record: ColonyRecord) -> Iterator[Row]:
        """Yield all that was ever said of a colony."""
        for entry in record.history:
            row = entry.detail.get("row")
            if entry.detail.get("table") == "entry" and isinstance(row, dict):
                yield self._observation(record, entry, row)

    def _observation(self, record: ColonyRecord, entry: HistoryEntry, row: dict[str, Any]) -> Row:
        """Return one thing that was said."""
        said = report_of(row["report"])
        state = said if isinstance(said, StateReport) else None
        size = said if isinstance(said, SizeReport) else None
        report = state or size
        return {
            "observation": entry.id, "colony": record.id, "kind": row["kind"],
            "subject": row["subject"], "states": None if state is None else state.states,
            "value": None if size is None else size.value, "n": None if size is None else size.n,
            "method": None if size is None else size.method,
            "sure": None if report is None else report.sure,
            "text": self._text(row["kind"], said), "taken_back": said is None,
            "measurement": row["measurement"], "said_by": self.number(entry.person),
            "said_at": entry.at, "in_effect": entry.id in record.in_effect,
        }  # fmt: skip

    def _text(self, kind: str, said: object) -> str | None:
        """Return what was said in words; people as numbers."""
        if isinstance(said, bool):
            return "yes" if said else "no"
        if not isinstance(said, str):
            return None
        return str(self.number(said)) if kind == "observer" else said

    def _determinations(self, record: ColonyRecord) -> Iterator[Row]:
        """Yield opinions in their order."""
        for place, one in enumerate(record.determinations, start=1):
            yield {
                "determination": one.history, "colony": record.id, "place_in_order": place,
                "kind": one.kind, "name": one.name,
                "genera": tuple(genus or "something else" for genus in one.genera),
                "status": one.status,
                "probability": one.probability, "rank": one.rank, "needs": one.needs,
                "reason": one.reason, "reference_hash": one.reference_hash,
                "reference_version": one.reference_version, "program": one.program,
                "observer_errors": one.observer_errors, "evidence_upto": one.evidence_upto,
                "said_by": self.number(one.person), "said_at": one.at,
                "in_effect": one.history in record.in_effect,
            }  # fmt: skip

    def _readings(self, record: ColonyRecord) -> Iterator[Row]:
        """Yield second readings."""
        for one in record.readings:
            answer = one.answer
            yield {
                "request": one.history, "colony": record.id,
                "asked_by": self.number(one.asked_by), "asked_at": one.at,
                "asked_of": self.number(one.asked_of), "question": one.question,
                "answered_by": None if answer is None else self.number(answer.person),
                "answered_at": None if answer is None else answer.at,
                "genera": None if answer is None else answer.genera,
                "confidence": None if answer is None else answer.confidence,
                "note": None if answer is None else answer.note,
            }  # fmt: skip

    def _photos(self, record: ColonyRecord) -> Iterator[Row]:
        """Yield photos."""
        for one in record.photos:
            yield {
                "colony_photo": one.history, "colony": record.id, "photo": one.photo.sha256,
                "caption": one.caption, "added_by": self.number(one.person), "linked_at": one.at,
            }  # fmt: skip

    def _measurements(self, record: ColonyRecord) -> Iterator[Row]:
        """Yield sizes measured on photos."""
        for one in record.measurements:
            yield {
                "measurement": one.history, "colony": record.id, "photo": one.photo,
                "character": one.character, "value": one.value, "low": one.low, "high": one.high,
                "n": one.n, "by": one.by, "mm_per_pixel": one.mm_per_pixel,
                "relative_uncertainty": one.relative, "marks": _marks(one.marks),
                "measured_by": self.number(one.person), "measured_at": one.at,
            }  # fmt: skip

    def _vouchers(self, record: ColonyRecord) -> Iterator[Row]:
        """Yield samples."""
        for one in record.vouchers:
            yield {
                "voucher": one.history, "colony": record.id, "permit_number": one.permit,
                "label": one.label, "held_by": one.held_by, "note": one.note,
                "sent_by": self.number(one.person), "sent_at": one.at,
            }  # fmt: skip


def _marks(marks: object) -> str:
    """Write what was drawn on a photo as JSON."""
    return json.dumps(marks, sort_keys=True, ensure_ascii=False, allow_nan=False)
