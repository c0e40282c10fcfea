"""Survey plans, slates and their lines, flags, second readings of records, and permits."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Add tables."""
    _known_by_id()
    _slates()
    _readings()
    _photo_points()


def _known_by_id() -> None:
    """Plans, kept columns of imports, and permits."""
    op.create_table(
        "survey_plan",
        sa.Column("id", sa.String(16), sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("plan", sa.Text, nullable=False),
    )
    op.create_table(
        "import_columns",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("method", sa.String(16), nullable=False),
        sa.Column("columns", sa.Text, nullable=False),
    )
    op.create_table(
        "permit",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("number", sa.String(120), nullable=False),
        sa.Column("holder", sa.String(120), nullable=False),
        sa.Column("expires_on", sa.String(10), nullable=False),
        sa.Column("covers", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )


def _slates() -> None:
    """Slates, and their lines one row each."""
    op.create_table(
        "slate",
        _history(),
        _event("survey"),
        _event("transect"),
        sa.Column("method", sa.String(16), nullable=False),
        sa.Column("observer", sa.String(16), sa.ForeignKey("person.id"), nullable=False),
        sa.Column("date", sa.String(10), nullable=False),
        sa.Column("depth_m", sa.Float),
        sa.Column("effort", sa.Text, nullable=False),
        sa.Column("lines", sa.Text, nullable=False),
        sa.Column("replaces", sa.Integer, sa.ForeignKey("slate.history")),
        sa.Column("source", sa.String(200), nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )
    op.create_table(
        "survey_record",
        sa.Column("slate", sa.Integer, sa.ForeignKey("slate.history"), primary_key=True,
                  autoincrement=False),
        sa.Column("line", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("survey", sa.String(16), nullable=False),
        sa.Column("site", sa.String(16), nullable=False),
        sa.Column("transect", sa.String(16), nullable=False),
        sa.Column("year", sa.Integer, nullable=False),
        sa.Column("label", sa.String(80), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("form", sa.String(32), nullable=False),
        sa.Column("amount", sa.Float, nullable=False),
        sa.Column("count", sa.Integer, nullable=False),
        sa.Column("diameter_cm", sa.Float),
        sa.Column("photo", sa.String(64)),
        sa.Column("stands", sa.Boolean, nullable=False),
    )  # fmt: skip
    by_site = ["stands", "label", "site", "year", "amount", "count"]
    op.create_index("survey_record_by_site", "survey_record", by_site)
    by_survey = ["survey", "stands", "transect", "label", "kind", "amount", "count"]
    op.create_index("survey_record_by_survey", "survey_record", by_survey)
    op.create_index("survey_record_by_photo", "survey_record", ["photo"])


def _readings() -> None:
    """Answers to flags, and second readings of single records."""
    op.create_table(
        "flag_answer",
        _history(),
        _slate(),
        sa.Column("line", sa.Integer),
        sa.Column("rule", sa.String(32), nullable=False),
        sa.Column("decision", sa.String(16), nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )
    op.create_table(
        "reading_draw",
        _history(),
        _event("survey"),
        sa.Column("share", sa.Float, nullable=False),
        sa.Column("asked_of", sa.String(16), sa.ForeignKey("person.id")),
        sa.Column("records", sa.Text, nullable=False),
        sa.Column("strata", sa.Text, nullable=False),
    )
    op.create_table(
        "record_reading",
        _history(),
        _slate(),
        sa.Column("line", sa.Integer, nullable=False),
        sa.Column("said", sa.String(120), nullable=False),
        sa.Column("label", sa.String(80), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )


def _photo_points() -> None:
    """Photos of transects, and what was said of their points."""
    op.create_table(
        "frame_photo",
        _history(),
        _event("transect"),
        sa.Column("frame", sa.Integer, nullable=False),
        sa.Column("photo", sa.String(64), sa.ForeignKey("photo.sha256"), nullable=False),
    )
    op.create_table(
        "point_reading",
        _history(),
        _event("transect"),
        sa.Column("frame", sa.Integer, nullable=False),
        sa.Column("point", sa.Integer, nullable=False),
        sa.Column("said", sa.String(120), nullable=False),
    )


def _history() -> sa.Column[int]:
    """Column of the entry that wrote a row."""
    return sa.Column(
        "history", sa.Integer, sa.ForeignKey("history.id"), primary_key=True, autoincrement=False
    )


def _event(name: str) -> sa.Column[str]:
    """Column of an event."""
    return sa.Column(name, sa.String(16), sa.ForeignKey("event.id"), nullable=False, index=True)


def _slate() -> sa.Column[int]:
    """Column of the slate that a row is about."""
    return sa.Column(
        "slate", sa.Integer, sa.ForeignKey("slate.history"), nullable=False, index=True
    )
