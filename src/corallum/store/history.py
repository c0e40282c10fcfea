"""The log of who changed what: only ever added to, each entry sealed by a hash.

The hash of an entry covers its fields and the hash of the entry before, so that no
entry can be altered, removed or put in between without all later ones telling.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from corallum.errors import Fault
from corallum.records.colony_record import HistoryEntry
from corallum.store.schema import history

__all__ = [
    "FIRST_SEAL",
    "Act",
    "add_row",
    "chain_faults",
    "count_verb",
    "entry_of",
    "newest_entries",
    "seal_of",
    "time_of",
    "time_text",
    "write_entry",
]

FIRST_SEAL = "0" * 64


@dataclass(frozen=True, slots=True)
class Act:
    """Who acts, and when."""

    person: str
    now: datetime


def time_text(moment: datetime) -> str:
    """Write a moment in UTC so that texts sort as moments do."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def time_of(text: str) -> datetime:
    """Read a moment."""
    return datetime.fromisoformat(text)


def write_entry(
    connection: sa.Connection,
    act: Act,
    verb: str,
    detail: Mapping[str, object],
    *,
    colony: str | None = None,
    undoes: int | None = None,
) -> int:
    """Add one entry and return its id; call it only in the writing transaction."""
    newest = sa.select(history.c.id, history.c.hash).order_by(history.c.id.desc()).limit(1)
    row = connection.execute(newest).first()
    id_, previous = (1, FIRST_SEAL) if row is None else (row.id + 1, row.hash)
    values: dict[str, Any] = {
        "id": id_,
        "at": time_text(act.now),
        "person": act.person,
        "verb": verb,
        "colony": colony,
        "detail": json.dumps(detail, sort_keys=True, ensure_ascii=False, allow_nan=False),
        "undoes": undoes,
        "previous": previous,
    }
    values["hash"] = seal_of(values)
    connection.execute(history.insert(), values)
    return id_


def add_row(
    connection: sa.Connection,
    act: Act,
    verb: str,
    table: sa.Table,
    row: Mapping[str, object],
    *,
    origin: Mapping[str, object] | None = None,
) -> int:
    """Write a row together with the entry that it hangs on; return the entry's id.

    ``origin`` is where it comes from, of a row that was first written elsewhere.
    """
    colony = str(row["colony"]) if "colony" in row else None
    detail: dict[str, object] = {"table": table.name, "row": dict(row)}
    if origin is not None:
        detail["origin"] = dict(origin)
    id_ = write_entry(connection, act, verb, detail, colony=colony)
    connection.execute(table.insert(), {"history": id_, **row})
    return id_


def seal_of(values: Mapping[str, Any]) -> str:
    """Return the hash of an entry: over its fields and the hash of the one before."""
    keys = ("id", "at", "person", "verb", "colony", "detail", "undoes", "previous")
    text = json.dumps([values[key] for key in keys], ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def entry_of(row: sa.Row[Any]) -> HistoryEntry:
    """Turn a row of the log into its record."""
    return HistoryEntry(
        row.id, time_of(row.at), row.person, row.verb, row.colony, json.loads(row.detail),
        row.undoes, row.hash,
    )  # fmt: skip


def newest_entries(connection: sa.Connection, *, skip: int, most: int) -> tuple[HistoryEntry, ...]:
    """Return entries of the whole programme, newest first."""
    found = sa.select(history).order_by(history.c.id.desc()).offset(skip).limit(most)
    return tuple(entry_of(row) for row in connection.execute(found))


def count_verb(connection: sa.Connection, verb: str) -> int:
    """Count the entries of one verb."""
    found = sa.select(sa.func.count()).select_from(history).where(history.c.verb == verb)
    return int(connection.execute(found).scalar_one())


def chain_faults(rows: Iterable[Mapping[str, Any]], where: str) -> list[Fault]:
    """Check that the log is whole: every entry sealed, none missing, oldest first."""
    faults, expected, previous = [], 1, FIRST_SEAL
    for row in rows:
        place = f"history, entry {row['id']}"
        remedy = "Restore a backup."
        if row["id"] != expected:
            faults.append(Fault(where, place, f"entry {expected}", f"entry {row['id']}", remedy))
        elif row["previous"] != previous or row["hash"] != seal_of(row):
            faults.append(Fault(where, place, "the entry as it was written", "another", remedy))
        expected, previous = row["id"] + 1, row["hash"]
    return faults
