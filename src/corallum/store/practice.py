"""Practice sets, answers and qualifications as rows."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from typing import Any

import sqlalchemy as sa

from corallum.errors import NotFoundError
from corallum.practice.item import Item, item_from_json, item_to_json
from corallum.practice.kept import (
    KeptAnswer,
    PracticeSet,
    Qualification,
    answer_from_text,
)
from corallum.store.history import time_of
from corallum.store.schema import observer_errors, practice_answer, practice_set, qualification

__all__ = [
    "all_answers",
    "all_qualifications",
    "all_sets",
    "errors_text",
    "items_text",
    "keep_errors",
    "qualification_of",
    "set_of",
]


def items_text(items: Sequence[Item]) -> str:
    """Write the items of a set."""
    found = [item_to_json(item) for item in items]
    return json.dumps(found, sort_keys=True, ensure_ascii=False, allow_nan=False)


def _set(row: sa.Row[Any]) -> PracticeSet:
    """Turn a row into a set."""
    items = tuple(
        item_from_json(value, f"practice set {row.id}, item {i + 1}")
        for i, value in enumerate(json.loads(row.items))
    )
    return PracticeSet(
        row.id, row.title, row.purpose, row.region, row.made_for, items, row.reference_hash,
        time_of(row.made_at), row.open,
    )  # fmt: skip


def set_of(connection: sa.Connection, id_: str) -> PracticeSet:
    """Return one set."""
    asked = sa.select(practice_set).where(practice_set.c.id == id_)
    row = connection.execute(asked).first()
    if row is None:
        raise NotFoundError("practice set", id_)
    return _set(row)


def all_sets(connection: sa.Connection, most: int = 200) -> tuple[PracticeSet, ...]:
    """Return sets, the newest first."""
    newest = practice_set.c.made_at.desc()
    asked = sa.select(practice_set).order_by(newest, practice_set.c.id).limit(most)
    return tuple(map(_set, connection.execute(asked)))


def all_answers(
    connection: sa.Connection, *, person: str | None = None, practice_set_: str | None = None
) -> tuple[KeptAnswer, ...]:
    """Return answers in the order given."""
    table = practice_answer.c
    asked = sa.select(practice_answer).order_by(table.history)
    if person is not None:
        asked = asked.where(table.person == person)
    if practice_set_ is not None:
        asked = asked.where(table.practice_set == practice_set_)
    return tuple(
        KeptAnswer(row.history, row.practice_set, row.item, row.person, time_of(row.at),
                   answer_from_text(row.answer), row.score, row.right, row.qualification)
        for row in connection.execute(asked)
    )  # fmt: skip


def _qualification(row: sa.Row[Any]) -> Qualification:
    """Turn a row into a qualification."""
    return Qualification(
        row.id, row.person, row.practice_set, tuple(json.loads(row.genera)), json.loads(row.plan),
        row.outcome, time_of(row.started_at), time_of(row.ended_at) if row.ended_at else None,
        date.fromisoformat(row.expires_on) if row.expires_on else None,
    )  # fmt: skip


def qualification_of(connection: sa.Connection, id_: str) -> Qualification:
    """Return one qualification."""
    asked = sa.select(qualification).where(qualification.c.id == id_)
    row = connection.execute(asked).first()
    if row is None:
        raise NotFoundError("qualification", id_)
    return _qualification(row)


def all_qualifications(
    connection: sa.Connection, person: str | None = None
) -> tuple[Qualification, ...]:
    """Return qualifications, the newest first."""
    table = qualification.c
    asked = sa.select(qualification).order_by(table.started_at.desc(), table.id)
    if person is not None:
        asked = asked.where(table.person == person)
    return tuple(map(_qualification, connection.execute(asked)))


def keep_errors(
    connection: sa.Connection, hash_: str, person: str, at: str, answers: int, text: str
) -> None:
    """Keep one version of a person's errors, where it is not there yet."""
    asked = sa.select(observer_errors.c.hash).where(observer_errors.c.hash == hash_)
    if connection.execute(asked).first() is None:
        row = {"hash": hash_, "person": person, "first_at": at, "answers": answers,
               "errors": text}  # fmt: skip
        connection.execute(observer_errors.insert(), row)


def errors_text(connection: sa.Connection, start: str) -> str:
    """Return the errors that were kept under a hash, or its first characters."""
    asked = sa.select(observer_errors.c.errors).where(observer_errors.c.hash.startswith(start))
    row = connection.execute(asked).first()
    if row is None:
        raise NotFoundError("version of an observer's errors", start)
    return str(row.errors)
