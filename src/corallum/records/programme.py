"""A programme, its people and its places."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

__all__ = ["EVENT_KINDS", "Device", "Event", "Person", "ProgrammeSettings", "Role", "Site"]

# From the widest to the narrowest; the last two stand beside each other.
EVENT_KINDS = ("survey", "visit", "transect", "quadrat", "frame")


class Role(StrEnum):
    """What a person may do: a reader reads, an observer adds, a lead decides."""

    READER = "reader"
    OBSERVER = "observer"
    LEAD = "lead"

    def covers(self, needed: Role) -> bool:
        """Whether this role may do what ``needed`` may."""
        order = list(Role)
        return order.index(self) >= order.index(needed)


@dataclass(frozen=True, slots=True)
class ProgrammeSettings:
    """What ``programme.toml`` says.

    Parameters
    ----------
    name : str
        Of the programme.
    regions : tuple of str
        Region ids in which it works.
    thresholds : mapping of str to float
        Settings of the reference that this programme sets otherwise (0 to 1).
    database : str or None
        Address of a shared database; None is the file in the folder.
    """

    name: str
    regions: tuple[str, ...]
    thresholds: Mapping[str, float] = field(default_factory=dict)
    database: str | None = None


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who reads, adds or decides.

    ``errors`` is whose errors to assume for what they report: unknown, trained or new.
    """

    id: str
    name: str
    role: Role
    errors: str
    active: bool
    added_at: datetime


@dataclass(frozen=True, slots=True)
class Device:
    """A device that acts for one person until it is revoked."""

    id: str
    person: str
    name: str
    paired_at: datetime
    revoked: bool


@dataclass(frozen=True, slots=True)
class Site:
    """A place that is visited; degrees north and east."""

    id: str
    name: str
    region: str
    latitude: float | None
    longitude: float | None
    note: str


@dataclass(frozen=True, slots=True)
class Event:
    """A survey, a visit to a site, a transect, or a quadrat or frame on one."""

    id: str
    kind: str
    parent: str | None
    site: str | None
    name: str
    date: date | None
    note: str
