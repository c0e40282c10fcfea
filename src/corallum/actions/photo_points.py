"""Photos of a transect, points on them that anybody can place again, and their names.

A point is named one at a time, in close-up; what was named is kept at once. When all are
named, they become the transect's slate.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from corallum.actions.slates import WriteSlate, resolver_of, write_slate_in
from corallum.actions.unit_of_work import check_id, check_line, unit_of_work
from corallum.errors import ConflictError, Fault, InputError
from corallum.estimate.points import (
    Frame,
    points_rng,
    scatter_grid,
    scatter_random,
    scatter_stratified,
)
from corallum.exchange.slate_text import find_name
from corallum.records.programme import Event, Role
from corallum.records.survey import Effort, Line, Method, Slate, SurveyPlan
from corallum.store import photo_points as rows
from corallum.store import schema, surveys
from corallum.store.database import Connection
from corallum.store.history import add_row
from corallum.store.people import event_of
from corallum.store.photo_rows import add_photo
from corallum.store.photos import check_photo, keep_photo
from corallum.store.programme import Programme

__all__ = [
    "AddFrame",
    "FinishPoints",
    "FramePoint",
    "NamePoint",
    "PointWork",
    "add_frame",
    "finish_points",
    "name_point",
    "point_work",
]


@dataclass(frozen=True, slots=True)
class AddFrame:
    """A photo of a transect; the bytes of the file."""

    transect: str
    data: bytes


@dataclass(frozen=True, slots=True)
class NamePoint:
    """What lies under a point: a genus, or anything else that may be said."""

    transect: str
    frame: int
    point: int
    said: str


@dataclass(frozen=True, slots=True)
class FinishPoints:
    """Make a slate of the points that were named."""

    transect: str
    depth_m: float | None = None
    date: dt.date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class FramePoint:
    """A point: photo and place (shares of width and height), and its name once it has one."""

    frame: int
    point: int
    photo: str
    x: float
    y: float
    said: str = ""


@dataclass(frozen=True, slots=True)
class PointWork:
    """A transect's points for one person.

    ``next`` is the first point without a name, None when all have one.
    """

    survey: str
    plan: SurveyPlan
    transect: Event
    frames: tuple[rows.FrameRow, ...]
    points: tuple[FramePoint, ...]

    @property
    def named(self) -> int:
        """Points that have a name."""
        return sum(1 for one in self.points if one.said)

    @property
    def next(self) -> FramePoint | None:
        """The next point to be named."""
        return next((one for one in self.points if not one.said), None)


def add_frame(
    programme: Programme,
    command: AddFrame,
    now: dt.datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> rows.FrameRow:
    """Keep a photo as the next frame of a transect.

    Raises
    ------
    InputError
        Where it is no picture, or the transect is not read by photo points.
    ConflictError
        Where the transect has this photo already.
    """
    transect = check_id(command.transect, "transect")
    with unit_of_work(programme, person, now, Role.OBSERVER, "add photos"):
        point_work(programme, transect, person)
    checked = check_photo(command.data)
    keep_photo(programme.photo_folder, checked)
    with unit_of_work(programme, person, now, Role.OBSERVER, "add photos") as unit:
        here = rows.frames_of(unit.connection, transect)
        if any(one.photo == checked.sha256 for one in here):
            raise ConflictError("this transect has that photo already.")
        add_photo(unit.connection, checked, now)
        number = max((one.frame for one in here), default=0) + 1
        row = {"transect": transect, "frame": number, "photo": checked.sha256}
        add_row(unit.connection, unit.act, "add frame", schema.frame_photo, row)
        return rows.frames_of(unit.connection, transect)[-1]


def point_work(programme: Programme, transect: str, person: str) -> PointWork:
    """Return a transect's photos and points, with the names that a person gave them.

    Raises
    ------
    InputError
        Where the transect is not read by photo points.
    """
    check_id(transect, "transect")
    with programme.read() as connection:
        return _work(connection, transect, person)


def _work(connection: Connection, transect: str, person: str) -> PointWork:
    """Lay out the points of a transect."""
    event = event_of(connection, transect)
    survey = surveys.survey_of_transect(connection, transect)
    plan = surveys.plan_of(connection, survey)
    if plan.method is not Method.PHOTO:
        found = plan.method.replace("_", " ")
        remedy = "Write its slate instead."
        raise InputError([Fault("transect", "", "one read by photo points", found, remedy)])
    frames = tuple(rows.frames_of(connection, transect))
    said = {
        (one.frame, one.point): one.said for one in rows.points_of(connection, transect, person)
    }
    points = tuple(
        FramePoint(one.frame, i + 1, one.photo, x, y, said.get((one.frame, i + 1), ""))
        for one in frames
        for i, (x, y) in enumerate(_places(plan, one))
    )
    return PointWork(survey, plan, event, frames, points)


def _places(plan: SurveyPlan, frame: rows.FrameRow) -> list[tuple[float, float]]:
    """Place the points of a photo: the same each time, by the survey's seed and the photo."""
    n = plan.effort.points or 1
    size = Frame(float(frame.width), float(frame.height))
    rng = points_rng(plan.seed, frame.photo)
    if plan.scatter == "random":
        found = scatter_random(size, n, rng)
    else:
        across, down = _cells(n, frame.width / frame.height)
        lay = scatter_stratified if plan.scatter == "stratified" else scatter_grid
        found = lay(size, down, across, rng)
    share = found / np.array([frame.width, frame.height])
    return [(float(x), float(y)) for x, y in share]


