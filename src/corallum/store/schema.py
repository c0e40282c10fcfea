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
    "flag_answer",
    "frame_photo",
    "history",
    "import_columns",
    "measurement",
    "metadata",
    "observer_errors",
    "permit",
    "person",
    "photo",
    "point_reading",
    "practice_answer",
    "practice_set",
    "qualification",
    "reading_answer",
    "reading_draw",
    "reading_request",
    "record_reading",
    "reference_version",
    "site",
    "slate",
    "survey_plan",
    "survey_record",
    "voucher",
]

SCHEMA_VERSION = "0004"

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

survey_plan = Table(
    "survey_plan", metadata,
    Column("id", String(16), ForeignKey("event.id"), primary_key=True),
    Column("plan", Text, nullable=False),
)  # fmt: skip

import_columns = Table(
    "import_columns", metadata,
    Column("id", String(16), primary_key=True),
    Column("name", String(120), nullable=False),
    Column("method", String(16), nullable=False),
    Column("columns", Text, nullable=False),
)  # fmt: skip

permit = Table(
    "permit", metadata,
    Column("id", String(16), primary_key=True),
    Column("number", String(120), nullable=False),
    Column("holder", String(120), nullable=False),
    Column("expires_on", String(10), nullable=False),
    Column("covers", Text, nullable=False),
    Column("note", Text, nullable=False),
)  # fmt: skip

slate = Table(
    "slate", metadata,
    _written_by(),
    Column("survey", String(16), ForeignKey("event.id"), nullable=False, index=True),
    Column("transect", String(16), ForeignKey("event.id"), nullable=False, index=True),
    Column("method", String(16), nullable=False),
    Column("observer", String(16), ForeignKey("person.id"), nullable=False),
    Column("date", String(10), nullable=False),
    Column("depth_m", Float),
    Column("effort", Text, nullable=False),
    Column("lines", Text, nullable=False),
    Column("replaces", Integer, ForeignKey("slate.history")),
    Column("source", String(200), nullable=False),
    Column("note", Text, nullable=False),
)  # fmt: skip

# The lines of slates, one row each, so that summaries are quick; made again at any time.
survey_record = Table(
    "survey_record", metadata,
    Column("slate", Integer, ForeignKey("slate.history"), primary_key=True, autoincrement=False),
    Column("line", Integer, primary_key=True, autoincrement=False),
    Column("survey", String(16), nullable=False),
    Column("site", String(16), nullable=False),
    Column("transect", String(16), nullable=False),
    Column("year", Integer, nullable=False),
    Column("label", String(80), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("form", String(32), nullable=False),
    Column("amount", Float, nullable=False),
    Column("count", Integer, nullable=False),
    Column("diameter_cm", Float),
    Column("photo", String(64)),
    Column("stands", Boolean, nullable=False),
    # Read in place of the rows, in the order in which they are added up.
    Index("survey_record_by_site", "stands", "label", "site", "year", "amount", "count"),
    Index("survey_record_by_survey", "survey", "stands", "transect", "label", "kind", "amount",
          "count"),
    Index("survey_record_by_photo", "photo"),
)  # fmt: skip

flag_answer = Table(
    "flag_answer", metadata,
    _written_by(),
    Column("slate", Integer, ForeignKey("slate.history"), nullable=False, index=True),
    Column("line", Integer),
    Column("rule", String(32), nullable=False),
    Column("decision", String(16), nullable=False),
    Column("note", Text, nullable=False),
)  # fmt: skip

reading_draw = Table(
    "reading_draw", metadata,
    _written_by(),
    Column("survey", String(16), ForeignKey("event.id"), nullable=False, index=True),
    Column("share", Float, nullable=False),
    Column("asked_of", String(16), ForeignKey("person.id")),
    Column("records", Text, nullable=False),
    Column("strata", Text, nullable=False),
)  # fmt: skip

record_reading = Table(
    "record_reading", metadata,
    _written_by(),
    Column("slate", Integer, ForeignKey("slate.history"), nullable=False, index=True),
    Column("line", Integer, nullable=False),
    Column("said", String(120), nullable=False),
    Column("label", String(80), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("note", Text, nullable=False),
)  # fmt: skip

frame_photo = Table(
    "frame_photo", metadata,
    _written_by(),
    Column("transect", String(16), ForeignKey("event.id"), nullable=False, index=True),
    Column("frame", Integer, nullable=False),
    Column("photo", String(64), ForeignKey("photo.sha256"), nullable=False),
)  # fmt: skip

point_reading = Table(
    "point_reading", metadata,
    _written_by(),
    Column("transect", String(16), ForeignKey("event.id"), nullable=False, index=True),
    Column("frame", Integer, nullable=False),
    Column("point", Integer, nullable=False),
    Column("said", String(120), nullable=False),
)  # fmt: skip

# Rows that an entry of the history wrote once and for all.
APPENDED = (
    entry, colony_photo, measurement, determination, reading_request, reading_answer, voucher,
    practice_answer, slate, flag_answer, reading_draw, record_reading, frame_photo,
    point_reading,
)  # fmt: skip
# Rows known by an id, whose fields later entries of the history may set anew.
KEYED = (
    person, site, event, device, practice_set, qualification, survey_plan, import_columns, permit,
)  # fmt: skip
