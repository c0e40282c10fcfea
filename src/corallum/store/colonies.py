"""Read and write the records of colonies, and list them quickly however many there are."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from corallum.errors import NotFoundError
from corallum.records.colony import Report, SizeReport, StateReport
from corallum.records.colony_record import (
    ColonyParts,
    ColonyPhoto,
    ColonyRecord,
    ColonyRow,
    Determination,
    Entry,
    HistoryEntry,
    PhotoMeasurement,
    ReadingAnswer,
    SecondReading,
    StoredPhoto,
    Voucher,
)
from corallum.records.fold import assemble_record, row_of
from corallum.store import schema
from corallum.store.history import Act, entry_of, time_of, time_text, write_entry

__all__ = [
    "Wanted",
    "begin_colony",
    "colony_ids",
    "count_rows",
    "genus_counts",
    "list_rows",
    "load_colony",
    "load_parts",
    "photo_of",
    "report_of",
    "report_text",
    "rewrite_row",
    "row_values",
]

EntryValue = Report | str | bool | None


def report_text(report: EntryValue) -> str:
    """Write what is said of a colony as JSON; null takes it back."""
    found: object = report
    if isinstance(report, StateReport):
        found = {"states": list(report.states), "sure": report.sure}
    elif isinstance(report, SizeReport):
        found = {
            "value": report.value, "n": report.n, "method": report.method, "sure": report.sure,
        }  # fmt: skip
    return json.dumps(found, sort_keys=True, ensure_ascii=False, allow_nan=False)


def report_of(text: str) -> EntryValue:
    """Read what :func:`report_text` wrote."""
    found = json.loads(text)
    if not isinstance(found, dict):
        return found if isinstance(found, str | bool) else None
    if "states" in found:
        return StateReport(tuple(found["states"]), found["sure"])
    return SizeReport(float(found["value"]), found["n"], found["method"], found["sure"])


def begin_colony(connection: sa.Connection, act: Act, id_: str) -> int:
    """Write an empty colony with the next number, and the entry that starts it; return that."""
    newest = connection.execute(sa.select(sa.func.max(schema.colony.c.number))).scalar()
    row = {"id": id_, "number": (newest or 0) + 1}
    blank: dict[str, Any] = {
        "name": "", "shown_name": "", "status": "not_determined", "needs": "", "kind": "",
        "seen_on": act.now.date().isoformat(), "changed_at": time_text(act.now),
        "withdrawn": False, "words": "", "waits_reading": False, "waits_voucher": False,
    }  # fmt: skip
    connection.execute(schema.colony.insert(), {**row, **blank})
    return write_entry(connection, act, "start", {"table": "colony", "row": row}, colony=id_)


def load_colony(connection: sa.Connection, id_: str) -> ColonyRecord:
    """Read the record of one colony as it stands.

    Raises
    ------
    NotFoundError
        Where there is none of that id.
    """
    return assemble_record(load_parts(connection, id_))


def load_parts(connection: sa.Connection, id_: str) -> ColonyParts:
    """Read everything that is kept of one colony, what was undone too.

    Raises
    ------
    NotFoundError
        Where there is none of that id.
    """
    table = schema.colony
    found = sa.select(table.c.number).where(table.c.id == id_)
    number = connection.execute(found).scalar()
    if number is None:
        raise NotFoundError("colony", id_)
    log = sa.select(schema.history).where(schema.history.c.colony == id_)
    history = tuple(map(entry_of, connection.execute(log.order_by(schema.history.c.id))))
    by_id = {entry.id: entry for entry in history}
    verbs = {str(entry.detail.get("table", "")) for entry in history}
    return _Parts(connection, id_, by_id, verbs).all(number, history)


class _Parts:
    """Reads the rows of one colony; a table that its history does not name is not asked."""

    def __init__(
        self,
        connection: sa.Connection,
        colony: str,
        history: Mapping[int, HistoryEntry],
        tables: set[str],
    ) -> None:
        self.connection, self.colony = connection, colony
        self.history, self.tables = history, tables

    def all(self, number: int, history: tuple[HistoryEntry, ...]) -> ColonyParts:
        """Read everything."""
        return ColonyParts(
            self.colony,
            number,
            history,
            tuple(map(self._entry, self._rows(schema.entry))),
            self._photos(),
            tuple(map(self._measurement, self._rows(schema.measurement))),
            tuple(map(self._determination, self._rows(schema.determination))),
            tuple(map(self._reading, self._rows(schema.reading_request))),
            tuple(map(self._answer, self._rows(schema.reading_answer))),
            tuple(map(self._voucher, self._rows(schema.voucher))),
        )

    def _rows(self, table: sa.Table) -> Sequence[sa.Row[Any]]:
        """Read the rows of one table in the order in which they were written."""
        if table.name not in self.tables:
            return ()
        found = sa.select(table).where(table.c.colony == self.colony)
        return self.connection.execute(found.order_by(table.c.history)).all()

    def _act(self, history: int) -> dict[str, Any]:
        """Return who wrote a row, and when."""
        entry = self.history[history]
        return {"history": history, "colony": self.colony, "person": entry.person, "at": entry.at}

    def _entry(self, row: sa.Row[Any]) -> Entry:
        return Entry(
            kind=row.kind, subject=row.subject, report=report_of(row.report),
            measurement=row.measurement, **self._act(row.history),
        )  # fmt: skip

    def _photos(self) -> tuple[ColonyPhoto, ...]:
        if "colony_photo" not in self.tables:
            return ()
        link = schema.colony_photo
        found = (
            sa.select(schema.photo, link.c.history, link.c.caption)
            .join(link, link.c.photo == schema.photo.c.sha256)
            .where(link.c.colony == self.colony)
            .order_by(link.c.history)
        )
        return tuple(
            ColonyPhoto(photo=photo_of(row), caption=row.caption, **self._act(row.history))
            for row in self.connection.execute(found)
        )

    def _measurement(self, row: sa.Row[Any]) -> PhotoMeasurement:
        values = _fields(row, "marks")
        return PhotoMeasurement(**values, marks=json.loads(row.marks), **self._act(row.history))

    def _determination(self, row: sa.Row[Any]) -> Determination:
        values = _fields(row, "genera")
        genera = tuple(json.loads(row.genera))
        return Determination(**values, genera=genera, **self._act(row.history))

    def _reading(self, row: sa.Row[Any]) -> SecondReading:
        entry = self.history[row.history]
        return SecondReading(
            row.history, self.colony, entry.person, entry.at, row.asked_of, row.question, None
        )

    def _answer(self, row: sa.Row[Any]) -> ReadingAnswer:
        entry = self.history[row.history]
        return ReadingAnswer(
            row.history, row.request, entry.person, entry.at, tuple(json.loads(row.genera)),
            row.confidence, row.note,
        )  # fmt: skip

    def _voucher(self, row: sa.Row[Any]) -> Voucher:
        return Voucher(**_fields(row), **self._act(row.history))


def _fields(row: sa.Row[Any], *left_out: str) -> dict[str, Any]:
    """Return the columns of a row as fields, but for what its history entry says."""
    out = ("history", "colony", *left_out)
    return {name: value for name, value in row._mapping.items() if name not in out}  # noqa: SLF001  its public name


def photo_of(row: sa.Row[Any]) -> StoredPhoto:
    """Turn a row into the record of a photo."""
    return StoredPhoto(
        row.sha256, row.media_type, row.width, row.height, row.bytes, time_of(row.added_at)
    )


def row_values(record: ColonyRecord) -> dict[str, Any]:
    """Return the columns of a colony's line in lists, as its record says."""
    row = row_of(record)
    notes = (str(note.report) for note in record.notes)
    words = " ".join((str(row.number), row.name, row.shown_name, *notes)).casefold()
    return {
        "name": row.name, "genus": row.genus, "shown_name": row.shown_name,
        "status": row.status, "needs": row.needs, "probability": row.probability,
        "kind": row.kind, "site": row.site, "event": row.event, "region": row.region,
        "seen_on": row.seen_on.isoformat(), "changed_at": time_text(row.changed_at),
        "observer": row.observer, "photo": row.photo, "withdrawn": row.withdrawn,
        "waits_reading": row.waits_reading, "waits_voucher": row.waits_voucher, "words": words,
    }  # fmt: skip


