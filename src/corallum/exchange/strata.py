"""Strata and their sites out of CSV text, all faults at once by row."""

from __future__ import annotations

import math
from dataclasses import dataclass

from corallum.exchange.sheet import Sheet, shown

__all__ = ["GivenStratum", "read_strata"]

_COLUMNS = ("stratum", "area", "site")


@dataclass(frozen=True, slots=True)
class GivenStratum:
    """A stratum as a table tells it; sites by their names."""

    name: str
    area: float
    sites: tuple[str, ...]


def read_strata(text: str, file: str) -> tuple[GivenStratum, ...]:
    """Read a table with the columns stratum, area and site, one site a row.

    Parameters
    ----------
    text : str
        CSV, a header in the first row. The area of a stratum is the same in all its rows, in
        any one unit; shares will do.
    file : str
        What to call the file in a fault.

    Returns
    -------
    tuple of GivenStratum
        In the order of the rows.

    Raises
    ------
    InputError
        With every fault by row.
    """
    sheet = Sheet(file, _COLUMNS)
    areas: dict[str, float] = {}
    sites: dict[str, list[str]] = {}
    for number, row in sheet.rows(text):
        place = f"row {number}"
        name, site = row["stratum"], row["site"]
        if not name or not site:
            sheet.fault(place, "a stratum and a site", "a blank cell")
            continue
        area = _number(row["area"])
        if not 0 < area < math.inf:
            sheet.fault(f"{place}, column area", "a number above 0", shown(row["area"]))
            continue
        if areas.setdefault(name, area) != area:
            expected = f"{areas[name]:g}, as in the rows above"
            sheet.fault(f"{place}, column area", expected, f"{area:g}")
        if any(site in known for known in sites.values()):
            sheet.fault(f"{place}, column site", "each site once", shown(site))
        sites.setdefault(name, []).append(site)
    if not sites and not sheet.n_faults:
        sheet.fault("", "rows under the header", "none", "Write one site a row.")
    sheet.check()
    return tuple(GivenStratum(name, areas[name], tuple(found)) for name, found in sites.items())


def _number(text: str) -> float:
    """Read a number; NaN where it is none."""
    try:
        return float(text)
    except ValueError:
        return math.nan
