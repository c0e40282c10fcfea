"""What is known of one photo: its size and kind."""

from __future__ import annotations

from corallum.errors import NotFoundError
from corallum.records.colony_record import StoredPhoto
from corallum.store.photo_rows import photo_row
from corallum.store.photos import is_hash
from corallum.store.programme import Programme

__all__ = ["get_photo"]


def get_photo(programme: Programme, sha256: str) -> StoredPhoto:
    """Return the record of a photo.

    Parameters
    ----------
    programme : Programme
        Whose photo.
    sha256 : str
        Hash of the original.

    Raises
    ------
    NotFoundError
        Where the programme has no such photo.
    """
    if not isinstance(sha256, str) or not is_hash(sha256):
        raise NotFoundError("photo", sha256)
    with programme.read() as connection:
        return photo_row(connection, sha256)
