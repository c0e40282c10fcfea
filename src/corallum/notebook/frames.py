"""Data frames in and out: pandas is loaded only when a data frame is asked for.

A frame that comes in is read as the same table in CSV would be, by the same reader, so that
what a column may hold is written in one place only.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any

from corallum.errors import Fault, InputError

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Frame", "as_csv", "is_missing", "records_of", "to_frame"]

# A data frame, anything else with ``to_dict("records")``, a row, or rows.
Frame = Any
_MISSING = frozenset({"nan", "NaN", "NaT", "<NA>"})
_LARGEST_WHOLE = 1e15


def records_of(frame: Frame, where: str) -> list[Mapping[str, object]]:
    """Return the rows of a data frame, or of a list of rows.

    Parameters
    ----------
    frame : data frame, mapping, or iterable of mappings
        A data frame is anything that has ``to_dict("records")``; one mapping, or one row of a
        data frame, is one row.
    where : str
        What to call it in a fault.

    Returns
    -------
    list of mapping
        By name of column.

    Raises
    ------
    InputError
        Where it is none of these, or a column comes twice.
    """
    columns = [str(name) for name in getattr(frame, "columns", ())]
    twice = sorted({name for name in columns if columns.count(name) > 1})
    if twice:
        raise InputError([Fault(where, "columns", "each once", ", ".join(twice), "Keep one.")])
    to_dict = getattr(frame, "to_dict", None)
    rows: object = frame
    if callable(to_dict):
        try:
            rows = to_dict("records")
        except TypeError:
            # A series: one row of a data frame, whose keys are the columns.
            rows = to_dict()
    if isinstance(rows, Mapping):
        rows = [rows]
    if isinstance(rows, str | bytes) or not isinstance(rows, Iterable):
        raise InputError([_no_rows(where, frame)])
    found = list(rows)
    faults = [
        Fault(where, f"row {i}", "a row by names of columns", repr(row)[:60], "Mend it.")
        for i, row in enumerate(found, start=1)
        if not isinstance(row, Mapping)
    ]
    if faults:
        raise InputError(faults)
    if not found:
        raise InputError([Fault(where, "", "rows", "none at all", "Give one row each.")])
    return found


def _no_rows(where: str, frame: object) -> Fault:
    """Say that something is no table."""
    remedy = 'Give a data frame, or rows such as [{"id": "c1", ...}].'
    return Fault(where, "", "a data frame or rows", type(frame).__name__, remedy)


def as_csv(rows: Sequence[Mapping[str, object]], where: str) -> str:
    """Write rows as the CSV that the readers of files read.

    Parameters
    ----------
    rows : sequence of mapping
        By name of column; a missing value is an empty cell, a list is a set of states.
    where : str
        What to call it in a fault.

    Returns
    -------
    str
        A header and a line a row: in faults the header is row 1.

    Raises
    ------
    InputError
        Where a cell can't stand on one line, with every such cell.
    """
    columns = list(dict.fromkeys(str(name) for row in rows for name in row))
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\n")
    table.writerow(columns)
    faults = []
    for number, row in enumerate(rows, start=2):
        cells = {str(name): _cell(value) for name, value in row.items()}
        for name, cell in cells.items():
            if "\n" in cell or "\r" in cell:
                place = f"row {number}, {name}"
                faults.append(Fault(where, place, "one line", repr(cell)[:60], "Mend it."))
        table.writerow([cells.get(name, "") for name in columns])
    if faults:
        raise InputError(faults)
    return out.getvalue()


def is_missing(value: object) -> bool:
    """Whether a cell holds nothing: None, or what a data frame puts in its place."""
    return value is None or (not isinstance(value, str) and str(value) in _MISSING)


def _cell(value: object) -> str:
    """Write one value as its cell."""
    if is_missing(value):
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, list | tuple | set | frozenset):
        parts = sorted(value, key=str) if isinstance(value, set | frozenset) else value
        return "|".join(str(part) for part in parts)
    text = str(value)
    try:
        real = float(text)
    except ValueError:
        return text
    # A column of whole numbers with a gap comes as 5.0, and a number of readings is whole.
    whole = math.isfinite(real) and real.is_integer() and abs(real) < _LARGEST_WHOLE
    return f"{real:.0f}" if whole else text


def to_frame(columns: Sequence[str], rows: Sequence[Sequence[object]]) -> pd.DataFrame:
    """Make a data frame.

    Parameters
    ----------
    columns : sequence of str
        Their names.
    rows : sequence of sequence
        Values in the order of the columns; None is missing.

    Returns
    -------
    pandas.DataFrame
        One row for each.

    Raises
    ------
    InputError
        Where pandas is not installed.
    """
    try:
        pandas = import_module("pandas")
    except ImportError as error:
        remedy = "Install Corallum with its extra notebook, which brings pandas."
        fault = Fault("data frame", "", "the package pandas", "none installed", remedy)
        raise InputError([fault]) from error
    return pandas.DataFrame([list(row) for row in rows], columns=list(columns))
