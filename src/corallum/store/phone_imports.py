"""Which records of phones a programme holds already, as its history says."""

from __future__ import annotations

import json
from dataclasses import dataclass

import sqlalchemy as sa

from corallum.store.database import Connection
from corallum.store.schema import colony, history

__all__ = ["PHONE_IMPORT", "KnownRecord", "known_records"]

PHONE_IMPORT = "import phone"
"""The verb of the entry that holds a record as the phone kept it."""


@dataclass(frozen=True, slots=True)
class KnownRecord:
    """A record that was imported: its colony, and how many entries with which seal."""

    colony: str
    number: int
    entries: int
    seal: str


def known_records(connection: Connection) -> dict[str, KnownRecord]:
    """Return what was imported by the phone's id; the newest import of each counts."""
    found = (
        sa.select(history.c.detail, history.c.colony, colony.c.number)
        .join(colony, colony.c.id == history.c.colony)
        .where(history.c.verb == PHONE_IMPORT)
        .order_by(history.c.id)
    )
    known: dict[str, KnownRecord] = {}
    for row in connection.execute(found):
        detail = json.loads(row.detail)
        known[detail["phone"]] = KnownRecord(
            row.colony, row.number, detail["entries"], detail["seal"]
        )
    return known
