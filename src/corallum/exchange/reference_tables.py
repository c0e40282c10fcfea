"""The tables of a reference as rows, and rows as the text of tables.

A file of another kind holds no frequency words and no ids of ours: what stands in for them
is said here, once for every kind of file.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from corallum.errors import Fault, InputError
from corallum.reference import genera, scheme_tables
from corallum.reference.tables import Faults, Row, read_rows

__all__ = [
    "COLUMNS",
    "DEFAULT_CAUTIONS",
    "FILE_SOURCE",
    "Reading",
    "default_rows",
    "number_text",
    "plain_id",
    "refuse_unwritable",
    "table_rows",
    "tables_from_rows",
    "value_text",
    "words_for",
]

# Columns that may stand in a table beside those that must.
_FURTHER = {"views": ("source",), "methods": ("definition", "source")}
COLUMNS: Mapping[str, tuple[str, ...]] = {
    table: (*columns, *(name for name in _FURTHER.get(table, ()) if name not in columns))
    for table, columns in (
        *((name.removesuffix(".csv"), columns) for name, columns in scheme_tables.COLUMNS.items()),
        *genera.COLUMNS.items(),
    )
}
"""Columns of each table that the program knows, needed or read over."""

# Shown with every answer, and with every answer that asks for a voucher.
DEFAULT_CAUTIONS = ("look_only", "voucher")
# What stands as the source of all that a file says without naming one.
FILE_SOURCE = "read_from_file"
# A file of another kind throughout would be as many faults as it has signs.
_MOST_FAULTS = 200
_DECIMAL = re.compile(r"[+-]?\d+(\.\d*)?([eE][+-]?\d+)?")
# What a text of the Extensible Markup Language may hold (XML 1.0, production 2).
_UNWRITABLE = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_LEAST_SUM, _MOST_SUM = 0.7, 1.3


def table_rows(files: Mapping[str, str], table: str) -> list[Row]:
    """Return the rows of a table, out of its file and of every file of its folder."""
    names = sorted(name for name in files if name == f"{table}.csv" or name.startswith(f"{table}/"))
    return [row for name in names for row in read_rows(files[name], name, (), Faults())]


def refuse_unwritable(files: Mapping[str, str]) -> None:
    """Refuse cells with signs that no text file may hold.

    Raises
    ------
    InputError
        With every such cell by file, row and column.
    """
    faults: list[Fault] = []
    for table, columns in COLUMNS.items():
        for row in table_rows(files, table):
            for column in columns:
                found = _UNWRITABLE.search(row.cells.get(column, ""))
                if found:
                    place = f"row {row.number}, column {column}"
                    sign = f"the sign U+{ord(found[0]):04X}"
                    remedy = "Remove it from the cell."
                    faults.append(Fault(row.file, place, "text that prints", sign, remedy))
    if faults:
        raise InputError(faults)


def tables_from_rows(rows: Mapping[str, Sequence[Mapping[str, str]]]) -> dict[str, str]:
    """Return the text of every table, those without rows too."""
    found = {}
    for table, columns in COLUMNS.items():
        out = io.StringIO(newline="")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows([row.get(name, "") for name in columns] for row in rows.get(table, ()))
        found[f"{table}.csv"] = out.getvalue()
    return found


def default_rows(shipped: Mapping[str, str]) -> dict[str, list[Mapping[str, str]]]:
    """Return the rows that a file of another kind leaves to the shipped reference.

    These are the frequency words, the settings, the methods of measuring and the two cautions
    that show with every answer; and the sources that they name.
    """
    found: dict[str, list[Mapping[str, str]]] = {
        table: [row.cells for row in table_rows(shipped, table)]
        for table in ("words", "settings", "methods")
    }
    cautions = [row.cells for row in table_rows(shipped, "cautions")]
    found["cautions"] = [cells for cells in cautions if cells["caution"] in DEFAULT_CAUTIONS]
    named = {cells.get("source", "") for rows in found.values() for cells in rows}
    sources = [row.cells for row in table_rows(shipped, "sources")]
    found["sources"] = [cells for cells in sources if cells["source"] in named]
    return found


def number_text(text: str) -> str:
    """Return a number as every reader takes it: as written, or else in plain digits."""
    return text if _DECIMAL.fullmatch(text) else repr(float(text))


def plain_id(text: str, taken: Iterable[str], blank: str) -> str:
    """Make an id of a label: lower case, underscores, none of those taken.

    Parameters
    ----------
    text : str
        The label.
    taken : iterable of str
        Ids that stand already.
    blank : str
        What to call it where the label has no letter or digit.
    """
    flat = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "_", flat).strip("_")[:60].strip("_") or blank
    known = set(taken)
    found, n = stem, 2
    while found in known:
        found, n = f"{stem}_{n}", n + 1
    return found


def words_for(n: int, words: Mapping[str, float]) -> list[str]:
    """Return a frequency word for each of ``n`` states of which no more is known.

    One state is ``usually`` there. Several get the same word, that whose shares add up
    nearest to 1; where no word serves all, the first get one word and the others the next
    weaker, so that the shares add up to 0.7 to 1.3, as a cell of the table must.

    Parameters
    ----------
    n : int
        How many states, 1 or more.
    words : mapping of str to float
        Share of colonies of each word.

    Returns
    -------
    list of str
        A word for each; empty where no mixture of two words serves.
    """
    if n == 1:
        return ["usually"]
    ranked = sorted(words, key=lambda word: -words[word])
    alike = [word for word in ranked if _LEAST_SUM <= n * words[word] <= _MOST_SUM]
    if alike:
        return [min(alike, key=lambda word: abs(n * words[word] - 1))] * n
    for strong, weak in pairwise(ranked):
        for k in range(1, n):
            if _LEAST_SUM <= k * words[strong] + (n - k) * words[weak] <= _MOST_SUM:
                return [strong] * k + [weak] * (n - k)
    return []


def value_text(states: Sequence[str], words: Sequence[str]) -> str:
    """Return the cell that gives each state its word."""
    return "; ".join(f"{word} {state}" for word, state in zip(words, states, strict=True))


@dataclass(slots=True)
class Reading:
    """What is found while a file of another kind is read: rows, faults, and what is left out.

    ``rows`` are cells by table; ``left_out`` says what could not be taken, and how often.
    """

    file: str
    rows: dict[str, list[dict[str, str]]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    left_out: dict[str, int] = field(default_factory=dict)
    _is_named: bool = False

    def row(self, table: str, /, **cells: str) -> dict[str, str]:
        """Add a row to a table."""
        self.rows.setdefault(table, []).append(cells)
        return cells

    def fault(self, place: str, expected: str, found: str, remedy: str) -> None:
        """Keep a fault of the file."""
        self.faults.append(Fault(self.file, place, expected, found, remedy))

    def leave(self, what: str, count: int = 1) -> None:
        """Say that something of the file is not taken."""
        self.left_out[what] = self.left_out.get(what, 0) + count

    def source(self) -> str:
        """Return the key of the source that is the file itself, adding it where first needed."""
        rows = self.rows.setdefault("sources", [])
        if not self._is_named:
            self._is_named = True
            citation = f"Read from {self.file.replace(chr(92), '/').rpartition('/')[2]}."
            rows.append({"source": FILE_SOURCE, "kind": "file", "citation": citation})
        return FILE_SOURCE

    def raise_faults(self) -> None:
        """Raise what faults there are.

        Raises
        ------
        InputError
            With all of them; of very many, the first and how many more there are.
        """
        if not self.faults:
            return
        more = len(self.faults) - _MOST_FAULTS
        shown = self.faults[:_MOST_FAULTS]
        if more > 0:
            found = f"{more} faults more"
            shown.append(Fault(self.file, "", "no faults", found, "Mend these first."))
        raise InputError(shown)
