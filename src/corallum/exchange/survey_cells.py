"""Single cells of a table of slates: numbers in one unit, days, whole numbers and short texts."""

from __future__ import annotations

import datetime as dt
import difflib
import math
import re
from collections.abc import Collection

from corallum.exchange.sheet import shown

__all__ = [
    "BadCell", "known_name", "one_text", "read_date", "read_number", "read_photo", "serial_day",
    "whole_number",
]  # fmt: skip

_NUMBER = re.compile(r"[+-]?([0-9]{1,15}\.?[0-9]{0,15}|\.[0-9]{1,15})([eE][+-]?[0-9]{1,2})?")
_WHOLE = re.compile(r"([0-9]{1,9})(\.0{0,6})?")
_COMMA = re.compile(r"[+-]?[0-9.]*,[0-9,.]+")
_WITH_UNIT = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?\s*([a-zA-Zµ]{1,12}|[\"'%′″])\.?")
_NO_NUMBER = ("nan", "inf", "infinity", "na", "n/a", "-", "null", "none")
_ISO = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})([T ][0-9]{2}:[0-9]{2}[0-9:.+\-]*Z?)?")
_PARTED = re.compile(r"([0-9]{1,2})([/. -])([0-9]{1,2})\2([0-9]{2}|[0-9]{4})")
_SERIAL = re.compile(r"([0-9]{1,7})(\.[0-9]{1,12})?")
_SHA256 = re.compile(r"[0-9a-fA-F]{64}")
_FIRST_YEAR, _LAST_YEAR = 1900, 2199
_FALSE_LEAP_DAY = 60
# A larger number is no length, depth or share of a survey.
_MOST = 1e7
_DIGITS = 9


class BadCell(Exception):
    """A cell that can't be read: what was expected, what was found, and what to do."""

    def __init__(self, expected: str, found: str, remedy: str) -> None:
        self.expected, self.found, self.remedy = expected, found, remedy
        super().__init__(expected)


def read_number(
    cell: str, unit: str, factor: float = 1.0, *, signed: bool = False, most: float = _MOST
) -> float:
    """Read a number and bring it to the unit that is kept.

    Parameters
    ----------
    cell : str
        As it was written.
    unit : str
        That the column is in.
    factor : float
        What one of it is in the unit that is kept.
    signed : bool
        Whether it may be below 0.
    most : float
        Largest number, in the unit that is kept.

    Raises
    ------
    BadCell
        Where it is no number by itself, negative, or too large.
    """
    in_unit = f" in {unit}" if unit else ""
    if not _NUMBER.fullmatch(cell):
        raise _no_number(cell, in_unit)
    value = round(float(cell) * factor, _DIGITS)
    if value < 0 and not signed:
        expected = f"a number{in_unit} that is not negative"
        raise BadCell(expected, shown(cell), "Write it without the sign if it is right.")
    if not math.isfinite(value) or abs(value) > most:
        top = f"{most / factor:g}"
        raise BadCell(f"a number{in_unit} up to {top}", shown(cell), "Check it, and its unit.")
    return value + 0.0


def _no_number(cell: str, in_unit: str) -> BadCell:
    """Say why a cell is no number."""
    expected, found = f"a number{in_unit}", shown(cell)
    if _WITH_UNIT.fullmatch(cell):
        remedy = "Write the number alone, and set one unit for the column."
        return BadCell(expected, f"{found}, a number with its unit", remedy)
    if _COMMA.fullmatch(cell):
        remedy = "Write a point before decimals, and nothing between thousands."
        return BadCell(f"{expected} with a decimal point", found, remedy)
    if cell.casefold().lstrip("+-") in _NO_NUMBER:
        return BadCell(expected, f"{found}, which is no number", "Leave it blank, or mend it.")
    return BadCell(expected, found, "Write a number.")


def whole_number(cell: str) -> int:
    """Read a whole number from 0, also written as 3.0.

    Raises
    ------
    BadCell
        Where it is none.
    """
    found = _WHOLE.fullmatch(cell)
    if found is None:
        remedy = "Write digits alone, without a unit or a letter."
        raise BadCell("a whole number from 0", shown(cell), remedy)
    return int(found[1])


def one_text(cell: str, most: int) -> str:
    """Read a short text; blanks that do not break a line become plain ones.

    Raises
    ------
    BadCell
        Where it is too long, or holds what can't be printed.
    """
    text = cell.replace("\xa0", " ")
    if text.isprintable() and len(text) <= most:
        return text
    raise BadCell(f"1 to {most} characters on one line", shown(cell), "Shorten or mend it.")


def known_name(cell: str, what: str, known: Collection[str]) -> str:
    """Read a name that the programme knows.

    Raises
    ------
    BadCell
        Where it does not, with the nearest.
    """
    if cell in known:
        return cell
    folded: dict[str, str] = {}
    for name in known:
        folded.setdefault(name.casefold(), name)
    near = difflib.get_close_matches(cell[:120].casefold(), folded, n=3, cutoff=0.6)
    remedy = f"Add the {what} to the programme, or check the spelling."
    if near:
        remedy = f"Did you mean {' or '.join(folded[name] for name in near)}?"
    article = "an" if what[:1] in "aeiou" else "a"
    raise BadCell(f"{article} {what} that the programme knows", shown(cell), remedy)


