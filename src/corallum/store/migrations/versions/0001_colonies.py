"""People, places, colonies, evidence, photos, determinations and the history.

Written out, not taken from the tables of today: this step must stay as it was.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the first tables."""
    _people_and_places()
    _photos_and_history()
    _of_a_colony()
    op.create_table(
        "reference_version",
        sa.Column("hash", sa.String(64), primary_key=True),
        sa.Column("version", sa.String(80), nullable=False),
        sa.Column("first_at", sa.String(32), nullable=False),
        sa.Column("tables", sa.LargeBinary, nullable=False),
    )


def _people_and_places() -> None:
    """Who, and where."""
    op.create_table(
        "person",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("errors", sa.String(16), nullable=False),
        sa.Column("active", sa.Boolean, nullable=False),
        sa.Column("added_at", sa.String(32), nullable=False),
    )
    op.create_table(
        "site",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("region", sa.String(32), nullable=False),
        sa.Column("latitude", sa.Float),
        sa.Column("longitude", sa.Float),
        sa.Column("note", sa.Text, nullable=False),
    )
    op.create_table(
        "event",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("parent", sa.String(16), sa.ForeignKey("event.id"), index=True),
        sa.Column("site", sa.String(16), sa.ForeignKey("site.id")),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("date", sa.String(10)),
        sa.Column("note", sa.Text, nullable=False),
    )


def _photos_and_history() -> None:
    """Files, colonies as lists show them, and the log."""
    op.create_table(
        "photo",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("media_type", sa.String(32), nullable=False),
        sa.Column("width", sa.Integer, nullable=False),
        sa.Column("height", sa.Integer, nullable=False),
        sa.Column("bytes", sa.Integer, nullable=False),
        sa.Column("added_at", sa.String(32), nullable=False),
    )
    op.create_table(
        "colony",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("number", sa.Integer, nullable=False, unique=True),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("genus", sa.String(80)),
        sa.Column("shown_name", sa.String(200), nullable=False),
        sa.Column("status", sa.String(32), nullable=False),
        sa.Column("needs", sa.String(16), nullable=False),
        sa.Column("probability", sa.Float),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("site", sa.String(16), sa.ForeignKey("site.id")),
        sa.Column("event", sa.String(16), sa.ForeignKey("event.id"), index=True),
        sa.Column("region", sa.String(32)),
        sa.Column("seen_on", sa.String(10), nullable=False),
        sa.Column("changed_at", sa.String(32), nullable=False),
        sa.Column("observer", sa.String(16), sa.ForeignKey("person.id")),
        sa.Column("photo", sa.String(64), sa.ForeignKey("photo.sha256")),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.Column("words", sa.Text, nullable=False),
        sa.Index("colony_by_day", "withdrawn", "seen_on", "number"),
        sa.Index("colony_by_genus", "withdrawn", "genus", "seen_on", "number"),
        sa.Index("colony_by_status", "withdrawn", "status", "seen_on", "number"),
        sa.Index("colony_by_site", "withdrawn", "site", "seen_on", "number"),
        sa.Index("colony_by_name", "withdrawn", "shown_name", "status"),
        sa.Index("colony_by_words", "withdrawn", "seen_on", "number", "words", "id"),
    )
    op.create_table(
        "history",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("person", sa.String(16), sa.ForeignKey("person.id"), nullable=False),
        sa.Column("verb", sa.String(32), nullable=False),
        sa.Column("colony", sa.String(16), sa.ForeignKey("colony.id"), index=True),
        sa.Column("detail", sa.Text, nullable=False),
        sa.Column("undoes", sa.Integer, sa.ForeignKey("history.id")),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.Index("history_by_verb", "verb"),
    )


def _of_a_colony() -> None:
    """What is kept of a colony, each row written by one entry of the history."""
    op.create_table(
        "measurement",
        *_written(),
        sa.Column("photo", sa.String(64), sa.ForeignKey("photo.sha256"), nullable=False),
        sa.Column("character", sa.String(64), nullable=False),
        sa.Column("value", sa.Float, nullable=False),
        sa.Column("low", sa.Float),
        sa.Column("high", sa.Float),
        sa.Column("n", sa.Integer, nullable=False),
        sa.Column("by", sa.String(16), nullable=False),
        sa.Column("mm_per_pixel", sa.Float, nullable=False),
        sa.Column("relative", sa.Float, nullable=False),
        sa.Column("marks", sa.Text, nullable=False),
    )
    op.create_table(
        "entry",
        *_written(),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("subject", sa.String(64), nullable=False),
        sa.Column("report", sa.Text, nullable=False),
        sa.Column("measurement", sa.Integer, sa.ForeignKey("measurement.history")),
        sa.Index("entry_by_subject", "kind", "subject"),
    )
    op.create_table(
        "colony_photo",
        *_written(),
        sa.Column("photo", sa.String(64), sa.ForeignKey("photo.sha256"), nullable=False,
                  index=True),
        sa.Column("caption", sa.Text, nullable=False),
    )  # fmt: skip
    op.create_table(
        "determination",
        *_written(),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("status", sa.String(32), nullable=False),
        sa.Column("genera", sa.Text, nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("probability", sa.Float),
        sa.Column("rank", sa.String(16), nullable=False),
        sa.Column("needs", sa.String(16), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("reference_hash", sa.String(64), nullable=False),
        sa.Column("reference_version", sa.String(80), nullable=False),
        sa.Column("program", sa.String(32), nullable=False),
        sa.Column("observer_errors", sa.String(16), nullable=False),
        sa.Column("evidence_upto", sa.Integer, nullable=False),
    )


def _written() -> tuple[sa.Column[int], sa.Column[str]]:
    """Columns of the entry that wrote a row, and of its colony."""
    return (
        sa.Column("history", sa.Integer, sa.ForeignKey("history.id"), primary_key=True,
                  autoincrement=False),
        sa.Column("colony", sa.String(16), sa.ForeignKey("colony.id"), nullable=False,
                  index=True),
    )  # fmt: skip
