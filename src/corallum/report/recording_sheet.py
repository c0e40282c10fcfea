"""Blank sheets to write a transect on with a pencil: heads, ruled lines, words to use.

The columns are those in which a slate is typed in, so that nothing is copied twice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from corallum.records.benthos import OTHER_COVER, STONY_CORAL, UNREADABLE
from corallum.records.survey import Effort, Method
from corallum.report.paper import Paper
from corallum.report.typeset import typeset

__all__ = [
    "COLUMNS", "PlannedTransect", "RecordingPage", "RecordingSheets", "blank_sheet",
    "effort_said", "planned_sheets", "set_recording_sheets",
]  # fmt: skip

# Columns of a dive sheet.
COLUMNS: Mapping[Method, tuple[str, ...]] = {
    Method.LINE: ("from cm", "to cm", "what", "form", "note"),
    Method.POINTS: ("point", "what", "point", "what"),
    Method.PHOTO: ("photo", "number in the camera", "time", "note"),
    Method.BELT: ("what", "diameter cm", "from the tape cm", "note"),
    Method.QUADRAT: ("quadrat", "what", "how many", "diameter cm", "note"),
    Method.QUADRAT_COVER: ("quadrat", "what", "percent", "note"),
}
# How wide, in parts: names take most.
_PARTS = {"what": 5.0, "note": 4.0, "form": 3.0, "number in the camera": 3.0, "point": 1.0}
_NARROW = 2.0
# A line that a pencil can fill under water, and what stands above and below the lines, mm.
_LINE_MM, _HEAD_MM, _FOOT_MM = 7.5, 63.0, 25.0
_FOOT_SMALL_MM = 30.0
_TITLES: Mapping[Method, str] = {
    Method.LINE: "Line intercept",
    Method.POINTS: "Point intercept",
    Method.PHOTO: "Photo transect",
    Method.BELT: "Belt transect",
    Method.QUADRAT: "Quadrats, colonies counted",
    Method.QUADRAT_COVER: "Quadrats, cover judged",
}
# An empty sheet may be one that was not dived; the word is that which a slate is typed with.
_NONE = "None at all: write the word nothing on the first line."
_RULES: Mapping[Method, str] = {
    Method.LINE: "Write where each intercept begins and ends on the tape, and what it crosses.",
    Method.POINTS: "Write what lies under each point.",
    Method.PHOTO: "Write a line for each photo; what its points show is read ashore.",
    Method.BELT: f"Write a line for each colony whose centre is in the belt. {_NONE}",
    Method.QUADRAT: f"Write the quadrat on each line. {_NONE}",
    Method.QUADRAT_COVER: f"Write the quadrat on each line. {_NONE}",
}
_EFFORT = (
    ("length_cm", "tape {:g} cm"), ("width_cm", "belt {:g} cm wide"),
    ("interval_cm", "a point each {:g} cm"), ("frames", "{:g} frames"), ("points", "{:g} points"),
    ("frame_area_m2", "frame {:g} m²"),
)  # fmt: skip
_CAUTION = (
    "Look, do not touch: some stony corals and their neighbours sting or cut. The dive supervisor "
    "decides whether, where and how long to dive; data come second."
)
_BLANKS = (
    "Site", "Transect", "Date", "Observer", "With", "Tape laid by", "Time in", "Time out",
    "Depth at start, m", "Depth at end, m", "Searched", "Visibility, light, surge",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PlannedTransect:
    """A transect that is to be dived: what is known before."""

    site: str
    transect: str
    stratum: str = ""
    date: str = ""


@dataclass(frozen=True, slots=True)
class RecordingPage:
    """A page: what is filled in at its head, and the number of its first line.

    ``part`` is the page of its transect, of ``parts``.
    """

    filled: Mapping[str, str]
    first: int
    part: int = 1
    parts: int = 1


@dataclass(frozen=True, slots=True)
class RecordingSheets:
    """Sheets of one method on one paper, with so many ruled lines on each."""

    paper: Paper
    method: Method
    title: str
    pages: tuple[RecordingPage, ...]
    lines: int

    @property
    def columns(self) -> tuple[str, ...]:
        """Headers of the ruled columns."""
        return COLUMNS[self.method]


def effort_said(effort: Effort) -> str:
    """Say in few words what is searched on a transect."""
    told = ((words, getattr(effort, name)) for name, words in _EFFORT)
    return ", ".join(words.format(value) for words, value in told if value is not None)


def blank_sheet(method: Method, paper: Paper, title: str) -> RecordingSheets:
    """Make one sheet with nothing filled in.

    Parameters
    ----------
    method : Method
        How the transect is read.
    paper : Paper
        Upright.
    title : str
        Whose sheet it is; may be empty.
    """
    return RecordingSheets(paper, method, title, (RecordingPage({}, 1),), _lines(paper))


def planned_sheets(
    method: Method,
    paper: Paper,
    title: str,
    effort: Effort,
    transects: Sequence[PlannedTransect],
) -> RecordingSheets:
    """Make sheets for planned transects, each on pages of its own.

    Parameters
    ----------
    method : Method
        Of the survey.
    paper : Paper
        Upright.
    title : str
        Of the survey.
    effort : Effort
        On one transect; points and photos have a line each, over as many pages as it takes.
    transects : sequence of PlannedTransect
        In the order to be printed.
    """
    lines = _lines(paper)
    each = lines * (2 if method is Method.POINTS else 1)
    numbered = {Method.POINTS: effort.points, Method.PHOTO: effort.frames}.get(method)
    parts = max(1, -(-(numbered or 1) // each))
    pages = []
    for one in transects:
        site = f"{one.site} ({one.stratum})" if one.stratum else one.site
        filled = {
            "Site": site, "Transect": one.transect, "Date": one.date,
            "Searched": effort_said(effort),
        }  # fmt: skip
        kept = {name: value for name, value in filled.items() if value}
        pages += [RecordingPage(kept, part * each + 1, part + 1, parts) for part in range(parts)]
    return RecordingSheets(paper, method, title, tuple(pages), lines)


def _lines(paper: Paper) -> int:
    """Ruled lines that fit on a page."""
    width, height = paper.free_mm
    foot = _FOOT_MM if width > 150 else _FOOT_SMALL_MM
    return int((height - _HEAD_MM - foot) / _LINE_MM)


def set_recording_sheets(sheets: RecordingSheets, made: datetime) -> bytes:
    """Set sheets as a PDF.

    Parameters
    ----------
    sheets : RecordingSheets
        One page or more.
    made : datetime
        Moment written into the file.

    Returns
    -------
    bytes
        Tagged, black on white, in the size of its paper.
    """
    return typeset("recording_sheet", _data(sheets), {}, made)


def _data(sheets: RecordingSheets) -> Mapping[str, object]:
    """Return what the template reads."""
    others = [one for one in OTHER_COVER if one != "not coral"]
    numbered = {Method.POINTS: 2, Method.PHOTO: 1}.get(sheets.method, 0)
    return {
        "title": sheets.title,
        "method": _TITLES[sheets.method],
        "rule": _RULES[sheets.method],
        "width": sheets.paper.width_mm,
        "height": sheets.paper.height_mm,
        "blanks": _BLANKS,
        "columns": sheets.columns,
        "shares": [_PARTS.get(one, _NARROW) for one in sheets.columns],
        "numbered": numbered,
        "lines": sheets.lines,
        "pages": [asdict(page) for page in sheets.pages],
        "words": f"{', '.join(others)}, {UNREADABLE}",
        "coral": STONY_CORAL,
        "caution": _CAUTION,
    }
