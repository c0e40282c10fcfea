"""The tables of a programme's database.

``history`` is the one log that everything else hangs on: each row of a table with a
``history`` column was written by that entry, whose ``detail`` holds the same row, and
neither is ever changed. ``colony`` beyond its first columns is what the history
says now, kept only so that lists are quick; it can be made again at any time.
Times are UTC texts that sort; lists and reports are JSON texts.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    false,
)

__all__ = [
    "APPENDED",
    "KEYED",
    "SCHEMA_VERSION",
    "assessment",
    "colony",
    "colony_photo",
    "determination",
    "device",
    "entry",
    "event",
    "history",
    "measurement",
    "metadata",
    "observer_errors",
    "person",
    "photo",
    "practice_answer",
    "practice_set",
    "qualification",
    "reading_answer",
    "reading_request",
    "reference_version",
    "site",
    "voucher",
]

SCHEMA_VERSION = "0003"

metadata = MetaData()


def _written_by() -> Column[int]:
    """Column of the history entry that wrote the row."""
    return Column("history", Integer, ForeignKey("history.id"), primary_key=True,
                  autoincrement=False)  # fmt: skip


def _of_colony() -> Column[str]:
    """Column of the colony that the row belongs to."""
    return Column("colony", String(16), ForeignKey("colony.id"), nullable=False, index=True)


person = Table(
    "person", metadata,
    Column("id", String(16), primary_key=True),
    Column("name", String(120), nullable=False),
    Column("role", String(16), nullable=False),
    Column("errors", String(16), nullable=False),
    Column("active", Boolean, nullable=False),
    Column("added_at", String(32), nullable=False),
)  # fmt: skip

site = Table(
    "site", metadata,
    Column("id", String(16), primary_key=True),
    Column("name", String(120), nullable=False),
    Column("region", String(32), nullable=False),
    Column("latitude", Float),
    Column("longitude", Float),
    Column("note", Text, nullable=False),
)  # fmt: skip

event = Table(
    "event", metadata,
    Column("id", String(16), primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("parent", String(16), ForeignKey("event.id"), index=True),
    Column("site", String(16), ForeignKey("site.id")),
    Column("name", String(120), nullable=False),
    Column("date", String(10)),
    Column("note", Text, nullable=False),
)  # fmt: skip

colony = Table(
    "colony", metadata,
    Column("id", String(16), primary_key=True),
    Column("number", Integer, nullable=False, unique=True),
    Column("name", String(120), nullable=False),
    Column("genus", String(80)),
    Column("shown_name", String(200), nullable=False),
    Column("status", String(32), nullable=False),
    Column("needs", String(16), nullable=False),
    Column("probability", Float),
    Column("kind", String(16), nullable=False),
    Column("site", String(16), ForeignKey("site.id")),
    Column("event", String(16), ForeignKey("event.id"), index=True),
    Column("region", String(32)),
    Column("seen_on", String(10), nullable=False),
    Column("changed_at", String(32), nullable=False),
    Column("observer", String(16), ForeignKey("person.id")),
    Column("photo", String(64), ForeignKey("photo.sha256")),
    Column("withdrawn", Boolean, nullable=False),
    Column("words", Text, nullable=False),
    Column("waits_reading", Boolean, nullable=False, server_default=false()),
    Column("waits_voucher", Boolean, nullable=False, server_default=false()),
    Index("colony_by_day", "withdrawn", "seen_on", "number"),
    Index("colony_by_genus", "withdrawn", "genus", "seen_on", "number"),
    Index("colony_by_status", "withdrawn", "status", "seen_on", "number"),
    Index("colony_by_site", "withdrawn", "site", "seen_on", "number"),
    # These two are read in place of the rows, which are several times as wide.
    Index("colony_by_name", "withdrawn", "shown_name", "status"),
    Index("colony_by_words", "withdrawn", "seen_on", "number", "words", "id"),
    Index("colony_waiting", "waits_reading", "waits_voucher"),
)  # fmt: skip

history = Table(
    "history", metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("at", String(32), nullable=False),
    Column("person", String(16), ForeignKey("person.id"), nullable=False),
    Column("verb", String(32), nullable=False),
    Column("colony", String(16), ForeignKey("colony.id"), index=True),
    Column("detail", Text, nullable=False),
    Column("undoes", Integer, ForeignKey("history.id")),
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False),
    Index("history_by_verb", "verb"),
)  # fmt: skip

entry = Table(
    "entry", metadata,
    _written_by(),
    _of_colony(),
    Column("kind", String(16), nullable=False),
    Column("subject", String(64), nullable=False),
    Column("report", Text, nullable=False),
    Column("measurement", Integer, ForeignKey("measurement.history")),
    Index("entry_by_subject", "kind", "subject"),
)  # fmt: skip

photo = Table(
    "photo", metadata,
    Column("sha256", String(64), primary_key=True),
    Column("media_type", String(32), nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("bytes", Integer, nullable=False),
    Column("added_at", String(32), nullable=False),
)  # fmt: skip

colony_photo = Table(
    "colony_photo", metadata,
    _written_by(),
    _of_colony(),
    Column("photo", String(64), ForeignKey("photo.sha256"), nullable=False, index=True),
    Column("caption", Text, nullable=False),
)  # fmt: skip

measurement = Table(
    "measurement", metadata,
    _written_by(),
    _of_colony(),
    Column("photo", String(64), ForeignKey("photo.sha256"), nullable=False),
    Column("character", String(64), nullable=False),
    Column("value", Float, nullable=False),
    Column("low", Float),
    Column("high", Float),
    Column("n", Integer, nullable=False),
    Column("by", String(16), nullable=False),
    Column("mm_per_pixel", Float, nullable=False),
    Column("relative", Float, nullable=False),
    Column("marks", Text, nullable=False),
)  # fmt: skip

determination = Table(
    "determination", metadata,
    _written_by(),
    _of_colony(),
    Column("kind", String(16), nullable=False),
    Column("status", String(32), nullable=False),
    Column("genera", Text, nullable=False),
    Column("name", String(200), nullable=False),
    Column("probability", Float),
    Column("rank", String(16), nullable=False),
    Column("needs", String(16), nullable=False),
    Column("reason", Text, nullable=False),
    Column("reference_hash", String(64), nullable=False),
    Column("reference_version", String(80), nullable=False),
    Column("program", String(32), nullable=False),
    Column("observer_errors", String(16), nullable=False),
    Column("evidence_upto", Integer, nullable=False),
)  # fmt: skip

reference_version = Table(
    "reference_version", metadata,
    Column("hash", String(64), primary_key=True),
    Column("version", String(80), nullable=False),
    Column("first_at", String(32), nullable=False),
    Column("tables", LargeBinary, nullable=False),
)  # fmt: skip

reading_request = Table(
    "reading_request", metadata,
    _written_by(),
    _of_colony(),
    Column("asked_of", String(16), ForeignKey("person.id")),
    Column("question", Text, nullable=False),
)  # fmt: skip

reading_answer = Table(
    "reading_answer", metadata,
    _written_by(),
    _of_colony(),
    Column("request", Integer, ForeignKey("reading_request.history"), nullable=False),
    Column("genera", Text, nullable=False),
    Column("confidence", Float),
    Column("note", Text, nullable=False),
)  # fmt: skip

voucher = Table(
    "voucher", metadata,
    _written_by(),
    _of_colony(),
    Column("permit", String(120), nullable=False),
    Column("label", String(120), nullable=False),
    Column("held_by", String(120), nullable=False),
    Column("note", Text, nullable=False),
)  # fmt: skip

device = Table(
    "device", metadata,
    Column("id", String(16), primary_key=True),
    Column("person", String(16), ForeignKey("person.id"), nullable=False),
    Column("name", String(120), nullable=False),
    Column("token_hash", String(64), nullable=False, unique=True),
    Column("paired_at", String(32), nullable=False),
    Column("revoked", Boolean, nullable=False),
)  # fmt: skip

assessment = Table(
    "assessment", metadata,
    Column("reference_hash", String(64), primary_key=True),
    Column("region", String(32), primary_key=True),
    Column("at", String(32), nullable=False),
    Column("result", Text, nullable=False),
)  # fmt: skip

practice_set = Table(
    "practice_set", metadata,
    Column("id", String(16), primary_key=True),
    Column("title", String(120), nullable=False),
    Column("purpose", String(16), nullable=False),
    Column("region", String(32), nullable=False),
    Column("made_for", String(16), ForeignKey("person.id")),
    Column("items", Text, nullable=False),
    Column("reference_hash", String(64), nullable=False),
    Column("made_at", String(32), nullable=False),
    Column("open", Boolean, nullable=False),
)  # fmt: skip

qualification = Table(
    "qualification", metadata,
    Column("id", String(16), primary_key=True),
    Column("person", String(16), ForeignKey("person.id"), nullable=False, index=True),
    Column("practice_set", String(16), ForeignKey("practice_set.id"), nullable=False),
    Column("genera", Text, nullable=False),
    Column("plan", Text, nullable=False),
    Column("outcome", String(16), nullable=False),
    Column("started_at", String(32), nullable=False),
    Column("ended_at", String(32)),
    Column("expires_on", String(10)),
)  # fmt: skip

practice_answer = Table(
    "practice_answer", metadata,
    _written_by(),
    Column("practice_set", String(16), ForeignKey("practice_set.id"), nullable=False, index=True),
    Column("item", Integer, nullable=False),
    Column("person", String(16), ForeignKey("person.id"), nullable=False, index=True),
    Column("at", String(32), nullable=False),
    Column("answer", Text, nullable=False),
    Column("score", Float, nullable=False),
    Column("right", Boolean, nullable=False),
    Column("qualification", String(16), ForeignKey("qualification.id")),
)  # fmt: skip

observer_errors = Table(
    "observer_errors", metadata,
    Column("hash", String(64), primary_key=True),
    Column("person", String(16), ForeignKey("person.id"), nullable=False),
    Column("first_at", String(32), nullable=False),
    Column("answers", Integer, nullable=False),
    Column("errors", Text, nullable=False),
)  # fmt: skip

# Rows that an entry of the history wrote once and for all.
APPENDED = (
    entry, colony_photo, measurement, determination, reading_request, reading_answer, voucher,
    practice_answer,
)  # fmt: skip
# Rows known by an id, whose fields later entries of the history may set anew.
KEYED = (person, site, event, device, practice_set, qualification)
