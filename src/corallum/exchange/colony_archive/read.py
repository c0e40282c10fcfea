"""Colonies out of an archive that anybody brings: all of them, or every fault at once.

Each colony's own history is what is taken in. The tables beside it say the same in the terms
of the standard; where they do not, somebody edited one of them, and neither is believed.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from corallum.exchange.archive.open import OTHER_VERSION, Archive, open_archive
from corallum.exchange.archive.terms import EXTENDED_MEASUREMENT, IDENTIFICATION, OCCURRENCE
from corallum.exchange.archive.unpack import Unpacked
from corallum.exchange.colony_archive.log import LogEntry, read_log
from corallum.exchange.colony_archive.shape import MARK
from corallum.records.programme import EVENT_KINDS, Event, Site
from corallum.reference.genera import REGIONS

__all__ = ["ArchivedColonies", "ArchivedColony", "open_colonies"]

_ID = re.compile(r"[0-9a-z]{12}")
_REMEDY = "Export the archive again."
_MOST_NOTE = 4000
_MOST_NAME = 120
_NEEDED = {
    OCCURRENCE: ("occurrenceID", "dynamicProperties"),
    IDENTIFICATION: ("identificationID", "verbatimIdentification", "identifiedBy",
                     "dateIdentified"),
    EXTENDED_MEASUREMENT: ("measurementID", "measurementValue"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ArchivedColony:
    """One colony as the archive tells it.

    Parameters
    ----------
    id, number : str and int
        As where it was written.
    place : str
        Where it stands in the archive.
    programme : str
        Name of the programme that wrote it.
    log : tuple of LogEntry
        All that was ever written of it.
    opinions : mapping of str to tuple of str
        Words, whose and when of each identification, by its id.
    looks : mapping of str to str
        Value of each look, by its id.
    """

    id: str
    number: int
    place: str
    programme: str
    log: tuple[LogEntry, ...]
    opinions: Mapping[str, tuple[str, str, str]]
    looks: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class ArchivedColonies:
    """What an open archive holds.

    Parameters
    ----------
    colonies : tuple of ArchivedColony
        In their order.
    sites : mapping of str to Site
        By name, with the ids they have there.
    events : mapping of str to (Event, str)
        By id, the widest first, with the name of the site.
    photos : mapping of str to str
        Name of the file of each original that is packed, by the hash in its name.
    unpacked : Unpacked
        To read photos from.
    """

    colonies: tuple[ArchivedColony, ...]
    sites: Mapping[str, Site]
    events: Mapping[str, tuple[Event, str]]
    photos: Mapping[str, str]
    unpacked: Unpacked


@contextmanager
def open_colonies(path: Path) -> Iterator[ArchivedColonies]:
    """Open an archive of colonies for as long as it is needed.

    Raises
    ------
    InputError
        With everything that is wrong with it.
    """
    with open_archive(path, OCCURRENCE, _NEEDED) as archive:
        reader = _Reader(archive)
        colonies = reader.colonies()
        archive.check()
        yield ArchivedColonies(
            colonies, reader.sites, reader.events, _packed(archive.unpacked), archive.unpacked
        )


def _printable(value: object) -> str:
    """Return a name as it may be shown."""
    text = value if isinstance(value, str) else ""
    return "".join(sign for sign in text[:_MOST_NAME] if sign.isprintable())


def _packed(unpacked: Unpacked) -> dict[str, str]:
    """Return the photos of an archive by the hash in their names."""
    found = {}
    for name in sorted(unpacked.names):
        match = re.fullmatch(r"photos/([0-9a-f]{64})\.[a-z]{3,4}", name)
        if match is not None:
            found[match[1]] = name
    return found


class _Reader:
    """Reads the tables of one archive."""

    def __init__(self, archive: Archive) -> None:
        self.archive = archive
        self.other_version = False
        self.sites: dict[str, Site] = {}
        self.events: dict[str, tuple[Event, str]] = {}
        self.file = self._file(OCCURRENCE)

    def _file(self, row_type: str) -> str:
        """Return the name of the file of a table."""
        shape = self.archive.shape(row_type)
        return shape.file if shape is not None else row_type

    def colonies(self) -> tuple[ArchivedColony, ...]:
        """Read all colonies."""
        opinions = self._opinions()
        looks = self._looks()
        found: dict[str, ArchivedColony] = {}
        for number, row in self.archive.rows(OCCURRENCE):
            place = f"row {number}"
            id_ = row.get("occurrenceID") or row["id"]
            if not _ID.fullmatch(id_) or id_ in found:
                what = "its id twice" if id_ in found else repr(id_)[:40]
                self.archive.fault(self.file, place, "12 digits and letters, once", what, _REMEDY)
                continue
            about = self._about(row.get("dynamicProperties", ""), place)
            if self.other_version:
                break
            if about is None:
                continue
            log = read_log(about.get("log"), f"{self.file}, {place}", self.archive.faults)
            self._sites(about.get("sites"), place)
            self._events(about.get("events"), place)
            number_, name = about.get("number"), _printable(about.get("programme"))
            found[id_] = ArchivedColony(
                id_, number_ if isinstance(number_, int) else 0, place, name, log,
                opinions.pop(id_, {}), looks.pop(id_, {}),
            )  # fmt: skip
        for rest, row_type in ((opinions, IDENTIFICATION), (looks, EXTENDED_MEASUREMENT)):
            # Where rows of the core could not be read, theirs are no more than missing there.
            for id_ in rest if not self.archive.faults else ():
                what = repr(id_)[:40]
                self.archive.fault(self._file(row_type), "", "colonies of the core", what, _REMEDY)
        if not found and not self.archive.faults:
            self.archive.fault(self.file, "", "colonies", "none", _REMEDY)
        return tuple(found.values())

    def _about(self, text: str, place: str) -> dict[str, Any] | None:
        """Read the properties of a colony."""
        try:
            found = json.loads(text)
        except (ValueError, RecursionError):
            found = None
        if isinstance(found, dict) and found.get("archive") == MARK:
            return found
        remedy = "Only archives that corallum export darwin-core wrote of colonies can be taken in."
        mark = found.get("archive") if isinstance(found, dict) else None
        if isinstance(mark, str) and mark.startswith(MARK.rstrip("0123456789")):
            # All rows bear the same mark: one line says it.
            self.other_version = True
            remedy = OTHER_VERSION
            text = mark
        place = f"{place}, dynamicProperties"
        self.archive.fault(self.file, place, f"JSON marked {MARK!r}", repr(text)[:40], remedy)
        return None

    def _opinions(self) -> dict[str, dict[str, tuple[str, str, str]]]:
        """Read the identifications by colony and id."""
        found: dict[str, dict[str, tuple[str, str, str]]] = {}
        for _, row in self.archive.rows(IDENTIFICATION):
            said = (row["verbatimIdentification"], row["identifiedBy"], row["dateIdentified"])
            found.setdefault(row["id"], {})[row["identificationID"]] = said
        return found

    def _looks(self) -> dict[str, dict[str, str]]:
        """Read the looks by colony and id."""
        found: dict[str, dict[str, str]] = {}
        for _, row in self.archive.rows(EXTENDED_MEASUREMENT):
            of = found.setdefault(row["id"], {})
            if re.fullmatch(r".*:[rc]\d+", row["measurementID"]):
                of[row["measurementID"]] = row["measurementValue"]
        return found

    def _sites(self, value: object, place: str) -> None:
        """Read the sites that a colony's history names."""
        for item in value if isinstance(value, list) else ():
            site = _site(item)
            if site is None:
                self.archive.fault(self.file, place, "a site", repr(item)[:40], _REMEDY)
            else:
                self.sites.setdefault(site.name, site)

    def _events(self, value: object, place: str) -> None:
        """Read the events that a colony was seen in, the widest first."""
        for item in value if isinstance(value, list) else ():
            event = _event(item)
            known = event is not None and (
                event[0].parent is None or event[0].parent in self.events
            )
            if event is None or not known:
                self.archive.fault(self.file, place, "an event", repr(item)[:40], _REMEDY)
            else:
                self.events.setdefault(event[0].id, event)


