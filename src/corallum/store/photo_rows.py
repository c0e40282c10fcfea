"""Rows about photos: the files that are kept, and the colonies that they show."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from corallum.errors import NotFoundError
from corallum.records.colony_record import ColonyPhoto, StoredPhoto
from corallum.store import schema
from corallum.store.colonies import photo_of
from corallum.store.history import time_of, time_text
from corallum.store.photos import CheckedPhoto

__all__ = ["add_photo", "all_photos", "photo_row", "photos_of"]


def add_photo(connection: sa.Connection, photo: CheckedPhoto, now: datetime) -> None:
    """Write the row of a photo file, unless it is there already."""
    table = schema.photo
    if connection.execute(sa.select(table).where(table.c.sha256 == photo.sha256)).first():
        return
    row = {
        "sha256": photo.sha256, "media_type": photo.media_type, "width": photo.width,
        "height": photo.height, "bytes": len(photo.data), "added_at": time_text(now),
    }  # fmt: skip
    connection.execute(table.insert(), row)


def photo_row(connection: sa.Connection, sha256: str) -> StoredPhoto:
    """Return the record of a photo file.

    Raises
    ------
    NotFoundError
        Where there is none.
    """
    table = schema.photo
    row = connection.execute(sa.select(table).where(table.c.sha256 == sha256)).first()
    if row is None:
        raise NotFoundError("photo", sha256)
    return photo_of(row)


def all_photos(connection: sa.Connection) -> tuple[StoredPhoto, ...]:
    """Return the records of all photo files."""
    found = sa.select(schema.photo).order_by(schema.photo.c.sha256)
    return tuple(map(photo_of, connection.execute(found)))


def photos_of(connection: sa.Connection, genus: str, most: int) -> tuple[ColonyPhoto, ...]:
    """Return first photos of colonies that are settled or overridden as a genus, newest first."""
    colony, photo, link, log = schema.colony, schema.photo, schema.colony_photo, schema.history
    found = (
        sa.select(photo, link.c.history, link.c.colony, link.c.caption, log.c.person, log.c.at)
        .select_from(colony)
        .join(photo, photo.c.sha256 == colony.c.photo)
        .join(link, sa.and_(link.c.colony == colony.c.id, link.c.photo == colony.c.photo))
        .join(log, log.c.id == link.c.history)
        .where(
            colony.c.withdrawn.is_(False),
            colony.c.genus == genus,
            colony.c.status.in_(("settled", "overridden")),
        )
        .order_by(link.c.history.desc())
        .limit(most)
    )
    return tuple(
        ColonyPhoto(
            row.history, row.colony, photo_of(row), row.caption, row.person, time_of(row.at)
        )
        for row in connection.execute(found)
    )
