"""Slates, their lines, flags and second readings as rows."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

import sqlalchemy as sa

from corallum.errors import NotFoundError
from corallum.records.amounts import amount_of
from corallum.records.programme import Event
from corallum.records.survey import (
    Decision,
    FlagAnswer,
    Method,
    Permit,
    ReadingDraw,
    RecordReading,
    Slate,
    SurveyPlan,
)
from corallum.records.survey_json import (
    effort_from_text,
    effort_to_text,
    lines_from_text,
    lines_to_text,
    plan_from_text,
)
from corallum.store import schema
from corallum.store.history import Act, add_row, time_of
from corallum.store.people import all_events, event_of

__all__ = [
    "all_permits",
    "diameters_of",
    "draws_of",
    "flag_answers_of",
    "insert_slate",
    "is_replaced",
    "joined_slates",
    "kept_columns",
    "left_out_of",
    "plan_of",
    "plans",
    "read_slate",
    "readings_of",
    "readings_of_slate",
    "record_rows",
    "rewrite_records",
    "slate_heads",
    "slate_of",
    "slates_of",
    "survey_of_transect",
    "transects_of",
]


def plan_of(connection: sa.Connection, survey: str) -> SurveyPlan:
    """Return the plan of a survey."""
    table = schema.survey_plan
    row = connection.execute(sa.select(table).where(table.c.id == survey)).first()
    if row is None:
        raise NotFoundError("survey", survey)
    return plan_from_text(row.id, row.plan)


def plans(connection: sa.Connection) -> dict[str, SurveyPlan]:
    """Return all plans by survey."""
    found = connection.execute(sa.select(schema.survey_plan))
    return {row.id: plan_from_text(row.id, row.plan) for row in found}


def transects_of(connection: sa.Connection, survey: str) -> tuple[Event, ...]:
    """Return the transects of a survey, sites in the order of the plan, each by its names."""
    strata = plan_of(connection, survey).strata
    order = {site: i for i, site in enumerate(site for one in strata for site in one.sites)}
    visits = {visit.id for visit in all_events(connection, "visit", survey)}
    found = [one for one in all_events(connection, "transect", None) if one.parent in visits]
    last = len(order)
    return tuple(
        sorted(found, key=lambda one: (order.get(one.site or "", last), len(one.name), one.name))
    )


def survey_of_transect(connection: sa.Connection, transect: str) -> str:
    """Return the survey that a transect belongs to."""
    event = event_of(connection, transect)
    if event.kind != "transect" or event.parent is None:
        raise NotFoundError("transect", transect)
    survey = event_of(connection, event.parent).parent
    if survey is None:
        raise NotFoundError("survey of transect", transect)
    return survey


def insert_slate(connection: sa.Connection, act: Act, survey: str, slate: Slate) -> int:
    """Write a slate and its lines; return its entry."""
    row = {
        "survey": survey, "transect": slate.transect, "method": slate.method.value,
        "observer": slate.observer, "date": slate.date.isoformat(), "depth_m": slate.depth_m,
        "effort": effort_to_text(slate.effort), "lines": lines_to_text(slate.lines),
        "replaces": slate.replaces, "source": slate.source, "note": slate.note,
    }  # fmt: skip
    history = add_row(connection, act, "write slate", schema.slate, row)
    rewrite_records(connection, history)
    if slate.replaces is not None:
        rewrite_records(connection, slate.replaces)
    return history


def record_rows(connection: sa.Connection, history: int) -> list[dict[str, Any]]:
    """Return the rows of a slate's lines as its history says them."""
    slate = slate_of(connection, history)
    survey = connection.execute(
        sa.select(schema.slate.c.survey).where(schema.slate.c.history == history)
    ).scalar_one()
    site = event_of(connection, slate.transect).site or ""
    out = _left_out(connection, history)
    replaced = history in _replaced(connection, survey)
    return [
        {"slate": history, "line": number, "survey": survey, "site": site,
         "transect": slate.transect, "year": slate.date.year, "label": line.label,
         "kind": line.kind, "form": line.form, "amount": amount_of(slate.method, line),
         "count": line.count, "diameter_cm": line.diameter_cm, "photo": line.photo,
         "stands": not (replaced or None in out or number in out)}
        for number, line in enumerate(slate.lines, start=1)
    ]  # fmt: skip


