"""Readings out of CSV text: who named which item what, all faults at once."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from corallum.errors import Fault, InputError
from corallum.observers.readings import Readings, table_readings

__all__ = ["READING_COLUMNS", "read_readings"]

READING_COLUMNS = ("item", "observer", "label")
_MOST_FAULTS = 100
_MOST_SHOWN = 40


def read_readings(text: str, file: str) -> Readings:
    """Read a table with the columns item, observer and label, in any order.

    Parameters
    ----------
    text : str
        CSV, a header in the first row. A row whose label is blank was not read; other columns
        are not looked at. Rows of one observer and item are repeat readings, in their order.
    file : str
        What to call the file in a fault.

    Returns
    -------
    Readings
        Ids are texts, blanks at their ends cut off.

    Raises
    ------
    InputError
        With every fault by row and column; the first 100, and how many more there are.
    """
    table = _Table(file)
    rows = [row for row in table.rows(text) if row[2]]
    if table.faults:
        raise InputError(table.listed())
    if not rows:
        found = "none at all" if table.has_header else "an empty file"
        remedy = "Write a header item,observer,label and one reading per row."
        raise InputError([Fault(file, "", "readings", found, remedy)])
    return table_readings(rows)


def _shown(value: str) -> str:
    """Show a text of a file in at most 40 characters."""
    text = repr(value)
    return text if len(text) <= _MOST_SHOWN else f"{text[: _MOST_SHOWN - 3]}..."


class _Table:
    """Rows of one table, and its faults."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []
        self.n_faults = 0
        self.has_header = False

    def fault(self, place: str, expected: str, found: str, remedy: str) -> None:
        """Count one fault, and keep it if it is one of the first."""
        self.n_faults += 1
        if len(self.faults) < _MOST_FAULTS:
            self.faults.append(Fault(self.file, place, expected, found, remedy))

    def listed(self) -> list[Fault]:
        """Return the faults, the rest counted."""
        more = self.n_faults - len(self.faults)
        if not more:
            return self.faults
        remedy = "Mend these first."
        return [*self.faults, Fault(self.file, "", "no faults", f"{more} more", remedy)]

    def rows(self, text: str) -> Iterator[tuple[str, str, str]]:
        """Yield item, observer and label of each sound row."""
        places: tuple[int, ...] | None = None
        width = 0
        for number, line in enumerate(io.StringIO(text, newline=""), start=1):
            cells = self._cells(line, f"row {number}")
            if cells is None or not any(cells):
                continue
            if not self.has_header:
                self.has_header = True
                places, width = self._header(cells, number), len(cells)
                if places is None:
                    return
                continue
            row = self._row(cells, places or (), width, number)
            if row is not None:
                yield row

    def _cells(self, line: str, place: str) -> list[str] | None:
        """Split one line; a quote left open can't swallow the rows below."""
        if '"' not in line and "\x00" not in line:
            return [cell.strip() for cell in line.rstrip("\r\n").split(",")]
        try:
            cells = next(csv.reader([line], strict=True), [])
        except csv.Error as error:
            remedy = "Close each quote on its own line."
            self.fault(place, "comma-separated values", str(error), remedy)
            # No header can follow rows; without one nothing below can be read.
            self.has_header = True
            return None
        return [cell.strip() for cell in cells]

    def _header(self, names: list[str], number: int) -> tuple[int, ...] | None:
        """Return the places of the three columns, or None with faults."""
        before = self.n_faults
        for name in READING_COLUMNS:
            times = names.count(name)
            if times == 1:
                continue
            found = f"{times} of them" if times else ", ".join(_shown(cell) for cell in names[:8])
            remedy = "Keep one." if times else "Name the columns item, observer and label."
            self.fault(f"row {number}", f"one column {name}", found, remedy)
        return None if self.n_faults > before else tuple(map(names.index, READING_COLUMNS))

    def _row(
        self, cells: list[str], places: tuple[int, ...], width: int, number: int
    ) -> tuple[str, str, str] | None:
        """Return one row, or None with its faults."""
        if not places:
            return None
        if len(cells) != width:
            remedy = "Quote a cell with a comma, and leave a blank cell blank."
            self.fault(f"row {number}", f"{width} cells", str(len(cells)), remedy)
            return None
        item, observer, label = (cells[place] for place in places)
        before = self.n_faults
        for name, cell in (("item", item), ("observer", observer), ("label", label)):
            if cell and not cell.isprintable():
                place = f"row {number}, column {name}"
                expected = "a text without control characters"
                self.fault(place, expected, _shown(cell), "Mend it.")
            elif not cell and name != "label":
                place = f"row {number}, column {name}"
                self.fault(place, "an id", "nothing", "Write one, or remove the row.")
        return (item, observer, label) if self.n_faults == before else None
