"""Second readings, vouchers, paired devices, and assessments that are kept."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add tables, and what a colony waits for."""
    _opinions()
    op.create_table(
        "device",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("person", sa.String(16), sa.ForeignKey("person.id"), nullable=False),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("token_hash", sa.String(64), nullable=False, unique=True),
        sa.Column("paired_at", sa.String(32), nullable=False),
        sa.Column("revoked", sa.Boolean, nullable=False),
    )
    op.create_table(
        "assessment",
        sa.Column("reference_hash", sa.String(64), primary_key=True),
        sa.Column("region", sa.String(32), primary_key=True),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("result", sa.Text, nullable=False),
    )
    for name in ("waits_reading", "waits_voucher"):
        column = sa.Column(name, sa.Boolean, nullable=False, server_default=sa.false())
        op.add_column("colony", column)
    op.create_index("colony_waiting", "colony", ["waits_reading", "waits_voucher"])
    # Nothing could be sent to a collection before: every colony that needs it waits.
    colony = sa.table("colony", sa.column("needs"), sa.column("waits_voucher", sa.Boolean))
    op.execute(colony.update().where(colony.c.needs == "voucher").values(waits_voucher=True))


def _opinions() -> None:
    """Requests, answers and samples, each written by one entry of the history."""
    op.create_table(
        "reading_request",
        *_written(),
        sa.Column("asked_of", sa.String(16), sa.ForeignKey("person.id")),
        sa.Column("question", sa.Text, nullable=False),
    )
    op.create_table(
        "reading_answer",
        *_written(),
        sa.Column("request", sa.Integer, sa.ForeignKey("reading_request.history"),
                  nullable=False),
        sa.Column("genera", sa.Text, nullable=False),
        sa.Column("confidence", sa.Float),
        sa.Column("note", sa.Text, nullable=False),
    )  # fmt: skip
    op.create_table(
        "voucher",
        *_written(),
        sa.Column("permit", sa.String(120), nullable=False),
        sa.Column("label", sa.String(120), nullable=False),
        sa.Column("held_by", sa.String(120), nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )


def _written() -> tuple[sa.Column[int], sa.Column[str]]:
    """Columns of the entry that wrote a row, and of its colony."""
    return (
        sa.Column("history", sa.Integer, sa.ForeignKey("history.id"), primary_key=True,
                  autoincrement=False),
        sa.Column("colony", sa.String(16), sa.ForeignKey("colony.id"), nullable=False,
                  index=True),
    )  # fmt: skip
