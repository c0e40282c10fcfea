"""What a plain table is: its columns, each with meaning, unit, type and what may stand in it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

__all__ = ["BETWEEN", "TYPES", "Column", "PlainTable", "Value", "plain_cell"]

BETWEEN = "|"
"""Stands between the parts of a list in one cell."""
TYPES = ("text", "list", "number", "whole number", "date", "moment", "yes or no")

Value = str | int | float | bool | dt.date | dt.datetime | tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Parameters
    ----------
    name : str
        In the header; a unit stands at its end.
    meaning : str
        A sentence.
    kind : str
        One of `TYPES`.
    unit : str
        In words; empty where it has none.
    allowed : tuple of str
        All that may stand in it; empty where that can't be listed.
    blank : bool
        Whether it may be blank.
    span : str
        Of numbers, such as "0 to 1"; or of texts, what they refer to.
    """

    name: str
    meaning: str
    kind: str = "text"
    unit: str = ""
    allowed: tuple[str, ...] = ()
    blank: bool = False
    span: str = ""

    @property
    def values(self) -> str:
        """What may stand in it, in words."""
        if self.kind == "yes or no":
            return "yes, no"
        return ", ".join(self.allowed) or self.span


@dataclass(frozen=True, slots=True)
class PlainTable:
    """One table; its file is its name and ``.csv``."""

    name: str
    meaning: str
    columns: tuple[Column, ...]

    @property
    def file(self) -> str:
        """Name of the file."""
        return f"{self.name}.csv"

    @property
    def header(self) -> tuple[str, ...]:
        """Names of the columns."""
        return tuple(column.name for column in self.columns)

    def cells(self, row: Mapping[str, Value]) -> list[str | int | float | None]:
        """Return a row as cells in the order of the columns.

        Raises
        ------
        KeyError
            Where a column is missing, or one that is none: a slip of the program.
        """
        if row.keys() != set(self.header):
            odd = ", ".join(sorted(row.keys() ^ set(self.header)))
            raise KeyError(f"{self.name}: {odd}")
        return [plain_cell(row[name]) for name in self.header]


def plain_cell(value: Value) -> str | int | float | None:
    """Return a value as a cell holds it; texts are guarded when they are written."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return BETWEEN.join(value)
    if isinstance(value, dt.datetime):
        return value.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    if isinstance(value, dt.date):
        return value.isoformat()
    return str(value) if isinstance(value, StrEnum) else value