def _cells(n: int, aspect: float) -> tuple[int, int]:
    """Return cells across and down that make exactly n, as square as may be."""
    pairs = [(k, n // k) for k in range(1, n + 1) if n % k == 0]
    return min(pairs, key=lambda pair: abs(np.log(pair[0] / pair[1] / aspect)))


def name_point(
    programme: Programme,
    command: NamePoint,
    now: dt.datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> PointWork:
    """Keep the name of one point; a later name of the same point counts instead.

    Raises
    ------
    UnknownNameError
        Where nothing is known by that name, or it may mean several genera.
    InputError
        Where there is no such point.
    """
    transect = check_id(command.transect, "transect")
    resolver = resolver_of(programme)
    name = find_name(resolver, check_line(command.said, "name"))
    resolver.resolve(name)
    with unit_of_work(programme, person, now, Role.OBSERVER, "name points") as unit:
        work = _work(unit.connection, transect, person)
        if not any((p.frame, p.point) == (command.frame, command.point) for p in work.points):
            found = f"frame {command.frame}, point {command.point}"
            remedy = "Take the next."
            raise InputError([Fault("photo points", "", "a point of the transect", found, remedy)])
        row = {"transect": transect, "frame": command.frame, "point": command.point, "said": name}
        add_row(unit.connection, unit.act, "name point", schema.point_reading, row)
        return _work(unit.connection, transect, person)


def finish_points(
    programme: Programme,
    command: FinishPoints,
    now: dt.datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> Slate:
    """Make a slate of a transect's named points.

    Raises
    ------
    ConflictError
        Where points are left without a name.
    """
    transect = check_id(command.transect, "transect")
    resolver = resolver_of(programme)
    with unit_of_work(programme, person, now, Role.OBSERVER, "write slates") as unit:
        work = _work(unit.connection, transect, person)
        left = len(work.points) - work.named
        if left or not work.points:
            told = f"{left} points have no name yet" if left else "there is no photo yet"
            raise ConflictError(f"{told}. Name them; unreadable is a name too.")
        lines = []
        for one in work.points:
            said = resolver.resolve(one.said)
            lines.append(
                Line(one.said, said.label, said.kind, said.form, frame=one.frame, point=one.point,
                     x=one.x, y=one.y, photo=one.photo)
            )  # fmt: skip
        before = [slate for slate in surveys.slates_of(unit.connection, work.survey)
                  if slate.transect == transect and slate.observer == person]  # fmt: skip
        written = WriteSlate(
            transect, tuple(lines), person, command.date, command.depth_m,
            Effort(frames=len(work.frames)),
            before[-1].history if before else None, "photo points", command.note,
        )  # fmt: skip
        return write_slate_in(unit, written, now)
