"""Rows out of CSV text with a header, and every fault of them by row."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Sequence

from corallum.errors import Fault, InputError
from corallum.exchange.archive.guard import unguarded

__all__ = ["Sheet", "plain", "shown"]

_MOST_FAULTS = 100
_MOST_SHOWN = 40


def shown(value: object) -> str:
    """Show a value of a file in at most 40 characters."""
    text = repr(value)
    return text if len(text) <= _MOST_SHOWN else f"{text[: _MOST_SHOWN - 3]}..."


def plain(name: str) -> str:
    """Return a name as it stands, or shown where it would break a line."""
    return name if name.isprintable() and len(name) <= _MOST_SHOWN else shown(name)


class Sheet:
    """A table that is being read.

    Parameters
    ----------
    file : str
        What to call it in a fault.
    needed : sequence of str
        Columns that it must have.
    """

    def __init__(self, file: str, needed: Sequence[str]) -> None:
        self.file, self.needed = file, tuple(needed)
        self.n_faults = 0
        self._faults: list[Fault] = []

    def fault(self, place: str, expected: str, found: str, remedy: str = "Mend it.") -> None:
        """Count one fault, and keep it if it is one of the first hundred."""
        self.n_faults += 1
        if len(self._faults) < _MOST_FAULTS:
            self._faults.append(Fault(self.file, place, expected, found, remedy))

    def check(self) -> None:
        """Refuse the table if anything in it was wrong.

        Raises
        ------
        InputError
            With the first hundred faults, and how many more there are.
        """
        more = self.n_faults - len(self._faults)
        rest = [Fault(self.file, "", "no faults", f"{more} more", "Mend these first.")]
        if self._faults:
            raise InputError(self._faults + (rest if more else []))

    def rows(
        self, text: str, check_columns: Callable[[list[str], str], None] = lambda *_: None
    ) -> Iterator[tuple[int, dict[str, str]]]:
        """Yield the number and the cells of each row that is as long as the header.

        Parameters
        ----------
        text : str
            CSV. No cell holds a line break, so that a quote left open can't swallow the
            rows below. Blank rows are left out.
        check_columns : callable
            Is given the header and its place, and may find faults in it: then no row
            is read.
        """
        header: list[str] = []
        for number, line in enumerate(io.StringIO(text, newline=""), start=1):
            cells = self._cells(line, f"row {number}")
            if cells is None and not header:
                return
            if not cells or not any(cells):
                continue
            if header:
                if len(cells) == len(header):
                    yield number, dict(zip(header, cells, strict=True))
                    continue
                remedy = "Quote a cell with a comma, and leave a blank cell blank."
                self.fault(f"row {number}", f"{len(header)} cells", str(len(cells)), remedy)
                continue
            header = cells
            self._header(header, f"row {number}")
            check_columns(header, f"row {number}")
            if self.n_faults:
                return

    def _cells(self, line: str, place: str) -> list[str] | None:
        """Split one line; None with a fault."""
        try:
            cells = next(csv.reader([line], strict=True), [])
        except csv.Error as error:
            remedy = "Close each quote on its own line."
            self.fault(place, "comma-separated values", str(error), remedy)
            return None
        return [unguarded(cell.strip()) for cell in cells]

    def _header(self, names: list[str], place: str) -> None:
        """Find columns that are there twice or not at all."""
        for name in sorted({name for name in names if name and names.count(name) > 1}):
            found = f"{names.count(name)} of them"
            self.fault(place, f"one column {plain(name)}", found, "Keep one.")
        columns = ", ".join(map(plain, names[:8]))
        for name in self.needed:
            if name not in names:
                self.fault(place, f"a column {name}", columns, "Add it.")
