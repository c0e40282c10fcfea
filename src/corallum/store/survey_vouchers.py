"""Samples that were taken at the places of a survey."""

from __future__ import annotations

import sqlalchemy as sa

from corallum.store import schema

__all__ = ["survey_vouchers"]

_DEEPEST = 4


def survey_vouchers(connection: sa.Connection, survey: str) -> tuple[tuple[str, str, str], ...]:
    """Return label, permit and place of keeping of each sample of a survey's colonies.

    A colony belongs to a survey where its event is the survey, a visit, a transect or
    anything on one; colonies that were withdrawn are left out.
    """
    events = schema.event.alias()
    of = sa.select(schema.event.c.id, sa.literal(0).label("depth")).where(
        schema.event.c.id == survey
    )
    tree = of.cte("tree", recursive=True)
    tree = tree.union_all(
        sa.select(events.c.id, tree.c.depth + 1)
        .join(tree, events.c.parent == tree.c.id)
        .where(tree.c.depth < _DEEPEST)
    )
    colony, voucher = schema.colony, schema.voucher
    query = (
        sa.select(voucher.c.label, voucher.c.permit, voucher.c.held_by)
        .join(colony, colony.c.id == voucher.c.colony)
        .where(colony.c.event.in_(sa.select(tree.c.id)), ~colony.c.withdrawn)
        .order_by(voucher.c.label)
    )
    return tuple((row.label, row.permit, row.held_by) for row in connection.execute(query))
