"""Read a survey archive: every fault by file and row, or the survey as it was written.

Only archives of the shape in which surveys are written here can be read: others lack what a
slate needs, and are refused with a line that says so.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from corallum.exchange.archive.open import OTHER_VERSION, Archive, open_archive
from corallum.exchange.archive.pack import HASHES
from corallum.exchange.archive.terms import EVENT, EXTENDED_MEASUREMENT, OCCURRENCE
from corallum.exchange.sheet import shown
from corallum.exchange.survey_archive.read_lines import LineReader, texts_fit
from corallum.exchange.survey_archive.read_plan import (
    NOT_AS_WRITTEN,
    draw_of_properties,
    effort_of_properties,
    one_line,
    plan_of_properties,
)
from corallum.exchange.survey_archive.shape import EVENT_TYPES, MARK, MEMBERS
from corallum.records.survey import Effort, Line, Method, SurveyPlan

__all__ = [
    "ArchivedAnswer",
    "ArchivedDraw",
    "ArchivedEvent",
    "ArchivedReading",
    "ArchivedSite",
    "ArchivedSlate",
    "ArchivedSurvey",
    "read_survey_archive",
]

_FILE = MEMBERS[0].file
_NEEDED = {
    EVENT: ("eventID", "parentEventID", "eventType", "eventDate", "dynamicProperties"),
    OCCURRENCE: (
        "eventID", "occurrenceID", "occurrenceStatus", "scientificName", "taxonRank",
        "verbatimIdentification", "identificationQualifier",
    ),
    EXTENDED_MEASUREMENT: (
        "eventID", "measurementID", "measurementType", "measurementValue",
    ),
}  # fmt: skip
# Longest texts; the properties are checked by themselves.
_MOST = {"fieldNumber": 120, "locality": 120, "dynamicProperties": 1 << 20}
_KIND_OF = {words: kind for kind, words in EVENT_TYPES.items()}
_REMEDY = "Mend it, or export it again."


@dataclass(frozen=True, slots=True)
class ArchivedSite:
    """A site, by its id where it was exported."""

    id: str
    name: str
    region: str
    latitude: float | None
    longitude: float | None
    note: str


@dataclass(frozen=True, slots=True)
class ArchivedEvent:
    """A visit or a transect."""

    id: str
    parent: str
    name: str
    site: str
    date: dt.date | None
    note: str


@dataclass(frozen=True, slots=True)
class ArchivedSlate:
    """A slate; ``observer`` is a name, ``row`` where its event stands."""

    id: str
    transect: str
    method: Method
    observer: str
    date: dt.date
    depth_m: float | None
    effort: Effort
    source: str
    note: str
    row: int
    lines: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True)
class ArchivedDraw:
    """Records drawn to be read again; ``records`` are slates' ids and lines."""

    share: float
    asked_of: str | None
    strata: Mapping[str, tuple[int, int]]
    records: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class ArchivedReading:
    """A second reading; ``person`` is a name."""

    slate: str
    line: int
    said: str
    label: str
    kind: str
    note: str
    person: str


@dataclass(frozen=True, slots=True)
class ArchivedAnswer:
    """A decision on a flag; ``person`` is a name."""

    slate: str
    line: int | None
    rule: str
    decision: str
    note: str
    person: str


@dataclass(slots=True)
class ArchivedSurvey:
    """A survey out of an archive.

    ``plan`` names sites by their ids in the archive, and people by their names; ``altered``
    are the files that are not as they were written.
    """

    id: str = ""
    name: str = ""
    date: dt.date | None = None
    note: str = ""
    plan: SurveyPlan | None = None
    sites: dict[str, ArchivedSite] = field(default_factory=dict)
    visits: dict[str, ArchivedEvent] = field(default_factory=dict)
    transects: dict[str, ArchivedEvent] = field(default_factory=dict)
    slates: dict[str, ArchivedSlate] = field(default_factory=dict)
    draws: tuple[ArchivedDraw, ...] = ()
    readings: tuple[ArchivedReading, ...] = ()
    answers: tuple[ArchivedAnswer, ...] = ()
    altered: tuple[str, ...] = ()


