"""Slates out of CSV text whose columns are told: all of them, or every fault at once.

A row tells of one thing that was met on one transect. A row with a place and nothing else
tells that the place was searched, and nothing met: so does a count of 0, or 0 percent. What
only looks odd, such as a tape that runs backwards, is read as it stands and left to the checks.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from corallum.errors import Fault, InputError
from corallum.exchange.sheet import Sheet, plain, shown
from corallum.exchange.survey_columns import (
    IN_FRAMES,
    ROLES,
    Columns,
    column_faults,
    columns_from_object,
    columns_to_object,
    guess_columns,
)
from corallum.exchange.survey_events import EventTree
from corallum.exchange.survey_rows import Row, RowReader
from corallum.records.survey import Effort, Line, Method
from corallum.reference.said import Said

__all__ = [
    "ROLES", "Columns", "ImportedSlate", "columns_from_object", "columns_to_object",
    "guess_columns", "read_slates",
]  # fmt: skip

_EFFORT = {"tape_cm": "length_cm", "width_cm": "width_cm", "frames": "frames"}
_SAME = ("depth", *_EFFORT)
_DIGITS = 9


@dataclass(frozen=True, slots=True)
class ImportedSlate:
    """What one observer wrote on one transect, as a file tells it.

    Parameters
    ----------
    site, visit, transect, observer : str
        As written; ``visit`` may be empty, and ``transect`` is the event where it has no
        name of its own.
    date : datetime.date
        Of the dive.
    depth_m : float or None
        Where it was written.
    effort : Effort
        The plan's, with what the file says.
    lines : tuple of Line
        In the order of the rows; may be empty.
    rows : tuple of int
        Row of the file of each line.
    note : str
        The event's id, and notes on rows without a line.
    """

    site: str
    visit: str
    transect: str
    observer: str
    date: dt.date
    depth_m: float | None
    effort: Effort
    lines: tuple[Line, ...]
    rows: tuple[int, ...]
    note: str


@dataclass(slots=True)
class _Group:
    """One transect while it is being put together; ``at`` is where the tape was read last."""

    row: int
    values: Row
    root: str
    same: dict[str, tuple[Any, int]] = field(default_factory=dict)
    lines: list[Line] = field(default_factory=list)
    rows: list[int] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    at: float = 0.0
    points: dict[int | None, int] = field(default_factory=dict)
    frames: dict[str, int] = field(default_factory=dict)
    photos: dict[int, tuple[str, int]] = field(default_factory=dict)
    filled: dict[tuple[str, int | None], int] = field(default_factory=dict)
    bare: list[tuple[tuple[str, int | None], int]] = field(default_factory=list)


def read_slates(
    text: str,
    file: str,
    columns: Columns,
    resolve: Callable[[str], Said],
    effort: Effort,
    names: Mapping[str, Collection[str]] | None = None,
) -> tuple[ImportedSlate, ...]:
    """Read slates.

    Parameters
    ----------
    text : str
        CSV, a header in the first row, one row for each thing that was met; a mark of byte
        order before it is left out.
    file : str
        What to call it in a fault.
    columns : Columns
        Which column holds what.
    resolve : callable
        Says what a word means today, or raises UnknownNameError (`SaidResolver.resolve`).
    effort : Effort
        What the plan says of one transect; columns of the file override it.
    names : mapping of str to collection of str, optional
        By role ("site", "observer"): the names that the programme knows.

    Returns
    -------
    tuple of ImportedSlate
        In the order of their first rows.

    Raises
    ------
    InputError
        With every fault by row and column; the first 100, and how many more there are.
    """
    faults = column_faults(columns, file, complete=True)
    if faults:
        raise InputError(faults)
    sheet = Sheet(file, tuple(dict.fromkeys(columns.roles.values())))
    reader = RowReader(sheet, columns, resolve, names or {})
    transects = _Transects(sheet, columns, effort)
    for number, cells in sheet.rows(text.removeprefix("\ufeff"), reader.header):
        transects.keep(number, reader.row(number, cells), cells)
        if reader.stopped:
            break
    found = () if reader.stopped else transects.slates()
    reader.finish()
    sheet.check()
    if not found:
        remedy = "Write a header and one row for each thing that was met."
        raise InputError([Fault(file, "", "rows of slates", "none at all", remedy)])
    return found


class _Transects:
    """Puts the rows of one table together to transects."""

    def __init__(self, sheet: Sheet, columns: Columns, effort: Effort) -> None:
        self.sheet, self.effort = sheet, effort
        self.method, self.roles = columns.method, columns.roles
        self.rows: list[tuple[int, Row]] = []
        self.groups: dict[tuple[object, ...], _Group] = {}
        self.told: set[tuple[object, ...]] = set()
        headers = (columns.roles.get("event", ""), columns.roles.get("parent_event", ""))
        self.tree = EventTree(sheet, headers)

    def keep(self, number: int, row: Row | None, cells: Mapping[str, str]) -> None:
        """Keep a row, and its event even where the rest of it can't be read."""
        if "event" in self.roles:
            # As they are read in the row itself.
            event, parent = (
                cells[self.roles[role]].replace("\xa0", " ") if role in self.roles else ""
                for role in ("event", "parent_event")
            )
            if event:
                self.tree.add(number, event, parent or None)
        if row is not None:
            self.rows.append((number, row))

    def slates(self) -> tuple[ImportedSlate, ...]:
        """Return the slates of all rows kept."""
        roots = self.tree.roots()
        for number, row in self.rows:
            event = row.get("event") or ""
            if event and event not in roots:
                continue
            self._add(number, row, event, roots.get(event, ""))
        for group in self.groups.values():
            for place, number in group.bare:
                if place in group.filled:
                    remedy = "Name it, or leave the row out."
                    expected = "a name of what was met"
                    self._fault(number, "name", expected, "nothing", remedy)
        return tuple(map(self._slate, self.groups.values()))

    def _add(self, number: int, row: Row, event: str, root: str) -> None:
        """Add a row to its transect."""
        row["transect"] = row.get("transect") or root
        place = (row["site"], row.get("visit") or row["date"], row["transect"], row["observer"])
        group = self.groups.get(key := (root,) if root else place)
        if group is None:
            group = self.groups[key] = _Group(number, row, root)
        elif not self._agrees(group, number, row, root):
            return
        self._same(group, number, row)
        frame = self._frame(group, number, row, event, root)
        self._line(group, number, row, (event, frame))

    def _agrees(self, group: _Group, number: int, row: Row, root: str) -> bool:
        """Whether a row is of the transect that its event, or its visit, says."""
        roles = ("site", "visit", "transect", "date", "observer") if root else ("date",)
        odd = [role for role in roles if row.get(role) != group.values.get(role)]
        if not odd:
            return True
        first, other = (
            ", ".join(f"{role} {plain(str(values.get(role) or 'blank'))}" for role in odd)
            for values in (group.values, row)
        )
        key = (root or row["transect"], first, other)
        if key in self.told:
            return False
        self.told.add(key)
        of = f"the event {shown(root)}" if root else f"the transect {shown(row['transect'])}"
        remedy = "Give each transect an event of its own." if root else "Mend the date."
        expected = f"{first} for {of}, as in row {group.row}"
        self._fault(number, "event" if root else "date", expected, other, remedy)
        return False

    def _same(self, group: _Group, number: int, row: Row) -> None:
        """Find a depth or an effort that is not the same in all rows of a transect."""
        for role in _SAME:
            value = row.get(role)
            if value is None:
                continue
            first, where = group.same.setdefault(role, (value, number))
            if value != first:
                expected = f"{first:g} on all rows of a transect, as in row {where}"
                remedy = "Write one value for the transect."
                self._fault(number, role, expected, f"{value:g}", remedy)

    def _frame(self, group: _Group, number: int, row: Row, event: str, root: str) -> int | None:
        """Return the number of a frame: as written, or that of its event in order."""
        if self.method not in IN_FRAMES:
            return None
        frame: int | None = row.get("frame")
        if "frame" in self.roles:
            first = group.frames.setdefault(event, frame) if event != root and frame else frame
            if first != frame:
                expected = f"frame {first} for the event {shown(event)}"
                self._fault(number, "frame", expected, str(frame), "Give each frame its event.")
            return frame
        if event != root:
            return group.frames.setdefault(event, len(group.frames) + 1)
        if row["name"] is not None:
            remedy = "Give the frame an event of its own, and the transect's as its parent."
            self._fault(number, "parent_event", "the event of a frame", "a transect's", remedy)
        return None

    def _line(self, group: _Group, number: int, row: Row, place: tuple[str, int | None]) -> None:
        """Add the line of a row, if it tells of anything that was met."""
        if row["name"] is None:
            group.bare.append((place, number))
            if row.get("note"):
                group.notes.append(row["note"])
            return
        group.filled.setdefault(place, number)
        if row.get("cover_percent") == 0 or row.get("count") == 0:
            return
        word, said = row["name"]
        note = row.get("note") or ""
        older = f"older name {said.older}" if said.older else ""
        # A table that was written here says so already.
        if older and older not in note:
            note = f"{note}; {older}" if note else older
        frame, photo = place[1], row.get("photo")
        if photo is not None and frame is not None:
            self._photo(group, number, frame, photo)
        from_cm, to_cm = self._tape(group, row)
        group.rows.append(number)
        group.lines.append(
            Line(
                word, said.label, said.kind, row.get("form") or said.form, from_cm, to_cm, frame,
                self._point(group, row, frame), row.get("x"), row.get("y"),
                row.get("diameter_cm"), row.get("off_line_cm"),
                row.get("count", 1), row.get("cover_percent"),
                row.get("colony") or "", photo, note,
            )
        )  # fmt: skip

    def _tape(self, group: _Group, row: Row) -> tuple[float | None, float | None]:
        """Return where an intercept begins and ends; successive ones begin at the last end."""
        if "reading_cm" in self.roles:
            end = row["reading_cm"]
        elif "intercept_cm" in self.roles:
            end = round(group.at + row["intercept_cm"], _DIGITS)
        else:
            return row.get("from_cm"), row.get("to_cm")
        start, group.at = group.at, end
        return start, end

    def _point(self, group: _Group, row: Row, frame: int | None) -> int | None:
        """Return the number of a point: as written, or in order within its frame."""
        if self.method not in (Method.POINTS, Method.PHOTO):
            return None
        if "point" in self.roles:
            return int(row["point"])
        group.points[frame] = group.points.get(frame, 0) + 1
        return group.points[frame]

    def _photo(self, group: _Group, number: int, frame: int, photo: str) -> None:
        """Find a frame with two photos."""
        first, where = group.photos.setdefault(frame, (photo, number))
        if self.method is Method.PHOTO and first != photo:
            expected = f"one photo of frame {frame}, {first[:12]} as in row {where}"
            self._fault(number, "photo", expected, photo[:12], "Give each photo its own frame.")

    def _fault(self, number: int, role: str, expected: str, found: str, remedy: str) -> None:
        """Keep a fault at the column of a role."""
        header = self.roles.get(role) or self.roles.get("event", role)
        self.sheet.fault(f"row {number}, {plain(header)}", expected, found, remedy)

    def _slate(self, group: _Group) -> ImportedSlate:
        """Return a transect that is put together."""
        values = group.values
        own: dict[str, Any] = {
            _EFFORT[role]: group.same[role][0] for role in _EFFORT if role in group.same
        }
        depth = group.same.get("depth", (None, 0))[0]
        event = [f"event {group.root}"] if group.root else []
        return ImportedSlate(
            values["site"], values.get("visit") or "", values["transect"], values["observer"],
            values["date"], depth if isinstance(depth, float) else None,
            replace(self.effort, **own), tuple(group.lines), tuple(group.rows),
            "; ".join(dict.fromkeys([*event, *group.notes])),
        )  # fmt: skip
