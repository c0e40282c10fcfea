"""The rows of a NEXUS matrix: names, and cells in the symbols that the file declares."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from corallum.exchange.nexus.commands import Command
from corallum.exchange.nexus.matrix import GAP, MISSING, Cell
from corallum.exchange.reference_tables import Reading

__all__ = ["Format", "Rows", "read_rows"]

_CELL = re.compile(r"\([^()]*\)|\{[^{}]*\}|\S")
_LABEL = re.compile(r"\s*('(?:[^'\n]|'')*'|\S+)")


@dataclass(slots=True)
class Format:
    """How cells are written; the defaults are those of the format."""

    symbols: str = "01"
    missing: str = "?"
    gap: str = ""
    matchchar: str = ""
    equate: dict[str, str] = field(default_factory=dict)
    interleave: bool = False
    respectcase: bool = False


@dataclass(frozen=True, slots=True)
class Rows:
    """What was read: names, cells, the highest state of each column, and uncertain places."""

    taxa: tuple[str, ...]
    cells: tuple[tuple[Cell, ...], ...]
    most_state: tuple[int, ...]
    uncertain: frozenset[tuple[int, int]]


@dataclass(slots=True)
class _Table:
    """Rows while they are read, by the number of their taxon."""

    format: Format
    width: int
    reading: Reading
    names: list[str]
    closed: bool
    cells: dict[int, list[Cell]] = field(default_factory=dict)
    uncertain: set[tuple[int, int]] = field(default_factory=set)
    lines: dict[int, int] = field(default_factory=dict)
    numbers: dict[str, int] = field(default_factory=dict)
    symbols: dict[str, int] = field(default_factory=dict)

    def number_of(self, label: str) -> int | None:
        """Return the number of a taxon by its name, or by its number where no name is it."""
        if label.lower() in self.numbers:
            return self.numbers[label.lower()]
        is_number = self.closed and label.isascii() and label.isdigit() and len(label) < 10
        return int(label) - 1 if is_number and 0 < int(label) <= len(self.names) else None

    def is_cells(self, text: str) -> bool:
        """Whether every sign of a word may stand in a cell, so that it is no name."""
        format_ = self.format
        others = {format_.missing, format_.gap, format_.matchchar, *"(){}~,", *format_.equate}
        return all(sign in self.symbols or sign in others for sign in text)

    def add(self, label: str) -> int:
        """Add a taxon that was not listed; return its number."""
        self.names.append(label)
        self.numbers[label.lower()] = len(self.names) - 1
        return len(self.names) - 1


def read_rows(
    command: Command, format_: Format, sizes: tuple[list[str], int, int], reading: Reading
) -> Rows:
    """Read the rows of a matrix; what is wrong is kept as faults.

    Parameters
    ----------
    command : Command
        MATRIX.
    format_ : Format
        How cells are written.
    sizes : (list of str, int, int)
        Names of the taxa, as far as they were listed; numbers of taxa and of characters, 0
        where not said.
    reading : Reading
        Takes the faults.

    Returns
    -------
    Rows
        Whole only where no fault was met.
    """
    names, n_taxa, width = sizes
    if not width:
        remedy = "Add DIMENSIONS NCHAR=... before the matrix."
        reading.fault(f"line {command.line}", "the number of characters", "none", remedy)
    if reading.faults:
        return Rows((), (), (), frozenset())
    table = _Table(format_, width, reading, list(names), closed=bool(names))
    table.numbers = {name.lower(): n for n, name in reversed(list(enumerate(names)))}
    table.symbols = _numbered(format_)
    current: int | None = None
    for line, text in _lines(command):
        current = _read_line(text, line, current, table)
    _check_lengths(table, n_taxa, command)
    taxa = tuple(table.names)
    cells = tuple(tuple(table.cells.get(n, ())) for n in range(len(taxa)))
    most = [-1] * width
    for row in cells:
        for i, cell in enumerate(row[:width]):
            most[i] = max(most[i], *(cell or (-1,)))
    return Rows(taxa, cells, tuple(most), frozenset(table.uncertain))


def _lines(command: Command) -> Iterator[tuple[int, str]]:
    """Yield the lines of a matrix that hold anything, with their numbers."""
    for n, text in enumerate(command.body.split("\n")):
        if text.strip():
            yield command.line + n, text


def _read_line(text: str, line: int, current: int | None, table: _Table) -> int | None:
    """Read a line: the name of a taxon and cells, or more cells of the taxon before."""
    match = _LABEL.match(text)
    label = match[1] if match else ""
    if label.startswith("'") and len(label) > 1:
        label = label[1:-1].replace("''", "'")
    else:
        label = label.replace("_", " ")
    short = current is not None and len(table.cells[current]) < table.width
    is_row = table.format.interleave or label.lower() in table.numbers
    if short and not is_row and (table.closed or table.is_cells(match[1] if match else "")):
        _read_cells(text, line, current, table)
        return current
    known = table.number_of(label)
    if known is None:
        if table.closed:
            remedy = "Mend the name, or add it to TAXLABELS."
            table.reading.fault(f"line {line}", "the name of a taxon", repr(label)[:60], remedy)
            return None
        known = table.add(label)
    elif known in table.cells and not table.format.interleave:
        remedy = "Remove one of the rows, or declare INTERLEAVE."
        table.reading.fault(f"line {line}", f"one row of {label}", "a second", remedy)
        return None
    table.cells.setdefault(known, [])
    table.lines[known] = line
    _read_cells(text[match.end() if match else 0 :], line, known, table)
    return known


def _read_cells(text: str, line: int, number: int | None, table: _Table) -> None:
    """Add the cells of a line to a row; the first unknown symbol of the line is a fault."""
    if number is None:
        return
    row = table.cells[number]
    said = False
    for match in _CELL.finditer(text):
        sign = match[0]
        cell = _cell(sign, len(row), table)
        if cell == (-1,):
            if not said:
                expected = f"symbols out of {table.format.symbols}, {table.format.missing}"
                expected += f" or {table.format.gap}" if table.format.gap else ""
                place = f"line {line}, taxon {table.names[number]}, character {len(row) + 1}"
                remedy = "Mend the cell, or add the symbol to FORMAT SYMBOLS."
                table.reading.fault(place, expected, repr(sign), remedy)
            said = True
            cell = MISSING
        if sign.startswith("{"):
            table.uncertain.add((number, len(row)))
        row.append(cell)


def _cell(sign: str, column: int, table: _Table) -> Cell:
    """Return what a sign scores; (-1,) where it is no sign of the file."""
    format_ = table.format
    if sign == format_.missing:
        return MISSING
    if format_.gap and sign == format_.gap:
        return GAP
    if format_.matchchar and sign == format_.matchchar:
        first = table.cells.get(0, [])
        return first[column] if column < len(first) else (-1,)
    if sign in format_.equate:
        sign = format_.equate[sign]
    inner = sign[1:-1] if len(sign) > 1 else sign
    found: set[int] = set()
    signs = [one for one in inner if not one.isspace() and one != ","]
    while signs:
        one = signs.pop(0)
        low = high = table.symbols.get(one, -1)
        if len(signs) > 1 and signs[0] == "~":
            high = table.symbols.get(signs[1], -1)
            del signs[:2]
        if low < 0 or high < low:
            return (-1,)
        found |= set(range(low, high + 1))
    return tuple(sorted(found)) or (-1,)


def _numbered(format_: Format) -> dict[str, int]:
    """Return the number of each symbol; unless the file says otherwise, in either case."""
    found: dict[str, int] = {}
    for n, sign in enumerate(format_.symbols):
        for one in (sign,) if format_.respectcase else (sign, sign.upper(), sign.lower()):
            found.setdefault(one, n)
    return found


def _check_lengths(table: _Table, n_taxa: int, command: Command) -> None:
    """Report rows that are too short or too long, and taxa without a row."""
    for number, row in sorted(table.cells.items()):
        if len(row) != table.width:
            place = f"line {table.lines[number]}, taxon {table.names[number]}"
            expected = f"{table.width} cells"
            remedy = "Add or remove cells, or mend NCHAR."
            table.reading.fault(place, expected, str(len(row)), remedy)
    missing = [name for n, name in enumerate(table.names) if n not in table.cells]
    if missing:
        shown = ", ".join(missing[:10]) + (" and others" if len(missing) > 10 else "")
        place = f"line {command.line}"
        table.reading.fault(place, "a row for every taxon", f"none for {shown}", "Add the rows.")
    elif n_taxa and len(table.names) != n_taxa:
        expected, found = f"{n_taxa} taxa, as NTAX says", str(len(table.names))
        table.reading.fault(f"line {command.line}", expected, found, "Mend NTAX or the matrix.")
