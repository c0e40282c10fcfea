"""A survey: its plan, the slates that were brought back, and what was made of each line.

A slate is what one observer wrote on one transect; it is never altered. A mended slate is
a new one that replaces it. Lines are numbered from 1 in the order in which they were
written, so that every figure leads down to one line of one slate, and its photo.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

__all__ = [
    "SCATTERS",
    "Decision",
    "Effort",
    "Flag",
    "FlagAnswer",
    "Line",
    "Method",
    "Permit",
    "ReadingDraw",
    "RecordReading",
    "Slate",
    "Stratum",
    "SurveyPlan",
]


SCATTERS = ("random", "stratified", "grid")


class Method(StrEnum):
    """How a transect is read; in quadrats, colonies are counted or cover is judged."""

    LINE = "line_intercept"
    POINTS = "point_intercept"
    PHOTO = "photo_points"
    BELT = "belt"
    QUADRAT = "quadrat"
    QUADRAT_COVER = "quadrat_cover"


@dataclass(frozen=True, slots=True)
class Effort:
    """What is searched on one transect; what a method does not use is None.

    Parameters
    ----------
    length_cm : float or None
        Of the tape (line, belt), or between the first and the last point.
    interval_cm : float or None
        Between points of a point intercept.
    width_cm : float or None
        Of the belt, both sides of the tape together.
    frames : int or None
        Photos or quadrats on the transect.
    points : int or None
        Points on the transect (point intercept), or on each photo.
    frame_area_m2 : float or None
        Of one quadrat.
    """

    length_cm: float | None = None
    interval_cm: float | None = None
    width_cm: float | None = None
    frames: int | None = None
    points: int | None = None
    frame_area_m2: float | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a slate.

    Parameters
    ----------
    said : str
        As it was written.
    label : str
        What that is today: a genus, a family, "stony coral", other cover, or "unreadable".
    kind : str
        genus, unidentified, other or unreadable (``records.benthos``).
    form : str
        Growth form, where it was written.
    from_cm, to_cm : float or None
        Intercept on the tape.
    frame, point : int or None
        Number of the photo or quadrat, and of the point.
    x, y : float or None
        Place of the point on its photo, shares of its width and height.
    diameter_cm, off_line_cm : float or None
        Largest diameter, and distance of the colony's centre from the tape.
    count : int
        Colonies that the line stands for.
    cover_percent : float or None
        Of a quadrat.
    colony : str
        Mark of the colony, where one was written: a colony crossed twice has one mark.
    photo : str or None
        SHA-256 of the photo that shows it.
    note : str
        Anything else.
    """

    said: str
    label: str
    kind: str
    form: str = ""
    from_cm: float | None = None
    to_cm: float | None = None
    frame: int | None = None
    point: int | None = None
    x: float | None = None
    y: float | None = None
    diameter_cm: float | None = None
    off_line_cm: float | None = None
    count: int = 1
    cover_percent: float | None = None
    colony: str = ""
    photo: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Slate:
    """What one observer wrote on one transect.

    ``history`` is the entry that wrote it, ``replaces`` the one it mends; ``source`` is
    "typed", or the name of the file it came from.
    """

    history: int
    transect: str
    method: Method
    observer: str
    date: dt.date
    depth_m: float | None
    effort: Effort
    lines: tuple[Line, ...]
    replaces: int | None
    source: str
    note: str
    person: str
    at: dt.datetime


@dataclass(frozen=True, slots=True)
class Stratum:
    """A part of the reef that is sampled by itself; ``area`` in any one unit."""

    name: str
    area: float
    sites: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SurveyPlan:
    """How a survey is to be done.

    Parameters
    ----------
    survey : str
        Id of the event.
    method : Method
        Of all its transects.
    strata : tuple of Stratum
        Each site in one of them.
    transects_per_site : int
        Planned.
    effort : Effort
        Of one transect.
    observers : tuple of str
        Ids of those who dive.
    second_share : float
        Share of the records to be read again, 0 to 1.
    follows : str or None
        Id of the survey that it is compared with.
    same_transects : bool
        Whether the transects of that survey are laid again (pairs).
    seed : int
        Of what is drawn at random for it.
    scatter : str
        How points lie on photos: random, stratified (one in each cell of a grid) or grid.
    note : str
        Anything else.
    sites_drawn : bool
        Whether sites were drawn to stand for their stratum: then they are the units of
        figures, not transects.
    """

    survey: str
    method: Method
    strata: tuple[Stratum, ...]
    transects_per_site: int
    effort: Effort
    observers: tuple[str, ...] = ()
    second_share: float = 0.1
    follows: str | None = None
    same_transects: bool = False
    seed: int = 0
    scatter: str = "random"
    note: str = ""
    sites_drawn: bool = False


@dataclass(frozen=True, slots=True)
class Flag:
    """Something about a slate or a line that looks wrong.

    ``line`` is None where the slate as a whole is meant; ``rule`` is the id of the check.
    """

    slate: int
    line: int | None
    rule: str
    expected: str
    found: str
    remedy: str


class Decision(StrEnum):
    """What somebody decided on a flag."""

    STANDS = "stands"
    LEFT_OUT = "left_out"


@dataclass(frozen=True, slots=True)
class FlagAnswer:
    """A flag, and who resolved it."""

    history: int
    slate: int
    line: int | None
    rule: str
    decision: Decision
    note: str
    person: str
    at: dt.datetime


@dataclass(frozen=True, slots=True)
class ReadingDraw:
    """Records drawn at random to be read again, blind.

    Parameters
    ----------
    history : int
        Entry that wrote it.
    survey : str
        Of which survey.
    share : float
        That was wanted.
    asked_of : str or None
        Who shall read; None is anybody but the observer.
    records : tuple of (int, int)
        Slate and line.
    strata : mapping of str to (int, int)
        By what was said: records there were, and records drawn.
    """

    history: int
    survey: str
    share: float
    asked_of: str | None
    records: tuple[tuple[int, int], ...]
    strata: Mapping[str, tuple[int, int]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RecordReading:
    """What a second reader said of one line of a slate, without seeing what was said first."""

    history: int
    slate: int
    line: int
    said: str
    label: str
    kind: str
    note: str
    person: str
    at: dt.datetime


@dataclass(frozen=True, slots=True)
class Permit:
    """A permit under which samples may be taken."""

    id: str
    number: str
    holder: str
    expires_on: dt.date
    covers: str
    note: str