def _site(item: object) -> Site | None:
    """Read a site, or None where it is none."""
    if not isinstance(item, dict):
        return None
    name, region, note = item.get("name"), item.get("region"), item.get("note", "")
    north, east = item.get("latitude"), item.get("longitude")
    id_ = item.get("id")
    good = (
        isinstance(id_, str) and _ID.fullmatch(id_) and isinstance(name, str)
        and 0 < len(name) <= 120 and name.isprintable() and region in REGIONS
        and _is_note(note)
        and _are_degrees(north, 90) and _are_degrees(east, 180)
    )  # fmt: skip
    if not good:
        return None
    at = [None if one is None else float(one) for one in (north, east)]
    return Site(str(id_), str(name), str(region), at[0], at[1], str(note))


def _are_degrees(value: object, most: float) -> bool:
    """Whether a value is None, or degrees."""
    if value is None:
        return True
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= most


def _event(item: object) -> tuple[Event, str] | None:
    """Read an event and the name of its site, or None where it is none."""
    if not isinstance(item, dict):
        return None
    id_, kind, parent = item.get("id"), item.get("kind"), item.get("parent")
    name, note, site, day = (item.get(key) for key in ("name", "note", "site", "date"))
    good = (
        isinstance(id_, str) and _ID.fullmatch(id_) and kind in EVENT_KINDS
        and (parent is None or (isinstance(parent, str) and parent != id_))
        and isinstance(name, str) and 0 < len(name) <= 120 and name.isprintable()
        and _is_note(note)
        and (site is None or isinstance(site, str)) and (day is None or _is_day(day))
    )  # fmt: skip
    if not good:
        return None
    date = None if day is None else dt.date.fromisoformat(str(day))
    return Event(str(id_), str(kind), parent, None, str(name), date, str(note)), str(site or "")


def _is_note(value: object) -> bool:
    """Whether a value is a text of several lines."""
    if not isinstance(value, str) or len(value) > _MOST_NOTE:
        return False
    return all(sign.isprintable() or sign in "\n\t" for sign in value)


def _is_day(value: object) -> bool:
    """Whether a value is a day."""
    try:
        return isinstance(value, str) and bool(dt.date.fromisoformat(value))
    except ValueError:
        return False