def rewrite_records(connection: sa.Connection, history: int) -> None:
    """Bring the rows of a slate's lines up to its history."""
    table = schema.survey_record
    connection.execute(table.delete().where(table.c.slate == history))
    rows = record_rows(connection, history)
    if rows:
        connection.execute(table.insert(), rows)


def _left_out(connection: sa.Connection, history: int) -> set[int | None]:
    """Lines of a slate that were left out, by their newest answers; None is the slate."""
    table = schema.flag_answer.c
    asked = sa.select(table.line, table.rule, table.decision).where(table.slate == history)
    newest = {
        (row.line, row.rule): row.decision
        for row in connection.execute(asked.order_by(table.history))
    }
    return {line for (line, _), what in newest.items() if what == Decision.LEFT_OUT}


def _replaced(connection: sa.Connection, survey: str) -> set[int]:
    """Slates of a survey that another replaces."""
    table = schema.slate.c
    asked = sa.select(table.replaces).where(table.survey == survey, table.replaces.is_not(None))
    return set(connection.execute(asked).scalars())


def joined_slates() -> sa.Select[Any]:
    """Slates with who wrote them and when."""
    table, log = schema.slate, schema.history
    return (
        sa.select(table, log.c.person, log.c.at)
        .join(log, log.c.id == table.c.history)
        .order_by(table.c.history)
    )


def read_slate(row: sa.Row[Any]) -> Slate:
    """Turn a row into a slate."""
    return Slate(
        row.history, row.transect, Method(row.method), row.observer, date.fromisoformat(row.date),
        row.depth_m, effort_from_text(row.effort), lines_from_text(row.lines), row.replaces,
        row.source, row.note, row.person, time_of(row.at),
    )  # fmt: skip


def is_replaced(connection: sa.Connection, history: int) -> bool:
    """Whether another slate mends this one."""
    table = schema.slate.c
    asked = sa.select(table.history).where(table.replaces == history)
    return connection.execute(asked).first() is not None


def slate_of(connection: sa.Connection, history: int) -> Slate:
    """Return one slate."""
    found = connection.execute(joined_slates().where(schema.slate.c.history == history)).first()
    if found is None:
        raise NotFoundError("slate", history)
    return read_slate(found)


def slates_of(
    connection: sa.Connection, survey: str, *, replaced: bool = False
) -> tuple[Slate, ...]:
    """Return the slates of a survey in the order written; those replaced only if asked for."""
    found = connection.execute(joined_slates().where(schema.slate.c.survey == survey))
    slates = tuple(map(read_slate, found))
    if replaced:
        return slates
    gone = {one.replaces for one in slates}
    return tuple(one for one in slates if one.history not in gone)


def slate_heads(connection: sa.Connection, survey: str) -> Iterator[Mapping[str, Any]]:
    """Yield who read what of a survey, without the lines: slates that are not replaced."""
    table = schema.slate.c
    asked = sa.select(
        table.history, table.transect, table.method, table.observer, table.date, table.effort
    ).where(table.survey == survey)
    gone = _replaced(connection, survey)
    for row in connection.execute(asked.order_by(table.history)).mappings():
        if row["history"] not in gone and None not in _left_out(connection, row["history"]):
            yield dict(row)


def diameters_of(
    connection: sa.Connection, survey: str, label: str | None
) -> list[tuple[str, float]]:
    """Return transect and diameter of each colony that counts, one row a colony, cm."""
    table = schema.survey_record.c
    asked = sa.select(table.transect, table.diameter_cm, table.count).where(
        table.survey == survey, table.stands, table.diameter_cm.is_not(None),
        table.kind.in_(("genus", "unidentified")),
    )  # fmt: skip
    if label is not None:
        asked = asked.where(table.label == label)
    rows = connection.execute(asked.order_by(table.slate, table.line))
    return [(row[0], row[1]) for row in rows for _ in range(row[2])]


