"""Second readings of a survey's own records: a blind random share, and what it says.

Drawn apart for each said name, so that rare names are read again too. The second reader
sees the photo or the place, never what was said first.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from corallum.actions.programme_reference import programme_library
from corallum.actions.unit_of_work import (
    Unit,
    check_id,
    check_line,
    check_notes,
    check_number,
    check_share,
    unit_of_work,
)
from corallum.errors import ConflictError
from corallum.estimate.second_readings import share_out_readings
from corallum.exchange.slate_text import find_name
from corallum.records.programme import Event, Role
from corallum.records.survey import Line, ReadingDraw, RecordReading, Slate
from corallum.reference.said import SaidResolver
from corallum.store import people as store
from corallum.store import schema, surveys
from corallum.store.history import add_row
from corallum.store.programme import Programme

__all__ = [
    "DrawReadings",
    "PhotoPoint",
    "ReadRecord",
    "ReadingState",
    "WaitingRecord",
    "draw_readings",
    "read_record",
    "reading_state",
    "waiting_records",
]

_LEAST = 10


@dataclass(frozen=True, slots=True)
class DrawReadings:
    """Draw records of a survey to be read again.

    Parameters
    ----------
    survey : str
        Id of the event.
    share : float or None
        Of all records; None is as planned.
    least : int
        Of each said name, or all its records where there are fewer.
    asked_of : str or None
        Who shall read; None is anybody but the observer.
    """

    survey: str
    share: float | None = None
    least: int = _LEAST
    asked_of: str | None = None


@dataclass(frozen=True, slots=True)
class ReadRecord:
    """What a second reader says of one line of a slate."""

    slate: int
    line: int
    said: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class PhotoPoint:
    """Where to look: a photo and a place on it, shares of its width and height."""

    photo: str
    x: float | None
    y: float | None


@dataclass(frozen=True, slots=True)
class WaitingRecord:
    """A record that waits, without what was said of it.

    ``where`` says in words which line of which transect it is.
    """

    slate: int
    line: int
    transect: Event
    where: str
    point: PhotoPoint | None


@dataclass(frozen=True, slots=True)
class ReadingState:
    """How far the second readings of a survey are.

    Parameters
    ----------
    draws : tuple of ReadingDraw
        In the order made.
    readings : mapping of (int, int) to RecordReading
        The newest of each record, among those drawn.
    lines : mapping of (int, int) to Line
        What was said first of each record that was drawn.
    """

    draws: tuple[ReadingDraw, ...]
    readings: Mapping[tuple[int, int], RecordReading]
    lines: Mapping[tuple[int, int], Line]

    @property
    def waiting(self) -> tuple[tuple[int, int], ...]:
        """Records drawn and not read yet, in the order drawn."""
        return tuple(record for record in self.lines if record not in self.readings)

    @property
    def pairs(self) -> tuple[tuple[Line, RecordReading], ...]:
        """What was said first and second, of each record that was read again."""
        return tuple((self.lines[record], one) for record, one in self.readings.items())


def draw_readings(
    programme: Programme,
    command: DrawReadings,
    now: dt.datetime,
    rng: np.random.Generator,
    person: str,
) -> ReadingDraw:
    """Draw a random share of the records that were not drawn before.

    Raises
    ------
    ConflictError
        Where nothing is left to draw, or the reader is the only observer.
    """
    survey = check_id(command.survey, "survey")
    share = check_share(command.share, "share read again")
    with unit_of_work(programme, person, now, Role.LEAD, "draw second readings") as unit:
        connection = unit.connection
        plan = surveys.plan_of(connection, survey)
        share = plan.second_share if share is None else share
        if command.asked_of is not None:
            store.person_of(connection, check_id(command.asked_of, "person"))
        before: set[tuple[int, int | None]] = {
            record for draw in surveys.draws_of(connection, survey) for record in draw.records
        }
        gone = before | surveys.left_out_of(connection, survey)
        by_name = _by_name(surveys.slates_of(connection, survey), gone, command.asked_of)
        picked, strata = _pick(by_name, share, command.least, rng)
        if not picked:
            raise ConflictError("no record is left to be read again. Look at the readings.")
        row = {"survey": survey, "share": share, "asked_of": command.asked_of,
               "records": json.dumps(picked), "strata": json.dumps(strata)}  # fmt: skip
        add_row(connection, unit.act, "draw readings", schema.reading_draw, row)
        return surveys.draws_of(connection, survey)[-1]


def _by_name(
    slates: Sequence[Slate], gone: set[tuple[int, int | None]], reader: str | None
) -> dict[str, list[tuple[int, int]]]:
    """Records that may be drawn, by what was said; those drawn or left out are gone."""
    found: dict[str, list[tuple[int, int]]] = {}
    for slate in slates:
        if slate.observer == reader or (slate.history, None) in gone:
            continue
        for number, line in enumerate(slate.lines, start=1):
            if (slate.history, number) not in gone and line.kind != "unreadable":
                found.setdefault(line.label, []).append((slate.history, number))
    return found


def _pick(
    by_name: Mapping[str, list[tuple[int, int]]],
    share: float,
    least: int,
    rng: np.random.Generator,
) -> tuple[list[tuple[int, int]], dict[str, tuple[int, int]]]:
    """Draw records of each name at random; return them shuffled, and how many of how many."""
    names = sorted(by_name)
    sizes = [len(by_name[name]) for name in names]
    if not sizes:
        return [], {}
    wanted = share_out_readings(sizes, share * sum(sizes), least)
    picked: list[tuple[int, int]] = []
    for name, n in zip(names, wanted.tolist(), strict=True):
        order = rng.permutation(len(by_name[name]))[:n]
        picked += [by_name[name][i] for i in order.tolist()]
    rng.shuffle(picked)
    strata = {name: (size, int(n)) for name, size, n in zip(names, sizes, wanted, strict=True)}
    return picked, strata


def reading_state(programme: Programme, survey: str) -> ReadingState:
    """Return the draws of a survey, and what was read again of records that stand."""
    check_id(survey, "survey")
    with programme.read() as connection:
        surveys.plan_of(connection, survey)
        draws = surveys.draws_of(connection, survey)
        readings = surveys.readings_of(connection, survey)
        slates = {slate.history: slate for slate in surveys.slates_of(connection, survey)}
        out = surveys.left_out_of(connection, survey)
    lines = {
        (number, line): slates[number].lines[line - 1]
        for draw in draws
        for number, line in draw.records
        if number in slates and not {(number, line), (number, None)} & out
    }
    newest = {(one.slate, one.line): one for one in readings}
    return ReadingState(draws, {key: newest[key] for key in lines if key in newest}, lines)


def waiting_records(
    programme: Programme, survey: str, person: str, most: int = 50
) -> tuple[WaitingRecord, ...]:
    """Return records that a person may read again, without what was said of them."""
    state = reading_state(programme, survey)
    asked = {
        record: draw.asked_of for draw in state.draws for record in draw.records
    }  # fmt: skip
    found: list[WaitingRecord] = []
    with programme.read() as connection:
        sites = {one.id: one.name for one in store.all_sites(connection)}
        slates = {slate.history: slate for slate in surveys.slates_of(connection, survey)}
        for number, line in state.waiting:
            slate = slates[number]
            if asked[number, line] not in (None, person) or slate.observer == person:
                continue
            transect = store.event_of(connection, slate.transect)
            found.append(_waiting(slate, line, transect, sites))
            if len(found) == most:
                break
    return tuple(found)


def _waiting(slate: Slate, number: int, transect: Event, sites: Mapping[str, str]) -> WaitingRecord:
    """Say where a record is, not what was said of it."""
    line = slate.lines[number - 1]
    parts = [sites.get(transect.site or "", ""), f"transect {transect.name}"]
    if line.from_cm is not None and line.to_cm is not None:
        parts.append(f"tape {line.from_cm:g} to {line.to_cm:g} cm")
    if line.frame is not None:
        parts.append(f"frame {line.frame}")
    if line.point is not None:
        parts.append(f"point {line.point}")
    if line.diameter_cm is not None:
        parts.append(f"colony of {line.diameter_cm:g} cm")
    if line.colony:
        parts.append(f"marked {line.colony}")
    if len(parts) == 2:
        parts.append(f"line {number} of the slate")
    point = None if line.photo is None else PhotoPoint(line.photo, line.x, line.y)
    return WaitingRecord(slate.history, number, transect, ", ".join(filter(None, parts)), point)


def read_record(
    programme: Programme,
    command: ReadRecord,
    now: dt.datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> RecordReading:
    """Write what a second reader says of one record.

    Raises
    ------
    ConflictError
        Where the record was not drawn, was read already, was asked of somebody else, or who
        reads saw it first.
    """
    number = check_number(command.slate, "slate")
    written = check_line(command.said, "name")
    note = check_notes(command.note, "note", empty=True)
    resolver = SaidResolver(programme_library(programme).reference, programme.settings.regions)
    name = find_name(resolver, written)
    said = resolver.resolve(name)
    with unit_of_work(programme, person, now, Role.OBSERVER, "read records again") as unit:
        slate = surveys.slate_of(unit.connection, number)
        survey = surveys.survey_of_transect(unit.connection, slate.transect)
        _check_record(unit, slate, survey, command.line)
        row = {"slate": number, "line": command.line, "said": name, "label": said.label,
               "kind": said.kind, "note": note}  # fmt: skip
        add_row(unit.connection, unit.act, "read record", schema.record_reading, row)
        return surveys.readings_of_slate(unit.connection, number)[-1]


def _check_record(unit: Unit, slate: Slate, survey: str, line: int) -> None:
    """Refuse what would be no second reading of a drawn record."""
    connection, record = unit.connection, (slate.history, line)
    drawn = [draw for draw in surveys.draws_of(connection, survey) if record in draw.records]
    if not drawn or surveys.is_replaced(connection, slate.history):
        raise ConflictError("this record was not drawn for a second reading. Look again.")
    if any(one.line == line for one in surveys.readings_of_slate(connection, slate.history)):
        raise ConflictError("this record was read again already. Take the next.")
    if slate.observer == unit.person.id:
        raise ConflictError("a second reading is somebody else's. Leave it to them.")
    if drawn[0].asked_of not in (None, unit.person.id):
        raise ConflictError("this second reading was asked of somebody else. Leave it to them.")
