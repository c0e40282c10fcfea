"""The programme's own copy of the reference: what state it is in, and edits of one cell.

An edit leaves every other line as it stands, and a table is there whole or as before.
"""

from __future__ import annotations

import csv
import gzip
import io
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from corallum.errors import Fault, InputError, NotFoundError
from corallum.store import schema
from corallum.store.database import readable_errors
from corallum.store.files import write_whole

__all__ = [
    "TableState",
    "add_line",
    "edit_line",
    "find_row",
    "folder_state",
    "keep_version",
    "kept_tables",
    "write_table",
]

TableState = tuple[tuple[str, int, int, int], ...]


def folder_state(folder: Path) -> TableState:
    """Return name, time, size and place of every table: while these stay, so do the tables."""
    found = []
    for path in _tables(folder):
        about = path.stat()
        found.append((str(path), about.st_mtime_ns, about.st_size, about.st_ino))
    return tuple(sorted(found))


def _tables(folder: Path) -> Iterator[Path]:
    """Yield the tables of a folder, here and one level down."""
    with readable_errors(folder):
        yield from (path for path in folder.glob("*.csv") if path.is_file())
        yield from (path for path in folder.glob("*/*.csv") if path.is_file())


@dataclass(frozen=True, slots=True)
class _Line:
    """One row of a table: its cells, and the characters that it takes up."""

    number: int
    cells: list[str]
    start: int
    end: int


def _lines(text: str) -> list[_Line]:
    """Cut a table into rows; a row may go over several lines of text."""
    pieces = text.splitlines(keepends=True)
    starts = [0]
    for piece in pieces:
        starts.append(starts[-1] + len(piece))
    reader = csv.reader(pieces, strict=True)
    found: list[_Line] = []
    before = 0
    for cells in reader:
        found.append(_Line(len(found) + 1, cells, starts[before], starts[reader.line_num]))
        before = reader.line_num
    return found


def find_row(text: str, wanted: Mapping[str, str]) -> int | None:
    """Return the number of the first row with these cells; the header is row 1."""
    lines = _lines(text)
    header = [name.strip().removeprefix("\ufeff") for name in lines[0].cells]
    for line in lines[1:]:
        row = dict(zip(header, (cell.strip() for cell in line.cells), strict=False))
        if all(row.get(name) == value for name, value in wanted.items()):
            return line.number
    return None


def edit_line(text: str, number: int, cells: Mapping[str, str] | None) -> str:
    """Return a table with cells of one row set anew, or without the row.

    Raises
    ------
    NotFoundError
        Where there is no such row.
    InputError
        Where there is no such column.
    """
    lines = _lines(text)
    if not 2 <= number <= len(lines):
        raise NotFoundError("row", number)
    line = lines[number - 1]
    if cells is None:
        return text[: line.start] + text[line.end :]
    header = [name.strip().removeprefix("\ufeff") for name in lines[0].cells]
    new = list(line.cells)
    for name, value in cells.items():
        if name not in header:
            fault = Fault("table", f"row {number}", f"one of the columns {', '.join(header)}",
                          repr(name)[:40], "Use one of these names.")  # fmt: skip
            raise InputError([fault])
        new[header.index(name)] = value
    return text[: line.start] + _written(new, _ending(text)) + text[line.end :]


def add_line(
    text: str, cells: Mapping[str, str], beside: Callable[[Mapping[str, str]], bool]
) -> str:
    """Return a table with a row more, after the last for which ``beside`` holds or at the end."""
    lines = _lines(text)
    header = [name.strip().removeprefix("\ufeff") for name in lines[0].cells]
    after = lines[-1]
    for line in lines[1:]:
        if beside(dict(zip(header, line.cells, strict=False))):
            after = line
    ending = _ending(text)
    head = text[: after.end]
    if not head.endswith(("\n", "\r")):
        head += ending
    return head + _written([cells.get(name, "") for name in header], ending) + text[after.end :]


def _ending(text: str) -> str:
    """Return how lines of a table end."""
    return "\r\n" if "\r\n" in text else "\n"


def _written(cells: list[str], ending: str) -> str:
    """Write one row."""
    stream = io.StringIO(newline="")
    csv.writer(stream, lineterminator=ending).writerow(cells)
    return stream.getvalue()


def write_table(folder: Path, name: str, text: str) -> None:
    """Write one table, whole or not at all.

    Raises
    ------
    StoreError
        Where it can't be written.
    """
    with readable_errors(folder / name):
        write_whole(folder / name, text.encode("utf-8"))


def keep_version(
    connection: sa.Connection, about: tuple[str, str, str], tables: Mapping[str, str]
) -> None:
    """Keep the tables under their hash, so that what they once said can be read again.

    ``about`` is the hash, the version and the moment.
    """
    table = schema.reference_version
    hash_, version, moment = about
    if connection.execute(sa.select(table.c.hash).where(table.c.hash == hash_)).first():
        return
    packed = gzip.compress(json.dumps(dict(tables), sort_keys=True).encode(), mtime=0)
    row = {"hash": hash_, "version": version, "first_at": moment, "tables": packed}
    connection.execute(table.insert(), row)


def kept_tables(connection: sa.Connection, hash_: str) -> dict[str, str]:
    """Return the tables that were kept under a hash.

    Raises
    ------
    NotFoundError
        Where no determination was made with it.
    """
    table = schema.reference_version
    packed = connection.execute(sa.select(table.c.tables).where(table.c.hash == hash_)).scalar()
    if packed is None:
        raise NotFoundError("reference", hash_)
    tables: dict[str, str] = json.loads(gzip.decompress(packed))
    return tables