def rewrite_row(connection: sa.Connection, id_: str) -> ColonyRecord:
    """Bring a colony's line in lists up to its history, and return its record."""
    record = load_colony(connection, id_)
    table = schema.colony
    connection.execute(table.update().where(table.c.id == id_).values(**row_values(record)))
    return record


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which colonies to list; None asks for all.

    ``text`` is looked for in numbers, names and notes; ``waits`` is reading or voucher.
    """

    genus: str | None = None
    status: str | None = None
    site: str | None = None
    event: str | None = None
    since: date | None = None
    until: date | None = None
    text: str | None = None
    waits: str | None = None


def _where(wanted: Wanted) -> list[sa.ColumnElement[bool]]:
    """Turn what is wanted into conditions."""
    table = schema.colony.c
    found: list[sa.ColumnElement[bool]] = [table.withdrawn.is_(False)]
    for name in ("genus", "status", "site", "event"):
        value = getattr(wanted, name)
        if value is not None:
            found.append(table[name] == value)
    if wanted.since is not None:
        found.append(table.seen_on >= wanted.since.isoformat())
    if wanted.until is not None:
        found.append(table.seen_on <= wanted.until.isoformat())
    if wanted.waits is not None:
        found.append(table[f"waits_{wanted.waits}"].is_(True))
    words = (wanted.text or "").casefold().split()
    return found + [table.words.contains(word, autoescape=True) for word in words]


def count_rows(connection: sa.Connection, wanted: Wanted) -> int:
    """Count the colonies that are wanted."""
    found = sa.select(sa.func.count()).select_from(schema.colony).where(*_where(wanted))
    return int(connection.execute(found).scalar_one())


def list_rows(
    connection: sa.Connection, wanted: Wanted, *, skip: int, most: int
) -> tuple[ColonyRow, ...]:
    """List colonies, those seen last first."""
    table = schema.colony
    # The page is cut from the index alone; whole rows are read only for what shows.
    ids = (
        sa.select(table.c.id)
        .where(*_where(wanted))
        .order_by(table.c.seen_on.desc(), table.c.number.desc())
        .offset(skip)
        .limit(most)
    )
    found = (
        sa.select(table)
        .where(table.c.id.in_(ids))
        .order_by(table.c.seen_on.desc(), table.c.number.desc())
    )
    return tuple(map(_line, connection.execute(found)))


def _line(row: sa.Row[Any]) -> ColonyRow:
    """Turn a row into a line of a list."""
    return ColonyRow(
        id=row.id, number=row.number, name=row.name, genus=row.genus, shown_name=row.shown_name,
        status=row.status, needs=row.needs, probability=row.probability, kind=row.kind,
        site=row.site, event=row.event, region=row.region,
        seen_on=date.fromisoformat(row.seen_on), changed_at=time_of(row.changed_at),
        observer=row.observer, photo=row.photo, waits_reading=row.waits_reading,
        waits_voucher=row.waits_voucher, withdrawn=row.withdrawn,
    )  # fmt: skip


def genus_counts(connection: sa.Connection) -> tuple[tuple[str, str, int], ...]:
    """Count the colonies by shown name and status."""
    table = schema.colony.c
    found = (
        sa.select(table.shown_name, table.status, sa.func.count())
        .where(table.withdrawn.is_(False), table.status != "not_determined")
        .group_by(table.shown_name, table.status)
    )
    return tuple((row[0], row[1], row[2]) for row in connection.execute(found))


def colony_ids(
    connection: sa.Connection, *, determined: bool = False, withdrawn: bool = False
) -> Iterator[str]:
    """Yield the ids of all colonies that stand, by number; those withdrawn only if asked for."""
    table = schema.colony.c
    found = sa.select(table.id).order_by(table.number)
    if not withdrawn:
        found = found.where(table.withdrawn.is_(False))
    if determined:
        found = found.where(table.status != "not_determined")
    yield from connection.execute(found).scalars()
