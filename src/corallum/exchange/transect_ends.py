"""Where transects begin and end, out of CSV text, all faults at once by row."""

from __future__ import annotations

import math
from dataclasses import dataclass

from corallum.exchange.sheet import Sheet, shown

__all__ = ["TransectEnds", "read_transect_ends"]

_NUMBERS = {
    "from_latitude": 90.0, "from_longitude": 180.0, "to_latitude": 90.0, "to_longitude": 180.0,
}  # fmt: skip
_COLUMNS = ("survey", "site", "transect", *_NUMBERS)


@dataclass(frozen=True, slots=True)
class TransectEnds:
    """A transect by its names, and latitude and longitude of both its ends."""

    survey: str
    site: str
    transect: str
    ends: tuple[tuple[float, float], tuple[float, float]]
    row: int


def read_transect_ends(text: str, file: str) -> tuple[TransectEnds, ...]:
    """Read the ends of transects, one a row.

    Parameters
    ----------
    text : str
        CSV with the columns survey, site, transect, from_latitude, from_longitude,
        to_latitude and to_longitude; degrees north and east on WGS84.
    file : str
        What to call the file in a fault.

    Raises
    ------
    InputError
        With every fault by row and column.
    """
    sheet = Sheet(file, _COLUMNS)
    found: dict[tuple[str, str, str], TransectEnds] = {}
    for number, row in sheet.rows(text):
        names = (row["survey"], row["site"], row["transect"])
        degrees = [_degrees(sheet, number, column, row[column]) for column in _NUMBERS]
        if names in found:
            told = f"the transect of row {found[names].row}"
            sheet.fault(f"row {number}", "each transect once", told)
        elif not all(names):
            sheet.fault(f"row {number}", "survey, site and transect", "a blank cell")
        else:
            ends = ((degrees[0], degrees[1]), (degrees[2], degrees[3]))
            found[names] = TransectEnds(*names, ends, number)
    if not found and not sheet.n_faults:
        sheet.fault("", "rows under the header", "none", "Write one transect a row.")
    sheet.check()
    return tuple(found.values())


def _degrees(sheet: Sheet, number: int, column: str, text: str) -> float:
    """Read degrees; what is none is a fault."""
    most = _NUMBERS[column]
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not abs(value) <= most:
        expected = f"degrees from {-most:g} to {most:g}"
        sheet.fault(f"row {number}, column {column}", expected, shown(text))
    return value
