"""Write what was read on a transect: a new slate, or one that mends another."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, fields, replace

import numpy as np

from corallum.actions.programme_reference import programme_library
from corallum.actions.survey_plans import check_effort
from corallum.actions.unit_of_work import (
    Unit,
    check_id,
    check_line,
    check_notes,
    check_number,
    unit_of_work,
)
from corallum.errors import ConflictError, Fault, InputError
from corallum.exchange.slate_text import read_slate_text
from corallum.records.programme import Role
from corallum.records.survey import Effort, Line, Method, Slate
from corallum.reference.said import SaidResolver
from corallum.store import people as store
from corallum.store import surveys
from corallum.store.programme import Programme

__all__ = [
    "WriteSlate",
    "get_slate",
    "read_lines",
    "resolver_of",
    "slate_faults",
    "write_slate",
    "write_slate_in",
]

_EARLIEST = dt.date(1950, 1, 1)
_MOST_DEPTH_M = 1000.0
_AS_PLANNED = Effort()
# Where nothing met is a result; a tape or a point always meets something.
_MAY_BE_EMPTY = (Method.BELT, Method.QUADRAT, Method.QUADRAT_COVER)


@dataclass(frozen=True, slots=True)
class WriteSlate:
    """What an observer read on a transect.

    Parameters
    ----------
    transect : str
        Id of the event.
    lines : tuple of Line, or str
        Records, or the text that was typed (``exchange.slate_text``).
    observer : str or None
        Who read it; None is who read the slate that it mends, or who writes.
    date : date or None
        Of the dive; None is the transect's, or today.
    depth_m : float or None
        Of the transect.
    effort : Effort
        Where it differs from the plan; what is None is as planned.
    replaces : int or None
        Slate that this one mends.
    source, note : str
        Where it came from, and anything else.
    """

    transect: str
    lines: tuple[Line, ...] | str
    observer: str | None = None
    date: dt.date | None = None
    depth_m: float | None = None
    effort: Effort = _AS_PLANNED
    replaces: int | None = None
    source: str = "typed"
    note: str = ""


def resolver_of(programme: Programme, meanings: dict[str, str] | None = None) -> SaidResolver:
    """Return what resolves the words of this programme's slates."""
    reference = programme_library(programme).reference
    return SaidResolver(reference, programme.settings.regions, meanings)


def read_lines(programme: Programme, transect: str, text: str) -> tuple[Line, ...]:
    """Read typed lines as those of a transect, without writing anything.

    Raises
    ------
    InputError
        With every fault by line.
    """
    check_id(transect, "transect")
    with programme.read() as connection:
        plan = surveys.plan_of(connection, surveys.survey_of_transect(connection, transect))
    return read_slate_text(text, plan.method, resolver_of(programme))


def write_slate(
    programme: Programme,
    command: WriteSlate,
    now: dt.datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> Slate:
    """Write a slate; what looks wrong on it is flagged, not refused.

    Raises
    ------
    InputError
        Where typed lines can't be read, or a number can't be.
    ConflictError
        Where the transect has a slate that stands and this one mends none.
    """
    lines = command.lines
    if isinstance(lines, str):
        if not lines.strip():
            remedy = "Write what was read; where nothing was met, write nothing."
            raise InputError([Fault("slate", "", "at least one line", "none", remedy)])
        lines = read_lines(programme, command.transect, lines)
    with unit_of_work(programme, person, now, Role.OBSERVER, "write slates") as unit:
        return write_slate_in(unit, replace(command, lines=lines), now)


def write_slate_in(unit: Unit, command: WriteSlate, now: dt.datetime) -> Slate:
    """Write a slate within a unit of work; its lines have been read."""
    connection = unit.connection
    transect = store.event_of(connection, check_id(command.transect, "transect"))
    survey = surveys.survey_of_transect(connection, transect.id)
    plan = surveys.plan_of(connection, survey)
    command = replace(command, observer=_observer(unit, command))
    observer = store.person_of(connection, check_id(command.observer or "", "person"))
    lines = command.lines
    if isinstance(lines, str) or (not lines and plan.method not in _MAY_BE_EMPTY):
        raise InputError([Fault("slate", "", "at least one line", "none", "Write what was read.")])
    effort = _merged(plan.effort, command.effort)
    date = command.date or transect.date or now.date()
    faults = slate_faults(plan.method, effort, command.depth_m, date, now.date())
    if faults:
        raise InputError(faults)
    _check_place(unit, survey, command)
    slate = Slate(
        0, transect.id, plan.method, observer.id, date, command.depth_m, effort, tuple(lines),
        command.replaces, check_line(command.source, "source", most=200),
        check_notes(command.note, "note", empty=True), unit.person.id, now,
    )  # fmt: skip
    return surveys.slate_of(connection, surveys.insert_slate(connection, unit.act, survey, slate))


def _observer(unit: Unit, command: WriteSlate) -> str:
    """Return who read it: as told, else who read the slate that it mends, else who writes."""
    if command.observer or command.replaces is None:
        return command.observer or unit.person.id
    number = check_number(command.replaces, "slate")
    return surveys.slate_of(unit.connection, number).observer


def _merged(planned: Effort, given: Effort) -> Effort:
    """Take what was given, and the rest as planned."""
    found = {
        field.name: getattr(given, field.name)
        for field in fields(Effort)
        if getattr(given, field.name) is not None
    }
    return replace(planned, **found)


def slate_faults(
    method: Method, effort: Effort, depth_m: float | None, date: dt.date, today: dt.date | None
) -> list[Fault]:
    """Find numbers and days that can't be; today is None where it is not known yet."""
    faults = [*check_effort(method, effort), *_depth_faults(depth_m)]
    last = dt.date.max if today is None else today + dt.timedelta(days=1)
    if not _EARLIEST <= date <= last:
        expected = f"{_EARLIEST} to today"
        faults.append(Fault("slate", "date", expected, str(date), "Check the year."))
    return faults


def _depth_faults(depth_m: float | None) -> list[Fault]:
    """Refuse what is no depth; an odd one is flagged."""
    if depth_m is None or 0 <= depth_m <= _MOST_DEPTH_M:
        return []
    expected = f"0 to {_MOST_DEPTH_M:g} m"
    return [Fault("slate", "depth", expected, f"{depth_m:g}", "Give metres below the surface.")]


def _check_place(unit: Unit, survey: str, command: WriteSlate) -> None:
    """Refuse a second slate of a transect, unless it mends the one that stands."""
    standing = [
        slate for slate in surveys.slates_of(unit.connection, survey)
        if slate.transect == command.transect
    ]  # fmt: skip
    numbers = {slate.history for slate in standing}
    if command.replaces is not None:
        if check_number(command.replaces, "slate") not in numbers:
            raise ConflictError("that slate was mended already, or is another's. Look again.")
        _check_right(unit, next(one for one in standing if one.history == command.replaces))
        return
    if any(slate.observer == command.observer for slate in standing):
        raise ConflictError(
            "this observer has a slate of this transect already. Mend that one instead."
        )


def _check_right(unit: Unit, slate: Slate) -> None:
    """Only who wrote or read a slate, or a lead, may mend it."""
    own = unit.person.id in (slate.person, slate.observer)
    if not own and not unit.person.role.covers(Role.LEAD):
        raise ConflictError("only its observer or a lead may mend a slate. Tell them.")


def get_slate(programme: Programme, history: int) -> tuple[Slate, str]:
    """Return a slate and the survey that it belongs to."""
    check_number(history, "slate")
    with programme.read() as connection:
        slate = surveys.slate_of(connection, history)
        return slate, surveys.survey_of_transect(connection, slate.transect)