def flag_answers_of(connection: sa.Connection, survey: str) -> tuple[FlagAnswer, ...]:
    """Return what was decided on flags, in the order decided."""
    table, log = schema.flag_answer, schema.history
    asked = (
        sa.select(table, log.c.person, log.c.at)
        .join(log, log.c.id == table.c.history)
        .join(schema.slate, schema.slate.c.history == table.c.slate)
        .where(schema.slate.c.survey == survey)
        .order_by(table.c.history)
    )
    return tuple(
        FlagAnswer(row.history, row.slate, row.line, row.rule, Decision(row.decision), row.note,
                   row.person, time_of(row.at))
        for row in connection.execute(asked)
    )  # fmt: skip


def left_out_of(connection: sa.Connection, survey: str) -> set[tuple[int, int | None]]:
    """Return slates and lines that were left out, by their newest answers; None is the slate."""
    newest = {(one.slate, one.line, one.rule): one for one in flag_answers_of(connection, survey)}
    return {
        (slate, line) for (slate, line, _), one in newest.items()
        if one.decision is Decision.LEFT_OUT
    }  # fmt: skip


def draws_of(connection: sa.Connection, survey: str) -> tuple[ReadingDraw, ...]:
    """Return the draws of records to be read again, in the order made."""
    table = schema.reading_draw
    asked = sa.select(table).where(table.c.survey == survey).order_by(table.c.history)
    return tuple(
        ReadingDraw(
            row.history, row.survey, row.share, row.asked_of,
            tuple((slate, line) for slate, line in json.loads(row.records)),
            {name: (all_, drawn) for name, (all_, drawn) in json.loads(row.strata).items()},
        )
        for row in connection.execute(asked)
    )  # fmt: skip


def readings_of(connection: sa.Connection, survey: str) -> tuple[RecordReading, ...]:
    """Return second readings of a survey's records, in the order made."""
    slate = schema.slate
    asked = _readings().join(slate, slate.c.history == schema.record_reading.c.slate)
    return _read(connection, asked.where(slate.c.survey == survey))


def readings_of_slate(connection: sa.Connection, history: int) -> tuple[RecordReading, ...]:
    """Return second readings of a slate's lines, in the order made."""
    return _read(connection, _readings().where(schema.record_reading.c.slate == history))


def _readings() -> sa.Select[Any]:
    """Second readings with who made them and when."""
    table, log = schema.record_reading, schema.history
    return (
        sa.select(table, log.c.person, log.c.at)
        .join(log, log.c.id == table.c.history)
        .order_by(table.c.history)
    )


def _read(connection: sa.Connection, asked: sa.Select[Any]) -> tuple[RecordReading, ...]:
    """Turn rows into second readings."""
    return tuple(
        RecordReading(row.history, row.slate, row.line, row.said, row.label, row.kind, row.note,
                      row.person, time_of(row.at))
        for row in connection.execute(asked)
    )  # fmt: skip


def kept_columns(connection: sa.Connection) -> Sequence[tuple[str, str, str, object]]:
    """Return id, name, method and columns of each kept way to import."""
    table = schema.import_columns
    asked = sa.select(table).order_by(table.c.name, table.c.id)
    return [
        (row.id, row.name, row.method, json.loads(row.columns)) for row in connection.execute(asked)
    ]


def all_permits(connection: sa.Connection) -> tuple[Permit, ...]:
    """Return permits by number."""
    table = schema.permit
    return tuple(
        Permit(row.id, row.number, row.holder, date.fromisoformat(row.expires_on), row.covers,
               row.note)
        for row in connection.execute(sa.select(table).order_by(table.c.number, table.c.id))
    )  # fmt: skip
