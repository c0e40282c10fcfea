"""Edits of the texts of tables, and the faults that the loader then finds."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from functools import cache

import pytest

from corallum.errors import Fault, TableError
from corallum.reference.reference import parse_reference
from corallum.store.reference_folder import shipped_reference

Tables = dict[str, str]


def rows_of(text: str) -> list[list[str]]:
    """Rows of a table, the header first."""
    return list(csv.reader(io.StringIO(text, newline="")))


def text_of(rows: Sequence[Sequence[str]]) -> str:
    """A table as text."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def edited(
    tables: Mapping[str, str], name: str, where: Mapping[str, str], **changes: str
) -> tuple[Tables, int]:
    """Change cells of the first row that holds ``where``; return the tables and its number."""
    rows = rows_of(tables[name])
    header = rows[0]
    for i, row in enumerate(rows[1:], start=1):
        if all(row[header.index(column)] == value for column, value in where.items()):
            for column, value in changes.items():
                row[header.index(column)] = value
            return {**tables, name: text_of(rows)}, i + 1
    raise LookupError(f"no row of {name} with {where}")


def added(tables: Mapping[str, str], name: str, **cells: str) -> tuple[Tables, int]:
    """Add a row at the end; return the tables and its number."""
    rows = rows_of(tables[name])
    rows.append([cells.get(column, "") for column in rows[0]])
    return {**tables, name: text_of(rows)}, len(rows)


def without(tables: Mapping[str, str], name: str, **where: str) -> Tables:
    """Leave out every row that holds ``where``."""
    header, *rows = rows_of(tables[name])
    kept = [
        row for row in rows if any(row[header.index(column)] != v for column, v in where.items())
    ]
    assert len(kept) < len(rows)
    return {**tables, name: text_of([header, *kept])}


def faults_of(tables: Mapping[str, str]) -> tuple[Fault, ...]:
    """Faults of tables that are not sound."""
    with pytest.raises(TableError) as caught:
        parse_reference(tables)
    return caught.value.faults


def lines_of(tables: Mapping[str, str]) -> list[str]:
    """Faults of tables that are not sound, each as its line."""
    return [str(fault) for fault in faults_of(tables)]


@cache
def small_tables() -> Mapping[str, str]:
    """The scheme and the genera of one shipped file: quick to read again and again."""
    files = shipped_reference()
    genera = {row[0] for row in rows_of(files["genera/atlantic.csv"])}
    small = {name: text for name, text in files.items() if "/" not in name}
    small |= {name: text for name, text in files.items() if name.endswith("/atlantic.csv")}
    for name, columns in (("priors.csv", (1,)), ("lookalikes/atlantic.csv", (0, 1))):
        header, *rows = rows_of(files[name])
        small[name] = text_of(
            [header, *(row for row in rows if all(row[c] in genera for c in columns))]
        )
    return small
