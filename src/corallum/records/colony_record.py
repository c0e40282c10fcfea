"""The record of one colony: evidence, photos, opinions, and who changed what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from corallum.records.colony import Report

__all__ = [
    "STATUSES",
    "ColonyParts",
    "ColonyPhoto",
    "ColonyRecord",
    "ColonyRow",
    "Determination",
    "Entry",
    "HistoryEntry",
    "Page",
    "PhotoMeasurement",
    "ReadingAnswer",
    "SecondReading",
    "StoredPhoto",
    "Voucher",
]

# What a list may be asked for; the second to the fifth are the model's.
STATUSES = (
    "not_determined", "settled", "open", "not_separable_in_water", "not_in_reference",
    "overridden",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class HistoryEntry:
    """One change: who, when, what; ``undoes`` names the entry that it takes back.

    ``hash`` covers the entry and the hash of the one before it.
    """

    id: int
    at: datetime
    person: str
    verb: str
    colony: str | None
    detail: Mapping[str, object]
    undoes: int | None
    hash: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One piece of what is said of a colony; None as report takes it back.

    ``kind`` is report (subject is a character or view), condition (subject is the
    condition; True or False), region, observer, name, note, site, event or seen_on.
    """

    history: int
    colony: str
    kind: str
    subject: str
    report: Report | str | bool | None
    person: str
    at: datetime
    measurement: int | None = None


@dataclass(frozen=True, slots=True)
class StoredPhoto:
    """An original that is kept under the hash of its bytes; pixels as seen upright."""

    sha256: str
    media_type: str
    width: int
    height: int
    bytes: int
    added_at: datetime


@dataclass(frozen=True, slots=True)
class ColonyPhoto:
    """A photo of a colony."""

    history: int
    colony: str
    photo: StoredPhoto
    caption: str
    person: str
    at: datetime


@dataclass(frozen=True, slots=True)
class PhotoMeasurement:
    """A size measured on a photo, in the unit of its character.

    ``by`` is hand or program; ``mm_per_pixel`` and its ``relative`` standard
    uncertainty are the scale; ``marks`` is what was drawn, as any JSON.
    """

    history: int
    colony: str
    photo: str
    character: str
    value: float
    low: float | None
    high: float | None
    n: int
    by: str
    mm_per_pixel: float
    relative: float
    marks: object
    person: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Determination:
    """A dated opinion on a colony, never overwritten.

    Parameters
    ----------
    kind : str
        model, override (by a lead, with a reason) or reading (by a second reader).
    person : str
        Who signs; for ``model``, who asked for it to be kept.
    status, genera, name, probability, rank, needs
        As in a verdict; None as probability where a person signs.
    reference_hash, reference_version, program, observer_errors : str
        What the model ran on.
    evidence_upto : int
        Newest history entry that was known.
    """

    history: int
    colony: str
    kind: str
    person: str
    at: datetime
    status: str
    genera: tuple[str | None, ...]
    name: str
    probability: float | None
    rank: str
    needs: str
    reason: str
    reference_hash: str
    reference_version: str
    program: str
    observer_errors: str
    evidence_upto: int


@dataclass(frozen=True, slots=True)
class ReadingAnswer:
    """What a second reader said; confidence 0 to 1."""

    history: int
    request: int
    person: str
    at: datetime
    genera: tuple[str, ...]
    confidence: float | None
    note: str


@dataclass(frozen=True, slots=True)
class SecondReading:
    """A second reading that was asked for, and its answer once there is one."""

    history: int
    colony: str
    asked_by: str
    at: datetime
    asked_of: str | None
    question: str
    answer: ReadingAnswer | None


@dataclass(frozen=True, slots=True)
class Voucher:
    """A sample for the collection, under a permit."""

    history: int
    colony: str
    permit: str
    label: str
    held_by: str
    note: str
    person: str
    at: datetime


@dataclass(frozen=True, slots=True)
class ColonyParts:
    """Everything that is kept of one colony, in the order in which it was written."""

    id: str
    number: int
    history: tuple[HistoryEntry, ...]
    entries: tuple[Entry, ...] = ()
    photos: tuple[ColonyPhoto, ...] = ()
    measurements: tuple[PhotoMeasurement, ...] = ()
    determinations: tuple[Determination, ...] = ()
    readings: tuple[SecondReading, ...] = ()
    answers: tuple[ReadingAnswer, ...] = ()
    vouchers: tuple[Voucher, ...] = ()


@dataclass(frozen=True, slots=True)
class ColonyRecord:
    """A colony as it stands, all that was undone left out.

    ``history`` and ``determinations`` hold everything ever written; ``in_effect``
    says which of it is not undone. ``current`` is the newest override in effect,
    else the newest determination by the model.
    """

    id: str
    number: int
    started_at: datetime
    started_by: str
    name: str
    notes: tuple[Entry, ...]
    site: str | None
    event: str | None
    seen_on: date
    region: str | None
    observer: str | None
    conditions: tuple[str, ...]
    reports: Mapping[str, Entry]
    photos: tuple[ColonyPhoto, ...]
    measurements: tuple[PhotoMeasurement, ...]
    determinations: tuple[Determination, ...]
    current: Determination | None
    readings: tuple[SecondReading, ...]
    vouchers: tuple[Voucher, ...]
    history: tuple[HistoryEntry, ...]
    in_effect: frozenset[int]
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class ColonyRow:
    """One line of a list of colonies."""

    id: str
    number: int
    name: str
    genus: str | None
    shown_name: str
    status: str
    needs: str
    probability: float | None
    kind: str
    site: str | None
    event: str | None
    region: str | None
    seen_on: date
    changed_at: datetime
    observer: str | None
    photo: str | None
    waits_reading: bool
    waits_voucher: bool
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """One page of a list, counted from 1."""

    rows: tuple[ColonyRow, ...]
    total: int
    page: int
    pages: int
