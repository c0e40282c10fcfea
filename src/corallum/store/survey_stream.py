"""A survey of any size, read a page of slates at a time.

Pages follow the numbers of the history, so that reading can go on after any of them. What
is small beside the lines, such as who was drawn to be read again, is read at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

import sqlalchemy as sa

from corallum.records.survey import Decision, FlagAnswer, RecordReading, Slate
from corallum.store import schema
from corallum.store.history import time_of
from corallum.store.surveys import joined_slates, read_slate

__all__ = [
    "Head", "SlatePage", "TransectSpan", "count_lines", "history_head", "last_days",
    "name_counts", "photos_of_survey", "replaced_slates", "slate_page", "transect_spans",
]  # fmt: skip


class Head(NamedTuple):
    """The newest entry of the history and its seal: what the programme holds is in it."""

    entry: int
    seal: str


class TransectSpan(NamedTuple):
    """First and last day of a transect's slates, and the depths that were written."""

    first: date
    last: date
    shallowest_m: float | None
    deepest_m: float | None


@dataclass(frozen=True, slots=True)
class SlatePage:
    """Some slates that stand, in the order written, and what was decided and read of them.

    ``last`` is where the next page begins: None where there is no other.
    """

    slates: tuple[Slate, ...]
    answers: tuple[FlagAnswer, ...]
    readings: tuple[RecordReading, ...]
    last: int | None


def history_head(connection: sa.Connection) -> Head:
    """Return the newest entry of the history."""
    table = schema.history.c
    row = connection.execute(
        sa.select(table.id, table.hash).order_by(table.id.desc()).limit(1)
    ).first()
    return Head(0, "") if row is None else Head(row.id, row.hash)


def replaced_slates(connection: sa.Connection, survey: str) -> frozenset[int]:
    """Return the slates of a survey that another mends."""
    table = schema.slate.c
    asked = sa.select(table.replaces).where(table.survey == survey, table.replaces.is_not(None))
    return frozenset(connection.execute(asked).scalars())


def slate_page(
    connection: sa.Connection,
    survey: str,
    *,
    after: int,
    most: int,
    gone: frozenset[int] = frozenset(),
) -> SlatePage:
    """Return the next slates of a survey.

    Parameters
    ----------
    connection : Connection
        Open for reading.
    survey : str
        Id of the event.
    after : int
        Entry of the history that the page begins after; 0 is the beginning.
    most : int
        Slates to read, those that are gone counted.
    gone : frozenset of int
        Slates that another mends: they are left out.
    """
    table = schema.slate.c
    asked = joined_slates().where(table.survey == survey, table.history > after).limit(most)
    rows = connection.execute(asked).all()
    if not rows:
        return SlatePage((), (), (), None)
    last: int = rows[-1].history
    slates = tuple(read_slate(row) for row in rows if row.history not in gone)
    wanted = {slate.history for slate in slates}
    answers = tuple(one for one in _answers(connection, survey, after, last) if one.slate in wanted)
    readings = tuple(
        one for one in _readings(connection, survey, after, last) if one.slate in wanted
    )
    return SlatePage(slates, answers, readings, last if len(rows) == most else None)


def _of_slates(table: sa.Table, survey: str, after: int, last: int) -> sa.Select[Any]:
    """Ask for the rows of some slates with who wrote them and when, in the order written."""
    log, slate = schema.history, schema.slate
    return (
        sa.select(table, log.c.person, log.c.at)
        .join(log, log.c.id == table.c.history)
        .join(slate, slate.c.history == table.c.slate)
        .where(slate.c.survey == survey, table.c.slate > after, table.c.slate <= last)
        .order_by(table.c.history)
    )


def _answers(
    connection: sa.Connection, survey: str, after: int, last: int
) -> tuple[FlagAnswer, ...]:
    """Return what was decided on the flags of some slates, in the order decided."""
    asked = _of_slates(schema.flag_answer, survey, after, last)
    return tuple(
        FlagAnswer(row.history, row.slate, row.line, row.rule, Decision(row.decision), row.note,
                   row.person, time_of(row.at))
        for row in connection.execute(asked)
    )  # fmt: skip


def _readings(
    connection: sa.Connection, survey: str, after: int, last: int
) -> tuple[RecordReading, ...]:
    """Return second readings of the lines of some slates, in the order made."""
    asked = _of_slates(schema.record_reading, survey, after, last)
    return tuple(
        RecordReading(row.history, row.slate, row.line, row.said, row.label, row.kind, row.note,
                      row.person, time_of(row.at))
        for row in connection.execute(asked)
    )  # fmt: skip


def transect_spans(connection: sa.Connection, survey: str) -> Mapping[str, TransectSpan]:
    """Return days and depths of the transects of a survey that have a slate that stands."""
    table = schema.slate.c
    asked = (
        sa.select(table.transect, sa.func.min(table.date), sa.func.max(table.date),
                  sa.func.min(table.depth_m), sa.func.max(table.depth_m))
        .where(table.survey == survey, table.history.not_in(_gone(survey)))
        .group_by(table.transect)
    )  # fmt: skip
    return {
        row[0]: TransectSpan(date.fromisoformat(row[1]), date.fromisoformat(row[2]), row[3], row[4])
        for row in connection.execute(asked)
    }


def last_days(connection: sa.Connection, survey: str) -> Mapping[str, date]:
    """Return the last day on which each observer read a transect of the survey."""
    table = schema.slate.c
    asked = (
        sa.select(table.observer, sa.func.max(table.date))
        .where(table.survey == survey)
        .group_by(table.observer)
    )
    return {row[0]: date.fromisoformat(row[1]) for row in connection.execute(asked)}


def name_counts(connection: sa.Connection, survey: str) -> Mapping[tuple[str, str], int]:
    """Count the lines of a survey that stand by kind and label."""
    table = schema.survey_record.c
    asked = (
        sa.select(table.kind, table.label, sa.func.count())
        .where(table.survey == survey, table.stands)
        .group_by(table.kind, table.label)
    )
    return {(row[0], row[1]): row[2] for row in connection.execute(asked)}


def count_lines(connection: sa.Connection, survey: str) -> int:
    """Count all lines of a survey's slates, whether they stand or not."""
    table = schema.survey_record.c
    asked = sa.select(sa.func.count()).where(table.survey == survey)
    return int(connection.execute(asked).scalar_one())


def photos_of_survey(connection: sa.Connection, survey: str) -> Mapping[str, str]:
    """Return the photos that lines of a survey name, and what kind of picture each is."""
    table, photo = schema.survey_record, schema.photo
    asked = (
        sa.select(photo.c.sha256, photo.c.media_type)
        .join(table, table.c.photo == photo.c.sha256)
        .where(table.c.survey == survey)
        .distinct()
        .order_by(photo.c.sha256)
    )
    return {row[0]: row[1] for row in connection.execute(asked)}


def _gone(survey: str) -> sa.Select[tuple[int | None]]:
    """Ask for the slates that another mends."""
    table = schema.slate.c
    return sa.select(table.replaces).where(table.survey == survey, table.replaces.is_not(None))
