"""Sums over the lines of surveys, added up by the database."""

from __future__ import annotations

from typing import Any, NamedTuple

import sqlalchemy as sa

from corallum.store.schema import survey_record

__all__ = ["LineSum", "SiteYear", "sum_by_site_and_year", "sum_by_transect"]


class SiteYear(NamedTuple):
    """What was said of one label at one site in one year."""

    label: str
    site: str
    year: int
    amount: float
    lines: int


class LineSum(NamedTuple):
    """What was said of one label on one transect."""

    transect: str
    label: str
    kind: str
    amount: float
    lines: int


def sum_by_site_and_year(connection: sa.Connection) -> list[SiteYear]:
    """Add up all surveys by label, site and year; lines that were left out don't count."""
    table = survey_record.c
    keys = (table.label, table.site, table.year)
    asked = (
        sa.select(*keys, sa.func.sum(table.amount), sa.func.count())
        .where(table.stands)
        .group_by(*keys)
    )
    return [SiteYear._make(row) for row in connection.execute(asked)]


def sum_by_transect(
    connection: sa.Connection, survey: str, *, by_form: bool = False
) -> list[LineSum]:
    """Add up a survey by transect and label, or growth form; what was left out doesn't count."""
    table = survey_record.c
    keys: tuple[Any, ...] = (table.transect, table.form if by_form else table.label, table.kind)
    asked = (
        sa.select(*keys, sa.func.sum(table.amount), sa.func.count())
        .where(table.survey == survey, table.stands)
        .group_by(*keys)
    )
    return [LineSum._make(row) for row in connection.execute(asked)]
