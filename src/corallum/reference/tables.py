"""Rows out of CSV text, with every fault kept by file, row and column.

Works on text only: reading the disk is the store's work.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass, field

from corallum.errors import Fault

__all__ = ["Faults", "Row", "read_rows"]


@dataclass(slots=True)
class Faults:
    """The faults met so far, in the order in which they were met."""

    items: list[Fault] = field(default_factory=list)

    def add(self, where: str, place: str, expected: str, found: str, remedy: str) -> None:
        """Keep one fault."""
        self.items.append(Fault(where, place, expected, found, remedy))


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table, which knows where it stands and reports its own faults."""

    file: str
    number: int
    cells: dict[str, str]
    faults: Faults

    def fault(self, column: str, expected: str, remedy: str) -> None:
        """Report that this row's cell in ``column`` is wrong."""
        found = self.cells.get(column, "")
        self.faults.add(
            self.file,
            f"row {self.number}, column {column}",
            expected,
            repr(found) if found else "an empty cell",
            remedy,
        )

    def text(self, column: str) -> str:
        """Return the cell, without blanks around it; it may be empty."""
        return self.cells[column]

    def required(self, column: str) -> str:
        """Return the cell; an empty one is a fault."""
        if not self.cells[column]:
            self.fault(column, "a value", "Fill the cell.")
        return self.cells[column]

    def chosen(self, column: str, allowed: tuple[str, ...], *, blank: bool = False) -> str:
        """Return the cell if it is one of ``allowed``; else report it.

        Where nothing is allowed, the table that lists what is has the fault, and says so.
        """
        value = self.cells[column]
        if allowed and value not in allowed and not (blank and not value):
            self.fault(column, f"one of {', '.join(allowed)}", "Use one of these words.")
        return value

    def several(self, column: str, allowed: tuple[str, ...]) -> tuple[str, ...]:
        """Return the ``|``-joined words of the cell that are in ``allowed``."""
        words = tuple(word.strip() for word in self.cells[column].split("|") if word.strip())
        if any(word not in allowed for word in words):
            self.fault(column, f"words out of {', '.join(allowed)}", "Join them with |.")
        return tuple(word for word in words if word in allowed)

    def number_in(self, column: str, low: float, high: float) -> float:
        """Return the cell as a number from ``low`` to ``high``; else report it."""
        try:
            value = float(self.cells[column])
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            self.fault(column, f"a number from {low:g} to {high:g}", "Write it with a point.")
            return low
        return value


def read_rows(text: str, file: str, columns: tuple[str, ...], faults: Faults) -> list[Row]:
    """Read the rows of one table.

    Parameters
    ----------
    text : str
        The whole file.
    file : str
        Its name, for the faults.
    columns : tuple of str
        Columns that must be there; others are read and left alone.
    faults : Faults
        Where faults go; nothing is raised.

    Returns
    -------
    list of Row
        Empty where the header is unusable.
    """
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        lines = [(reader.line_num, line) for line in reader]
    except csv.Error as error:
        remedy = "Save the table as CSV (comma, UTF-8) again."
        faults.add(file, f"row {reader.line_num}", "comma-separated values", str(error), remedy)
        return []
    if not lines:
        remedy = "Put the column names in the first row."
        faults.add(file, "row 1", f"the columns {', '.join(columns)}", "an empty file", remedy)
        return []
    header = [name.strip() for name in lines[0][1]]
    if not _header_is_sound(header, file, columns, faults):
        return []
    rows = []
    for number, (_, line) in enumerate(lines[1:], start=2):
        if not any(cell.strip() for cell in line):
            continue
        if len(line) != len(header):
            remedy = "Quote a cell that holds a comma; fill or remove cells."
            faults.add(file, f"row {number}", f"{len(header)} cells", f"{len(line)}", remedy)
            continue
        cells = dict(zip(header, (cell.strip() for cell in line), strict=True))
        rows.append(Row(file, number, cells, faults))
    return rows


def _header_is_sound(
    header: list[str], file: str, columns: tuple[str, ...], faults: Faults
) -> bool:
    """Report missing and repeated columns at once."""
    missing = [name for name in columns if name not in header]
    repeated = sorted({name for name in header if header.count(name) > 1})
    if missing:
        remedy = "Add the column, spelt so."
        faults.add(file, "row 1", f"the columns {', '.join(missing)}", ", ".join(header), remedy)
    if repeated:
        remedy = "Keep one of each."
        faults.add(file, "row 1", "each column once", f"{', '.join(repeated)} twice", remedy)
    return not missing and not repeated
