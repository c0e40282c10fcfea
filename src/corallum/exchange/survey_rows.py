"""Rows of a table of slates as values by role, each fault kept by row and column."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import replace
from typing import Any

from corallum.errors import UnknownNameError
from corallum.exchange.sheet import Sheet, plain, shown
from corallum.exchange.survey_cells import (
    BadCell,
    known_name,
    one_text,
    read_date,
    read_number,
    read_photo,
    whole_number,
)
from corallum.exchange.survey_columns import UNITS, Columns, unit_of, unit_words
from corallum.records.benthos import GENUS
from corallum.reference.said import Said, SplitNameError

__all__ = ["Row", "RowReader"]

_MOST_TEXT, _MOST_NOTE = 120, 1000
_FULL = 100.0
# Nearest names are slow to find, and so many wrong ones are no slips of the pen.
_MOST_WORDS = 200
_REMEDY_BLANK = "Fill it in on every row."
# What a row tells of a thing that was met; without any of it the row tells of a place alone.
_OF_LINE = ("name", "form", "from_cm", "to_cm", "reading_cm", "intercept_cm", "point", "x", "y",
            "diameter_cm", "off_line_cm", "count", "cover_percent", "colony", "photo")  # fmt: skip
_OF_PLACE = ("site", "transect", "date", "observer")
_NEVER_BLANK = ("from_cm", "to_cm", "reading_cm", "intercept_cm", "point", "x", "y", "frame",
                "cover_percent")  # fmt: skip
# Signed: a colony lies left or right of the tape; a tape may have been read backwards.
_SIGNED = ("off_line_cm", "intercept_cm")
# What a blank cell should have held, where it is no number.
_WHAT = {
    "site": "a site", "transect": "a transect", "date": "a day", "observer": "an observer",
    "event": "the id of an event", "name": "a name of what was met",
    "x": "a share from 0 to 1", "y": "a share from 0 to 1",
}  # fmt: skip

Row = dict[str, Any]


class _Column:
    """One column that is read: each distinct cell once."""

    def __init__(self, header: str, read: Callable[[str], Any], *, once: bool) -> None:
        self.header, self.read, self.once = header, read, once
        self.cache: dict[str, Any] = {"": None}
        # First row of each cell that can't be read, and how many rows hold it.
        self.bad: dict[str, list[int]] = {}

    def value(self, cell: str) -> Any:  # noqa: ANN401
        """Return what a cell holds, None where it is blank, or what is wrong with it."""
        found = self.cache.get(cell, self)
        if found is self:
            try:
                found = self.read(cell)
            except BadCell as bad:
                # A new one: what was raised holds on to all that it came through.
                found = BadCell(bad.expected, bad.found, bad.remedy)
            self.cache[cell] = found
        return found


class RowReader:
    """Reads the rows of one table.

    Parameters
    ----------
    sheet : Sheet
        That keeps the faults.
    columns : Columns
        Which hold what.
    resolve : callable
        Says what a word means, or raises UnknownNameError.
    names : mapping of str to collection of str
        By role: names that the programme knows.
    """

    def __init__(
        self,
        sheet: Sheet,
        columns: Columns,
        resolve: Callable[[str], Said],
        names: Mapping[str, Collection[str]],
    ) -> None:
        self.sheet, self.resolve, self.names = sheet, resolve, names
        self.meanings = {_plain(word): what for word, what in columns.meanings.items()}
        once = ("name", "date", *names)
        self.columns = {
            role: _Column(header, self._reader(columns, role), once=role in once)
            for role, header in columns.roles.items()
        }
        self.settings = columns
        # Whether so much of one column can't be read that it must be the wrong one.
        self.stopped = False
        # Its name is that of its event where it has none of its own.
        own = "event" if "event" in columns.roles else "transect"
        place = [role for role in _OF_PLACE if role != "transect"]
        self.always = [*place, own]
        self.of_line = [role for role in _OF_LINE if role in columns.roles]
        self.never_blank = ["name", *(role for role in _NEVER_BLANK if role in columns.roles)]

    def header(self, names: list[str], place: str) -> None:
        """Find headers that speak of another unit than the one that is set, and odd commas."""
        if len(names) == 1 and (";" in names[0] or "\t" in names[0]):
            what = "semicolons" if ";" in names[0] else "tabs"
            self.sheet.fault(place, "commas between cells", what, "Save it as CSV with commas.")
        for role, column in self.columns.items():
            setting = unit_of(self.settings, role)
            said = unit_words(column.header) if setting else set()
            if setting and said and setting[1] not in said and column.header in names:
                name, unit = setting
                wanted = sorted(said & UNITS[name].keys())
                remedy = f"Set the {name.removesuffix('_unit')} unit to {' or '.join(wanted)}."
                if not wanted:
                    remedy = f"Convert the column to {unit}."
                expected = f"a column in {unit}, as its unit is set"
                found = f"{shown(column.header)}, which speaks of {' and '.join(sorted(said))}"
                self.sheet.fault(place, expected, found, remedy)

    def row(self, number: int, cells: Mapping[str, str]) -> Row | None:
        """Return the values of a row by role, or None with its faults.

        Its name is None where it tells of no thing that was met, only of a place that was
        searched.
        """
        values, good = {}, True
        for role, column in self.columns.items():
            cell = cells[column.header]
            found = values[role] = column.value(cell)
            if type(found) is BadCell:
                good = False
                self._tell(number, column, cell, found)
        for role in self.always:
            if values.get(role) is None:
                good = False
                self._blank(number, role, _REMEDY_BLANK)
        if any(values[role] is not None for role in self.of_line):
            good = self._filled(number, values) and good
        return values if good else None

    def _filled(self, number: int, values: Row) -> bool:
        """Whether a row has all that a line needs, faults where it has not."""
        good = True
        for role in self.never_blank:
            if values[role] is None:
                good = False
                self._blank(number, role, "Fill it in, or leave the whole row out.")
        if values.get("count", 1) is None:
            good = False
            self._blank(number, "count", "Write 1 for one colony, and 0 for none.")
        return good

    def _blank(self, number: int, role: str, remedy: str) -> None:
        """Say that a cell is blank."""
        header = plain(self.columns[role].header)
        self.sheet.fault(f"row {number}, {header}", _WHAT.get(role, "a number"), "nothing", remedy)

    def _tell(self, number: int, column: _Column, cell: str, bad: BadCell) -> None:
        """Say what is wrong with a cell, or count it where it was met before."""
        if column.once:
            column.bad.setdefault(cell, [number, 0])[1] += 1
            self.stopped = self.stopped or len(column.bad) > _MOST_WORDS
            return
        place = f"row {number}, {plain(column.header)}"
        self.sheet.fault(place, bad.expected, bad.found, bad.remedy)

    def finish(self) -> None:
        """Say what was wrong with words that stand on several rows, each once."""
        for column in self.columns.values():
            if len(column.bad) > _MOST_WORDS:
                expected = f"at most {_MOST_WORDS} words that can't be read"
                found, remedy = "more, so that the rest was left unread", "Is it the right column?"
                self.sheet.fault(plain(column.header), expected, found, remedy)
        for number, rows, column, bad in sorted(self._repeated(), key=lambda one: one[0]):
            more = f", on {rows} rows" if rows > 1 else ""
            place = f"row {number}, {plain(column.header)}"
            self.sheet.fault(place, bad.expected, f"{bad.found}{more}", bad.remedy)

    def _repeated(self) -> Iterator[tuple[int, int, _Column, BadCell]]:
        """Yield the first row and the number of rows of each cell that can't be read."""
        for column in self.columns.values():
            for cell, (number, rows) in column.bad.items():
                yield number, rows, column, column.cache[cell]

    def _reader(self, columns: Columns, role: str) -> Callable[[str], Any]:
        """Return what reads the cells of a role."""
        if role in self.names:
            known = frozenset(self.names[role])
            return lambda cell: known_name(one_text(cell, _MOST_TEXT), role, known)
        unit = unit_of(columns, role)
        if unit is not None:
            factor, signed = UNITS[unit[0]][unit[1]], role in _SIGNED
            return lambda cell: read_number(cell, unit[1], factor, signed=signed)
        readers: dict[str, Callable[[str], Any]] = {
            "name": self._said,
            "date": lambda cell: read_date(cell, columns.dates),
            "photo": read_photo,
            "x": lambda cell: _share(cell, "width"),
            "y": lambda cell: _share(cell, "height"),
            "cover_percent": lambda cell: read_number(cell, "percent", most=_FULL),
            "note": lambda cell: one_text(cell, _MOST_NOTE),
            **dict.fromkeys(("frame", "frames", "point", "count"), whole_number),
        }
        return readers.get(role, lambda cell: one_text(cell, _MOST_TEXT))

    def _said(self, cell: str) -> tuple[str, Said]:
        """Return a word as it was written, and what it means."""
        word = one_text(cell, _MOST_TEXT)
        try:
            return word, self._meant(word)
        except SplitNameError as error:
            parts = " or ".join(error.nearest)
            found = f"{shown(word)}, an older name that was split"
            remedy = f"Say which: set its meaning to {parts}."
            raise BadCell("a genus of today", found, remedy) from None
        except UnknownNameError as error:
            remedy = "Check the spelling, or set its meaning."
            if error.nearest:
                remedy = f"Did you mean {' or '.join(error.nearest)}? Or set its meaning."
            found = shown(word)
            if error.kind == "meaning":
                found = f"{found} with the meaning {shown(error.name)}"
            raise BadCell("a name that is known", found, remedy) from None

    def _meant(self, word: str) -> Said:
        """Resolve a word; its meaning in the columns helps where it is split or not known."""
        try:
            return self.resolve(word)
        except UnknownNameError as error:
            split = error.name if isinstance(error, SplitNameError) else ""
            meaning = self.meanings.get(_plain(word)) or self.meanings.get(_plain(split))
            if meaning is None or error.kind == "meaning":
                raise
            if split and meaning in error.nearest:
                return Said(meaning, GENUS, older="" if meaning == split else split)
            return replace(self.resolve(meaning), older=split)


def _share(cell: str, side: str) -> float:
    """Read a place on a photo."""
    value = read_number(cell, "")
    if value <= 1.0:
        return value
    remedy = f"Divide pixels by the {side} of the photo."
    raise BadCell("a share from 0 to 1", shown(cell), remedy)


def _plain(text: str) -> str:
    return " ".join(text.replace("_", " ").casefold().split())