def read_photo(cell: str) -> str:
    """Read the SHA-256 of a photo.

    Raises
    ------
    BadCell
        Where it is none.
    """
    if _SHA256.fullmatch(cell):
        return cell.lower()
    remedy = "Add the photo to the programme and write the digits it is kept under."
    raise BadCell("the SHA-256 of a photo, 64 hexadecimal digits", shown(cell), remedy)


def serial_day(number: int) -> dt.date | None:
    """Return the day of a spreadsheet's serial number; None where there was no such day.

    The 1900 system counts 1900-01-01 as 1, and as 60 a 29 February that 1900 did not have
    (ECMA-376 part 1, 18.17.4).
    """
    if number < 1 or number == _FALSE_LEAP_DAY:
        return None
    start = dt.date(1899, 12, 31 if number < _FALSE_LEAP_DAY else 30)
    try:
        return start + dt.timedelta(days=number)
    except OverflowError:
        return None


def read_date(cell: str, order: str) -> dt.date:
    """Read a day.

    Parameters
    ----------
    cell : str
        As it was written.
    order : str
        iso, day_first, month_first or excel. YYYY-MM-DD is read in any order but excel,
        since it can mean one day only; a time after it is left out.

    Raises
    ------
    BadCell
        Where it is no day in that order, with what it would be in another.
    """
    if order == "excel":
        return _from_serial(cell)
    iso = _ISO.fullmatch(cell)
    if iso is not None:
        return _day(cell, int(iso[1]), int(iso[2]), int(iso[3]))
    parted = _PARTED.fullmatch(cell)
    if parted is not None:
        return _parted(cell, order, int(parted[1]), int(parted[3]), parted[4])
    serial = _SERIAL.fullmatch(cell)
    day = serial_day(int(serial[1])) if serial else None
    expected = _expected(order)
    if day is not None and day.year <= _LAST_YEAR:
        found = f"{shown(cell)}, a serial day of a spreadsheet, which would be {day}"
        remedy = "Set dates to excel, or format the cells as YYYY-MM-DD and save again."
        raise BadCell(expected, found, remedy)
    raise BadCell(expected, shown(cell), "Write one day, such as 2025-04-03.")


def _expected(order: str) -> str:
    """Say how a day is to be written."""
    if order == "iso":
        return "a day as YYYY-MM-DD"
    first, second = ("DD", "MM") if order == "day_first" else ("MM", "DD")
    return f"a day as {first}/{second}/YYYY"


def _from_serial(cell: str) -> dt.date:
    """Read a serial day; the time of day after its point is left out."""
    serial = _SERIAL.fullmatch(cell)
    day = serial_day(int(serial[1])) if serial else None
    if day is not None and day.year <= _LAST_YEAR:
        return day
    expected = "a serial day of a spreadsheet, such as 45306 for 2024-01-15"
    found, remedy = shown(cell), "Set the order of dates to that of the file."
    if serial and int(serial[1]) == _FALSE_LEAP_DAY:
        found, remedy = f"{found}, 29 February 1900, a day that never was", "Write the true day."
    raise BadCell(expected, found, remedy)


def _day(cell: str, year: int, month: int, day: int) -> dt.date:
    """Return a day of the calendar."""
    try:
        found = dt.date(year, month, day)
    except ValueError:
        remedy = "Check the day and the month."
        raise BadCell("a day of the calendar", shown(cell), remedy) from None
    if _FIRST_YEAR <= year <= _LAST_YEAR:
        return found
    expected = f"a year from {_FIRST_YEAR} to {_LAST_YEAR}"
    raise BadCell(expected, shown(cell), "Check the year.")


def _parted(cell: str, order: str, first: int, second: int, year: str) -> dt.date:
    """Read a day whose parts are divided by strokes, points, dashes or blanks."""
    expected = _expected(order)
    if len(year) == 2:
        raise BadCell(
            f"{expected}, the year in four digits", shown(cell), "Write the year in full."
        )
    readings = {
        "day_first": _maybe(int(year), second, first),
        "month_first": _maybe(int(year), first, second),
    }
    chosen = readings.get(order)
    if chosen is not None:
        return _day(cell, chosen.year, chosen.month, chosen.day)
    possible = {name: day for name, day in readings.items() if day is not None}
    if not possible:
        raise BadCell("a day of the calendar", shown(cell), "Check the day and the month.")
    days = " or ".join(dict.fromkeys(map(str, possible.values())))
    remedy = f"Set dates to {' or '.join(possible)}, or write YYYY-MM-DD."
    raise BadCell(expected, f"{shown(cell)}, which may be {days}", remedy)


def _maybe(year: int, month: int, day: int) -> dt.date | None:
    """Return a day, or None where there is no such day."""
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None
