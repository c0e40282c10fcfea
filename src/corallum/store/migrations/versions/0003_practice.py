"""Practice sets, answers to them, qualifications, and the errors learned from them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add tables."""
    op.create_table(
        "practice_set",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("title", sa.String(120), nullable=False),
        sa.Column("purpose", sa.String(16), nullable=False),
        sa.Column("region", sa.String(32), nullable=False),
        sa.Column("made_for", sa.String(16), sa.ForeignKey("person.id")),
        sa.Column("items", sa.Text, nullable=False),
        sa.Column("reference_hash", sa.String(64), nullable=False),
        sa.Column("made_at", sa.String(32), nullable=False),
        sa.Column("open", sa.Boolean, nullable=False),
    )
    op.create_table(
        "qualification",
        sa.Column("id", sa.String(16), primary_key=True),
        _person(),
        _practice_set(),
        sa.Column("genera", sa.Text, nullable=False),
        sa.Column("plan", sa.Text, nullable=False),
        sa.Column("outcome", sa.String(16), nullable=False),
        sa.Column("started_at", sa.String(32), nullable=False),
        sa.Column("ended_at", sa.String(32)),
        sa.Column("expires_on", sa.String(10)),
    )
    op.create_index("ix_qualification_person", "qualification", ["person"])
    op.create_table(
        "practice_answer",
        sa.Column("history", sa.Integer, sa.ForeignKey("history.id"), primary_key=True,
                  autoincrement=False),
        _practice_set(),
        sa.Column("item", sa.Integer, nullable=False),
        _person(),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("answer", sa.Text, nullable=False),
        sa.Column("score", sa.Float, nullable=False),
        sa.Column("right", sa.Boolean, nullable=False),
        sa.Column("qualification", sa.String(16), sa.ForeignKey("qualification.id")),
    )  # fmt: skip
    op.create_index("ix_practice_answer_practice_set", "practice_answer", ["practice_set"])
    op.create_index("ix_practice_answer_person", "practice_answer", ["person"])
    op.create_table(
        "observer_errors",
        sa.Column("hash", sa.String(64), primary_key=True),
        _person(),
        sa.Column("first_at", sa.String(32), nullable=False),
        sa.Column("answers", sa.Integer, nullable=False),
        sa.Column("errors", sa.Text, nullable=False),
    )


def _person() -> sa.Column[str]:
    """Column of the person that a row is about."""
    return sa.Column("person", sa.String(16), sa.ForeignKey("person.id"), nullable=False)


def _practice_set() -> sa.Column[str]:
    """Column of the set that a row belongs to."""
    return sa.Column(
        "practice_set", sa.String(16), sa.ForeignKey("practice_set.id"), nullable=False
    )
