"""Look up second readings, vouchers and assessments that are kept."""

from __future__ import annotations

import sqlalchemy as sa

from corallum.errors import NotFoundError
from corallum.store import schema

__all__ = [
    "colonies_with_vouchers", "colony_of_request", "keep_assessment", "kept_assessment",
]  # fmt: skip


def colony_of_request(connection: sa.Connection, request: int) -> str:
    """Return the colony of which a second reading was asked.

    Raises
    ------
    NotFoundError
        Where there is no such request.
    """
    table = schema.reading_request
    found = sa.select(table.c.colony).where(table.c.history == request)
    colony = connection.execute(found).scalar()
    if colony is None:
        raise NotFoundError("second reading", request)
    return str(colony)


def colonies_read_again(connection: sa.Connection, most: int) -> tuple[str, ...]:
    """Return the ids of colonies with an answered second reading or an override, newest first."""
    answer, said = schema.reading_answer.c, schema.determination.c
    read = sa.union_all(
        sa.select(answer.colony, answer.history),
        sa.select(said.colony, said.history).where(said.kind == "override"),
    ).subquery()
    newest = sa.func.max(read.c.history)
    found = sa.select(read.c.colony).group_by(read.c.colony).order_by(newest.desc()).limit(most)
    return tuple(row.colony for row in connection.execute(found))


def colonies_with_vouchers(connection: sa.Connection, most: int) -> tuple[str, ...]:
    """Return colonies of which samples were sent, the newest first."""
    table = schema.voucher
    newest = sa.func.max(table.c.history)
    found = sa.select(table.c.colony).group_by(table.c.colony).order_by(newest.desc())
    return tuple(connection.execute(found.limit(most)).scalars())


def kept_assessment(connection: sa.Connection, hash_: str, region: str) -> str | None:
    """Return the assessment that is kept of a reference in a region."""
    table = schema.assessment
    found = sa.select(table.c.result).where(
        table.c.reference_hash == hash_, table.c.region == region
    )
    result: str | None = connection.execute(found).scalar()
    return result


def keep_assessment(
    connection: sa.Connection, hash_: str, region: str, moment: str, result: str
) -> None:
    """Keep an assessment of a reference in a region, unless there is one."""
    if kept_assessment(connection, hash_, region) is None:
        row = {"reference_hash": hash_, "region": region, "at": moment, "result": result}
        connection.execute(schema.assessment.insert(), row)
