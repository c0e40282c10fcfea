"""Photos of a colony, and sizes measured on them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from corallum.actions.colony_changes import change_colony, write_colony_entry
from corallum.actions.colony_lists import get_colony
from corallum.actions.programme_reference import check_report
from corallum.actions.unit_of_work import (
    Unit,
    check_choice,
    check_line,
    check_notes,
    check_share,
    unit_of_work,
)
from corallum.errors import Fault, InputError, NotFoundError
from corallum.records.colony import SizeReport
from corallum.records.colony_record import ColonyPhoto, ColonyRecord
from corallum.records.programme import Role
from corallum.store import photo_rows as rows
from corallum.store.history import add_row
from corallum.store.photos import SIZES, check_photo, is_hash, keep_photo, photo_path
from corallum.store.programme import Programme
from corallum.store.schema import colony_photo, measurement

__all__ = [
    "AddMeasurement",
    "AttachPhoto",
    "PhotoFile",
    "add_measurement",
    "attach_photo",
    "photo_file",
    "photos_of_genus",
]

_MOST_MARKS = 200_000
_MOST_PHOTOS = 200


@dataclass(frozen=True, slots=True)
class AttachPhoto:
    """A photo to add to a colony, as the bytes of its file."""

    colony: str
    data: bytes
    caption: str = ""


@dataclass(frozen=True, slots=True)
class AddMeasurement:
    """A size measured on a photo, in the unit of its character.

    Parameters
    ----------
    colony, photo, character : str
        Ids, and the hash of the photo.
    value, low, high : float
        The mean, and its interval where one is known.
    n : int
        Number of calices, valleys or distances.
    by : str
        hand or program.
    mm_per_pixel, relative : float
        The scale of the upright original, and its relative standard uncertainty.
    marks : object
        What was drawn, as JSON.
    into_evidence : bool
        Whether it becomes the colony's report on the character.
    """

    colony: str
    photo: str
    character: str
    value: float
    n: int = 1
    low: float | None = None
    high: float | None = None
    by: str = "hand"
    mm_per_pixel: float = 1.0
    relative: float = 0.0
    marks: object = None
    into_evidence: bool = True


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """Where a photo is on disk, and its type."""

    path: Path
    media_type: str


def attach_photo(
    programme: Programme,
    command: AttachPhoto,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> ColonyPhoto:
    """Keep a photo and add it to a colony; the file is on disk before the record says so.

    Raises
    ------
    InputError
        Where it is no whole, still picture, or too large.
    """
    caption = check_notes(command.caption, "caption", empty=True)
    what = "add photos"
    # Asked before the work of decoding, and again when it is written.
    with unit_of_work(programme, person, now, Role.OBSERVER, what):
        get_colony(programme, command.colony)
    checked = check_photo(command.data)
    # Before the record, and outside the writing transaction: others need not wait for it.
    keep_photo(programme.photo_folder, checked)

    def change(unit: Unit, record: ColonyRecord) -> None:
        rows.add_photo(unit.connection, checked, now)
        row = {"colony": record.id, "photo": checked.sha256, "caption": caption}
        add_row(unit.connection, unit.act, "photo", colony_photo, row)

    record = change_colony(programme, command.colony, (now, person), what, change)
    return record.photos[-1]


def photo_file(programme: Programme, sha256: str, size: str) -> PhotoFile:
    """Return where a photo is: the original, or a small copy without place or camera.

    Parameters
    ----------
    programme : Programme
        Whose photo.
    sha256 : str
        Hash of the original.
    size : str
        original, page (1600 pixels at most) or thumb (320).

    Raises
    ------
    NotFoundError
        Where the programme has no such photo.
    """
    check_choice(size, "size", ("original", *SIZES))
    if not isinstance(sha256, str) or not is_hash(sha256):
        raise NotFoundError("photo", sha256)
    with programme.read() as connection:
        photo = rows.photo_row(connection, sha256)
    path = photo_path(programme.photo_folder, sha256, photo.media_type, size)
    return PhotoFile(path, photo.media_type if size == "original" else "image/jpeg")


def add_measurement(
    programme: Programme,
    command: AddMeasurement,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> ColonyRecord:
    """Keep a size measured on a photo of a colony, and make it evidence if wanted.

    Raises
    ------
    InputError
        Where the size, its interval or the scale make no sense, with the first fault.
    NotFoundError
        Where the photo is not one of the colony.
    """
    row = _measurement_row(command)
    report = check_report(
        programme, command.character, SizeReport(float(command.value), command.n, "photo")
    )

    def change(unit: Unit, record: ColonyRecord) -> None:
        if command.photo not in {item.photo.sha256 for item in record.photos}:
            raise NotFoundError("photo", command.photo)
        id_ = add_row(unit.connection, unit.act, "measure", measurement, row)
        if command.into_evidence:
            subject = command.character
            write_colony_entry(unit, record.id, "report", subject, report, measurement=id_)

    return change_colony(programme, command.colony, (now, person), "add measurements", change)


def _measurement_row(command: AddMeasurement) -> dict[str, object]:
    """Check a measurement and return its row."""
    marks = json.dumps(command.marks, sort_keys=True, ensure_ascii=False, allow_nan=False)
    if len(marks) > _MOST_MARKS:
        found = f"{len(marks)} characters"
        raise _fault("marks", f"at most {_MOST_MARKS} characters", found)
    if isinstance(command.n, bool) or not isinstance(command.n, int):
        raise _fault("n", "a whole number", repr(command.n)[:40])
    value = check_share(command.value, "value", 0, 1e6)
    low, high = check_share(command.low, "low", 0, 1e6), check_share(command.high, "high", 0, 1e6)
    scale = check_share(command.mm_per_pixel, "mm_per_pixel", 1e-9, 1e6)
    relative = check_share(command.relative, "relative", 0, 0.5)
    if value is None or scale is None or relative is None:
        raise _fault("measurement", "value, mm_per_pixel and relative", "none")
    if (low is not None and low > value) or (high is not None and high < value):
        raise _fault("interval", "low, value and high in this order", f"{low}, {value}, {high}")
    return {
        "colony": command.colony, "photo": command.photo,
        "character": check_line(command.character, "character"), "value": value, "low": low,
        "high": high, "n": command.n, "by": check_choice(command.by, "by", ("hand", "program")),
        "mm_per_pixel": scale, "relative": relative, "marks": marks,
    }  # fmt: skip


def _fault(place: str, expected: str, found: str) -> InputError:
    """Build an error about one field."""
    return InputError([Fault(place, "", expected, found, "Measure again.")])


def photos_of_genus(programme: Programme, genus: str, most: int = 12) -> tuple[ColonyPhoto, ...]:
    """Return photos of colonies that were settled as a genus, or that a lead named so."""
    name = check_line(genus, "genus")
    with programme.read() as connection:
        return rows.photos_of(connection, name, min(max(most, 0), _MOST_PHOTOS))