def read_survey_archive(path: Path) -> ArchivedSurvey:
    """Read a survey archive.

    Raises
    ------
    InputError
        With every fault of it at once.
    """
    with open_archive(path, EVENT, _NEEDED) as archive:
        archive.unpacked.check_whole()
        events = _EventReader(archive)
        found = events.read()
        archive.check()
        lines = LineReader(archive, frozenset(found.slates), events.frames)
        lines.read()
        for id_, slate in found.slates.items():
            one = lines.lines_of(id_, slate.row, _FILE)
            found.slates[id_] = replace(slate, lines=one)
        found.draws = tuple(
            ArchivedDraw(one["share"], one["asked_of"], one["strata"],
                         lines.drawn_of(str(one["id"])))
            for one in events.draws
        )  # fmt: skip
        found.readings = tuple(ArchivedReading(*one) for one in lines.readings())
        found.answers = tuple(ArchivedAnswer(*one) for one in lines.answers())
        archive.check()
        found.altered = archive.unpacked.altered(HASHES)
    return found


class _EventReader:
    """Reads the core: the survey and all events within it."""

    def __init__(self, archive: Archive) -> None:
        self.archive = archive
        self.found = ArchivedSurvey()
        self.frames: dict[str, tuple[str, int]] = {}
        self.draws: list[dict[str, Any]] = []
        self.kinds: dict[str, str] = {}
        self.rows: dict[str, int] = {}
        self.parents: list[tuple[str, str]] = []

    def fault(self, row: int, column: str, expected: str, found: str) -> None:
        """Note a fault of a cell."""
        self.archive.fault(_FILE, f"row {row}, {column}", expected, found, _REMEDY)

    def read(self) -> ArchivedSurvey:
        """Read all rows."""
        readers = {
            "survey": self._survey, "visit": self._visit, "transect": self._transect,
            "slate": self._slate, "quadrat": self._frame, "frame": self._frame,
        }  # fmt: skip
        for number, row in self.archive.rows(EVENT):
            id_, kind = row["eventID"], _KIND_OF.get(row["eventType"], "")
            if not id_ or id_ in self.kinds:
                told = "a blank cell" if not id_ else f"{shown(id_)} again"
                self.fault(number, "eventID", "an id of its own", told)
                continue
            self.kinds[id_], self.rows[id_] = kind, number
            if not kind:
                expected = f"one of {', '.join(EVENT_TYPES.values())}"
                self.fault(number, "eventType", expected, shown(row["eventType"]))
                continue
            if not texts_fit(self.archive, _FILE, number, row, _MOST):
                self.kinds[id_] = ""
                continue
            self._pairs(number, row)
            readers[kind](number, row)
        self._check_parents()
        return self.found

    def _pairs(self, number: int, row: Mapping[str, str]) -> None:
        """Note a size without its unit, and depths the wrong way round."""
        size, unit = row.get("sampleSizeValue", ""), row.get("sampleSizeUnit", "")
        if bool(size) != bool(unit):
            self.fault(number, "sampleSizeUnit", "size and unit, or neither", "one alone")
        low = self._number(number, row, "minimumDepthInMeters")
        high = self._number(number, row, "maximumDepthInMeters")
        if low is not None and high is not None and low > high:
            told = f"{low:g} to {high:g}"
            self.fault(number, "maximumDepthInMeters", "at least the smallest depth", told)

    def _check_parents(self) -> None:
        """Note events that are a part of nothing, or of the wrong kind of event."""
        wanted = {"visit": "survey", "transect": "visit", "slate": "transect",
                  "quadrat": "slate", "frame": "slate"}  # fmt: skip
        for id_, parent in self.parents:
            needed = wanted[self.kinds[id_]]
            if self.kinds.get(parent) not in {needed, ""}:
                expected = f"the id of a {EVENT_TYPES[needed]}"
                self.fault(self.rows[id_], "parentEventID", expected, shown(parent))
        if not self.found.id:
            expected = "one row of the type Survey"
            self.archive.fault(_FILE, "", expected, "none", "Choose another archive.")
        if self.found.id and self.found.plan is None and not self.archive.faults:
            self.archive.fault(_FILE, "", "a plan", "none", _REMEDY)

    def _properties(self, number: int, row: Mapping[str, str]) -> dict[str, Any]:
        """Return the properties of an event."""
        try:
            found = json.loads(row["dynamicProperties"])
        except (ValueError, RecursionError):
            found = None
        if not isinstance(found, dict):
            told = shown(row["dynamicProperties"])
            self.fault(number, "dynamicProperties", "an object of JSON", told)
            return {}
        return found

    def _survey(self, number: int, row: Mapping[str, str]) -> None:
        """Read the survey and its plan."""
        about = self._properties(number, row)
        if about.get("archive") != MARK or self.found.id:
            expected = f"one survey, with the mark {MARK!r}"
            mark = about.get("archive")
            told = "another survey" if self.found.id else "none" if mark is None else shown(mark)
            remedy = "Only surveys as corallum writes them can be read back."
            if isinstance(mark, str) and mark != MARK:
                remedy = OTHER_VERSION if mark.startswith(MARK[:-1]) else remedy
            self.archive.fault(_FILE, f"row {number}", expected, told, remedy)
            return
        found = self.found
        found.id, found.name = row["eventID"], row.get("fieldNumber", "")
        found.note = row.get("eventRemarks", "")
        try:
            plan = dict(about["plan"])
            found.date = _day(plan.pop("date"))
            found.plan = plan_of_properties(found.id, plan)
            self.draws = [draw_of_properties(one) for one in about.get("draws", [])]
        except NOT_AS_WRITTEN as error:
            told = shown(str(error) or type(error).__name__)
            self.fault(number, "dynamicProperties", "a plan as it was written", told)

    def _visit(self, number: int, row: Mapping[str, str]) -> None:
        """Read a visit, and the site that it is of."""
        about = self._properties(number, row)
        site = row.get("locationID", "")
        if not site or not row.get("locality", ""):
            self.fault(number, "locationID", "id and name of a site", "a blank cell")
        note = row.get("locationRemarks", "")
        if within := self._number(number, row, "coordinateUncertaintyInMeters"):
            # A rounded position must not pass for an exact one where it comes to.
            note = f"{note}\nPosition rounded before it came here: within {within:g} m.".strip()
        self.found.sites[site] = ArchivedSite(
            site, row.get("locality", ""), str(about.get("region", "")),
            self._number(number, row, "decimalLatitude"),
            self._number(number, row, "decimalLongitude"), note,
        )  # fmt: skip
        self.found.visits[row["eventID"]] = self._event(number, row)

    def _transect(self, number: int, row: Mapping[str, str]) -> None:
        """Read a transect."""
        self.found.transects[row["eventID"]] = self._event(number, row)

    def _event(self, number: int, row: Mapping[str, str]) -> ArchivedEvent:
        """Read what visits and transects share."""
        self.parents.append((row["eventID"], row["parentEventID"]))
        if not row.get("fieldNumber", "").strip():
            self.fault(number, "fieldNumber", "a name", "a blank cell")
        return ArchivedEvent(
            row["eventID"], row["parentEventID"], row.get("fieldNumber", ""),
            row.get("locationID", ""), self._date(number, row), row.get("eventRemarks", ""),
        )  # fmt: skip

    def _slate(self, number: int, row: Mapping[str, str]) -> None:
        """Read a slate, without its lines."""
        self.parents.append((row["eventID"], row["parentEventID"]))
        about = self._properties(number, row)
        day = self._date(number, row)
        try:
            method, effort = Method(about["method"]), effort_of_properties(about["effort"])
            observer, source = one_line(about["observer"]), one_line(about["source"], 200)
        except NOT_AS_WRITTEN as error:
            told = shown(str(error) or type(error).__name__)
            expected = "method, effort, observer and source"
            self.fault(number, "dynamicProperties", expected, told)
            return
        if day is None:
            self.fault(number, "eventDate", "a day such as 2026-03-14", "a blank cell")
            return
        depth = self._number(number, row, "minimumDepthInMeters")
        self.found.slates[row["eventID"]] = ArchivedSlate(
            row["eventID"], row["parentEventID"], method, observer, day, depth, effort, source,
            row.get("eventRemarks", ""), number,
        )  # fmt: skip

    def _frame(self, number: int, row: Mapping[str, str]) -> None:
        """Read a photo or a quadrat: only its number counts."""
        self.parents.append((row["eventID"], row["parentEventID"]))
        text = row.get("fieldNumber", "")
        if not (text.isascii() and text.isdigit() and len(text) < 7):
            self.fault(number, "fieldNumber", "the number of the photo or quadrat", shown(text))
            return
        self.frames[row["eventID"]] = row["parentEventID"], int(text)

    def _number(self, number: int, row: Mapping[str, str], name: str) -> float | None:
        """Read a number, None where the cell is blank."""
        text = row.get(name, "")
        if not text:
            return None
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if abs(value) < 1e9:
            return value
        self.fault(number, name, "a number", shown(text))
        return None

    def _date(self, number: int, row: Mapping[str, str]) -> dt.date | None:
        """Read a day, the first of several; None where the cell is blank."""
        try:
            return _day(row["eventDate"].partition("/")[0] or None)
        except ValueError:
            self.fault(number, "eventDate", "a day such as 2026-03-14", shown(row["eventDate"]))
            return None


def _day(text: str | None) -> dt.date | None:
    """Read a day."""
    return None if text is None else dt.date.fromisoformat(text)
