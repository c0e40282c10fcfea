"""Photos of transects, and what was said of their points, as rows."""

from __future__ import annotations

from typing import NamedTuple

import sqlalchemy as sa

from corallum.store import schema

__all__ = ["FrameRow", "PointRow", "frames_of", "points_of"]


class FrameRow(NamedTuple):
    """A photo of a transect; width and height in pixels."""

    history: int
    frame: int
    photo: str
    width: int
    height: int


class PointRow(NamedTuple):
    """What was said of one point, by whom."""

    history: int
    frame: int
    point: int
    said: str
    person: str


def frames_of(connection: sa.Connection, transect: str) -> list[FrameRow]:
    """Return the photos of a transect by their numbers."""
    table, photo = schema.frame_photo, schema.photo
    asked = (
        sa.select(table.c.history, table.c.frame, table.c.photo, photo.c.width, photo.c.height)
        .join(photo, photo.c.sha256 == table.c.photo)
        .where(table.c.transect == transect)
        .order_by(table.c.frame)
    )
    return [FrameRow._make(row) for row in connection.execute(asked)]


def points_of(connection: sa.Connection, transect: str, person: str) -> list[PointRow]:
    """Return what a person said of a transect's points, the newest of each point."""
    table, log = schema.point_reading, schema.history
    asked = (
        sa.select(table.c.history, table.c.frame, table.c.point, table.c.said, log.c.person)
        .join(log, log.c.id == table.c.history)
        .where(table.c.transect == transect, log.c.person == person)
        .order_by(table.c.history)
    )
    newest = {(row.frame, row.point): PointRow._make(row) for row in connection.execute(asked)}
    return [newest[key] for key in sorted(newest)]
