"""One table of an archive as delimited UTF-8 text, written and read row by row.

A cell that holds a separator, a quote or a line break stands in quotes, its own quotes
doubled, so that every text comes back as it was. Nothing is held in memory but one row.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import IO, Any, cast

from corallum.errors import Fault
from corallum.exchange.archive.guard import guarded, unguarded

__all__ = ["COMMA", "TAB", "TableWriter", "TextForm", "cell", "read_rows"]

Cell = str | int | float | None
_BROKEN = re.compile("[\udc80-\udcff]")
_WIDE_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_SHOWN = 30
# Letters of the longest cell: the history of a colony is one.
_MOST_CELL = 20_000_000


@dataclass(frozen=True, slots=True)
class TextForm:
    """How a table is written as text; an empty ``quote`` means that none is used."""

    separator: str = "\t"
    quote: str = '"'
    encoding: str = "utf-8"
    header_rows: int = 1


TAB = TextForm()
COMMA = TextForm(",")


def cell(value: Cell) -> str:
    """Write one value: nothing for None, numbers in full and as short as they come back."""
    if value is None:
        return ""
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return str(value)


class TableWriter:
    """Writes rows to an open binary stream; counts them in ``rows``.

    Parameters
    ----------
    stream : binary stream
        Stays open.
    form : TextForm
        Separator and quotes.
    """

    def __init__(self, stream: IO[bytes], form: TextForm = TAB) -> None:
        self.rows = 0
        self._form = form
        self._text = io.TextIOWrapper(stream, encoding="utf-8", newline="")

    def header(self, names: Sequence[str]) -> None:
        """Write the names of the columns; it is no row."""
        self._text.write(_line(names, self._form))

    def write(self, row: Sequence[Cell]) -> None:
        """Write one row."""
        self._text.write(_line([cell(value) for value in row], self._form))
        self.rows += 1

    def write_many(self, rows: Iterable[Sequence[str]]) -> None:
        """Write rows of texts that ``cell`` has made already."""
        lines = [_line(row, self._form) for row in rows]
        self._text.write("".join(lines))
        self.rows += len(lines)

    def close(self) -> None:
        """Bring what is held to the stream and let go of it."""
        self._text.flush()
        self._text.detach()


def _line(row: Sequence[str], form: TextForm) -> str:
    """Write one row; a cell that needs quotes gets them."""
    line = form.separator.join(row)
    quote = form.quote
    plain = quote not in line and "\n" not in line and "\r" not in line
    if plain and line.count(form.separator) == len(row) - 1:
        return f"{line}\n"
    marks = (form.separator, quote, "\n", "\r")
    cells = [
        f"{quote}{text.replace(quote, quote * 2)}{quote}"
        if any(mark in text for mark in marks) else text
        for text in row
    ]  # fmt: skip
    return f"{form.separator.join(cells)}\n"


def read_rows(
    stream: IO[bytes],
    file: str,
    columns: int,
    form: TextForm,
    faults: list[Fault],
    names: Sequence[str] = (),
) -> Iterator[tuple[int, list[str]]]:
    """Yield the rows of a table that can be read, with their numbers.

    Parameters
    ----------
    stream : binary stream
        The file, from its beginning.
    file : str
        What to call it.
    columns : int
        How many a row should have.
    form : TextForm
        Separator, quotes, encoding and how many rows are header.
    faults : list of Fault
        Gets every row that can't be read; such rows are not yielded.
    names : sequence of str
        Of the columns; a header that has one of them in another's place is a fault.

    Yields
    ------
    int and list of str
        Number of the row, the first being 1 and the header counted, and its cells as they
        were before they were guarded.
    """
    text = _decoded(stream, file, form, faults)
    if text is None:
        return
    reader = csv.reader(
        text, delimiter=form.separator, quotechar=form.quote or None, strict=bool(form.quote),
        quoting=csv.QUOTE_MINIMAL if form.quote else csv.QUOTE_NONE,
    )  # fmt: skip
    number, limit = 0, csv.field_size_limit(_MOST_CELL)
    try:
        for number, row in enumerate(reader, start=1):
            if number <= form.header_rows or not row:
                if number == form.header_rows and (
                    fault := _other_marks(row, columns, file, form) or _moved(row, names, file)
                ):
                    faults.append(fault)
                    return
                continue
            fault = _fault(row, columns, file, number)
            if fault is None:
                yield number, [unguarded(one) for one in row]
            else:
                faults.append(fault)
    except csv.Error as error:
        remedy = "Mend its quotes, or export it again."
        faults.append(
            Fault(file, f"row {number + 1}", "cells whose quotes are closed", str(error), remedy)
        )
    except UnicodeError as error:
        remedy = "Save it as UTF-8, and say so in meta.xml."
        expected = f"{form.encoding.upper()} text"
        faults.append(Fault(file, f"row {number + 1}", expected, str(error)[:60], remedy))
    finally:
        csv.field_size_limit(limit)


def _other_marks(row: Sequence[str], columns: int, file: str, form: TextForm) -> Fault | None:
    """Say that a table was saved with other marks between its cells, where its header shows it."""
    if len(row) != 1 or columns == 1:
        return None
    name = {"\t": "tabs", ",": "commas", ";": "semicolons"}
    found = next((words for mark, words in name.items() if mark in row[0]), "one cell")
    expected = f"{columns} columns with {name.get(form.separator, repr(form.separator))} between"
    remedy = "Save it with the marks that meta.xml says, or export it again."
    return Fault(file, "row 1", expected, found, remedy)


def _moved(row: Sequence[str], names: Sequence[str], file: str) -> Fault | None:
    """Say that columns changed places: a header bears the name of another column."""
    known = set(names)
    for column, (found, name) in enumerate(zip(row, names, strict=False), start=1):
        # A header may say anything else, as "id": only its place counts by the standard.
        if found != name and found in known and name in row:
            remedy = "Put the columns back in the order of meta.xml, or export it again."
            return Fault(file, f"row 1, column {column}", name, found, remedy)
    return None


def _decoded(
    stream: IO[bytes], file: str, form: TextForm, faults: list[Fault]
) -> io.TextIOWrapper | None:
    """Return the text of a stream, bytes that are none kept as marks, or note why not."""
    buffered: Any = stream if hasattr(stream, "peek") else io.BufferedReader(cast("Any", stream))
    start = buffered.peek(4)[:4]
    encoding = form.encoding.lower()
    if start.startswith(_WIDE_MARKS) and encoding.startswith("utf-8"):
        remedy = "Save it as UTF-8."
        faults.append(Fault(file, "", "UTF-8 text", "UTF-16 text", remedy))
        return None
    if encoding in {"utf-8", "utf8"}:
        encoding = "utf-8-sig"
    return io.TextIOWrapper(buffered, encoding=encoding, errors="surrogateescape", newline="")


def _fault(row: Sequence[str], columns: int, file: str, number: int) -> Fault | None:
    """Say what is wrong with a row, if anything."""
    if len(row) != columns:
        found = f"{len(row)}"
        remedy = "Mend the row: a cell is missing, too many, or its quotes are not closed."
        return Fault(file, f"row {number}", f"{columns} cells", found, remedy)
    for column, text in enumerate(row, start=1):
        if not text.isascii() and _BROKEN.search(text):
            place = f"row {number}, column {column}"
            found = repr(text.encode("utf-8", "surrogateescape"))[:_SHOWN]
            return Fault(file, place, "UTF-8 text", found, "Save the file as UTF-8.")
        if "\0" in text:
            place = f"row {number}, column {column}"
            return Fault(file, place, "text", "the character NUL", "Take it out.")
    return None
