"""Which column of a table of slates holds what, in which unit: kept for a programme, or guessed."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any

from corallum.errors import Fault, InputError
from corallum.exchange.sheet import shown
from corallum.records.survey import Method

__all__ = [
    "DATES", "IN_FRAMES", "ROLES", "UNITS", "Columns", "column_faults", "columns_from_object",
    "columns_to_object", "guess_columns", "unit_of",
]  # fmt: skip

ROLES: dict[str, str] = {
    "event": "id of the transect's event, or of a frame's",
    "parent_event": "id of the event that a frame's event belongs to",
    "site": "site",
    "visit": "visit",
    "transect": "transect",
    "date": "date",
    "observer": "observer",
    "depth": "depth of the transect",
    "name": "what was met",
    "form": "growth form",
    "from_cm": "where an intercept begins, or where a colony lies, along the tape",
    "to_cm": "where an intercept ends",
    "reading_cm": "successive readings of the tape, each the end of an intercept",
    "intercept_cm": "successive lengths of intercepts",
    "tape_cm": "length of the tape",
    "width_cm": "width of the belt, both sides together",
    "frames": "photos or quadrats on the transect",
    "frame": "number of the photo or quadrat",
    "point": "number of the point",
    "x": "place of the point across its photo, 0 to 1",
    "y": "place of the point down its photo, 0 to 1",
    "diameter_cm": "largest diameter",
    "off_line_cm": "distance of the colony's centre from the tape",
    "count": "colonies that the row stands for",
    "cover_percent": "cover in percent of a quadrat",
    "colony": "mark of the colony",
    "photo": "SHA-256 of the photo",
    "note": "note",
}
_ANY = ("event", "parent_event", "site", "visit", "transect", "date", "observer", "depth", "name",
        "form", "tape_cm", "colony", "photo", "note")  # fmt: skip
_OF_METHOD: dict[Method, tuple[str, ...]] = {
    Method.LINE: ("from_cm", "to_cm", "reading_cm", "intercept_cm", "diameter_cm"),
    Method.POINTS: ("point",),
    Method.PHOTO: ("frames", "frame", "point", "x", "y"),
    Method.BELT: ("from_cm", "width_cm", "diameter_cm", "off_line_cm", "count"),
    Method.QUADRAT: ("frames", "frame", "diameter_cm", "count"),
    Method.QUADRAT_COVER: ("frames", "frame", "cover_percent"),
}
IN_FRAMES = frozenset({Method.PHOTO, Method.QUADRAT, Method.QUADRAT_COVER})
# Each line is a choice of which exactly one has to be there.
_WAYS = (("from_cm", "to_cm"), ("reading_cm",), ("intercept_cm",))

# What one unit is in the unit that is kept: centimetres, or metres of depth. The inch and the
# foot are exact (international yard and pound agreement, 1959).
_LENGTHS = {"cm": 1.0, "m": 100.0, "mm": 0.1, "in": 2.54}
UNITS: dict[str, dict[str, float]] = {
    "length_unit": _LENGTHS,
    "diameter_unit": _LENGTHS,
    "depth_unit": {"m": 1.0, "ft": 0.3048},
}
_WITH_LENGTH = ("from_cm", "to_cm", "reading_cm", "intercept_cm", "off_line_cm", "tape_cm",
                "width_cm")  # fmt: skip
DATES = {
    "iso": "YYYY-MM-DD",
    "day_first": "day, month, year",
    "month_first": "month, day, year",
    "excel": "serial days of a spreadsheet, 1900 system",
}
_UNIT_WORDS = {
    "cm": "cm", "centimetres": "cm", "centimeters": "cm", "m": "m", "metres": "m", "meters": "m",
    "metre": "m", "meter": "m", "mm": "mm", "millimetres": "mm", "millimeters": "mm",
    "inch": "in", "inches": "in", "ft": "ft", "feet": "ft", "foot": "ft",
}  # fmt: skip
_MOST_HEADER = 120
_MOST_MEANINGS = 2000


@dataclass(frozen=True, slots=True)
class Columns:
    """Which column of a file holds what.

    Parameters
    ----------
    method : Method
        Of all its transects.
    roles : mapping of str to str
        Header of the column of each role (`ROLES`).
    length_unit, diameter_unit, depth_unit : str
        One of `UNITS` each; the unit of lengths is that of every tape, intercept, width and
        distance.
    dates : str
        One of `DATES`.
    meanings : mapping of str to str
        What words mean that are not known, or are the names of split genera: each a genus,
        "stony coral", a family or other cover.
    """

    method: Method
    roles: Mapping[str, str]
    length_unit: str = "cm"
    diameter_unit: str = "cm"
    depth_unit: str = "m"
    dates: str = "iso"
    meanings: Mapping[str, str] = field(default_factory=dict)


def unit_of(columns: Columns, role: str) -> tuple[str, str] | None:
    """Return the setting that is the unit of a role, and the unit; None where it has none."""
    if role == "depth":
        return "depth_unit", columns.depth_unit
    if role == "diameter_cm":
        return "diameter_unit", columns.diameter_unit
    return ("length_unit", columns.length_unit) if role in _WITH_LENGTH else None


def columns_to_object(c: Columns) -> dict[str, Any]:
    """Return columns as an object for JSON."""
    return {
        "method": c.method.value,
        "roles": dict(c.roles),
        "length_unit": c.length_unit,
        "diameter_unit": c.diameter_unit,
        "depth_unit": c.depth_unit,
        "dates": c.dates,
        "meanings": dict(c.meanings),
    }


def columns_from_object(value: object, where: str) -> Columns:
    """Read columns from an object of JSON.

    Parameters
    ----------
    value : object
        As `columns_to_object` makes it; what is left out is as it is by default.
    where : str
        What to call it in a fault.

    Raises
    ------
    InputError
        With every key and value that is not known.
    """
    known = [one.name for one in fields(Columns)]
    if not isinstance(value, dict):
        remedy = "Write an object with method and roles."
        raise InputError([Fault(where, "", "columns", shown(value), remedy)])
    found = [
        Fault(where, "", f"one of {', '.join(known)}", shown(key), "Take it out.")
        for key in value if key not in known
    ]  # fmt: skip
    method = _choice(value.get("method"), [one.value for one in Method], where, "method", found)
    roles = _texts(value.get("roles"), where, "roles", found)
    meanings = _texts(value.get("meanings", {}), where, "meanings", found)
    rest = {key: value[key] for key in known if key in value and key not in _MADE}
    if method is not None:
        columns = Columns(Method(method), roles, meanings=meanings, **rest)
        found += column_faults(columns, where, complete=False)
    if found:
        raise InputError(found)
    return columns


_MADE = ("method", "roles", "meanings")


def _choice(
    value: object, allowed: Collection[str], where: str, place: str, found: list[Fault]
) -> str | None:
    """Return a value that is one of those allowed, or None with a fault."""
    if isinstance(value, str) and value in allowed:
        return value
    what = "nothing" if value is None else shown(value)
    found.append(Fault(where, place, f"one of {', '.join(allowed)}", what, "Choose one."))
    return None


def _texts(value: object, where: str, place: str, found: list[Fault]) -> dict[str, str]:
    """Return a mapping of texts to texts, faults where it is none."""
    if not isinstance(value, dict) or len(value) > _MOST_MEANINGS:
        expected = f"an object of at most {_MOST_MEANINGS} texts"
        what = shown(value) if not isinstance(value, dict) else str(len(value))
        found.append(Fault(where, place, expected, what, "Write an object."))
        return {}
    good = {}
    for key, text in value.items():
        sound = isinstance(text, str) and isinstance(key, str) and text.strip() and key.strip()
        if sound and len(text) <= _MOST_HEADER and len(key) <= _MOST_HEADER:
            good[key.strip()] = text.strip()
            continue
        expected = f"a text of 1 to {_MOST_HEADER} characters"
        found.append(Fault(where, f"{place}, {shown(key)}", expected, shown(text), "Mend it."))
    return good


def column_faults(columns: Columns, where: str, *, complete: bool) -> list[Fault]:
    """Find what is wrong with columns by themselves.

    Parameters
    ----------
    columns : Columns
        To be looked at.
    where : str
        What to call them in a fault.
    complete : bool
        Whether everything that the method needs has to be there.
    """
    found: list[Fault] = []
    for name, units in UNITS.items():
        _choice(getattr(columns, name), units, where, name, found)
    _choice(columns.dates, DATES, where, "dates", found)
    allowed = (*_ANY, *_OF_METHOD[columns.method])
    for role, header in columns.roles.items():
        if role not in ROLES:
            found.append(Fault(where, "roles", "a role of a column", shown(role), "Take it out."))
        elif role not in allowed:
            method = columns.method.replace("_", " ")
            expected = f"a role that a {method} uses"
            found.append(Fault(where, "roles", expected, shown(role), "Take it out."))
        twins = [other for other, same in columns.roles.items() if same == header]
        if len(twins) > 1 and twins[0] == role:
            expected = f"one role of the column {shown(header)}"
            found.append(Fault(where, "roles", expected, " and ".join(twins), "Keep one."))
    return found + (_missing(columns, where) if complete else [])


def _missing(columns: Columns, where: str) -> list[Fault]:
    """Find what the method needs and no column holds."""
    roles, remedy = columns.roles, "Say which column holds it."
    needs: list[tuple[str, ...]] = [
        ("site",), ("transect", "event"), ("date",), ("observer",), ("name",),
    ]  # fmt: skip
    if columns.method in IN_FRAMES:
        needs.append(("frame", "parent_event"))
    if columns.method is Method.QUADRAT_COVER:
        needs.append(("cover_percent",))
    if "parent_event" in roles:
        needs.append(("event",))
    for one, other in (("x", "y"), ("y", "x")):
        if one in roles:
            needs.append((other,))
    found = [
        Fault(where, "columns", f"a column for {' or '.join(need)}", "none", remedy)
        for need in needs if not any(role in roles for role in need)
    ]  # fmt: skip
    if columns.method is Method.LINE:
        given = [way for way in _WAYS if any(role in roles for role in way)]
        if len(given) != 1 or not all(role in roles for role in given[0]):
            what = ", ".join(role for way in given for role in way if role in roles) or "none"
            expected = "either from_cm and to_cm, or reading_cm, or intercept_cm"
            found.append(Fault(where, "columns", expected, what, remedy))
    return found


def unit_words(header: str) -> set[str]:
    """Return the units that a header speaks of."""
    apart = re.sub(r"([a-z])([A-Z])", r"\1 \2", header)
    words = re.findall(r"[a-z]+", apart.casefold())
    return {_UNIT_WORDS[word] for word in words if word in _UNIT_WORDS}


# Common headers, written as `_squeezed` writes them. Among them the terms of Darwin Core
# (Biodiversity Information Standards, TDWG), an open standard.
_HEADERS: dict[str, tuple[str, ...]] = {
    "event": ("eventid", "event"),
    "parent_event": ("parenteventid", "parentevent"),
    "site": ("site", "sitename", "sitecode", "siteid", "station", "reef", "locality", "locationid",
             "location"),
    "visit": ("visit", "survey", "visitid"),
    "transect": ("transect", "transectid", "transectnumber", "transectno", "line", "replicate"),
    "date": ("date", "eventdate", "surveydate", "day"),
    "observer": ("observer", "recordedby", "diver", "recorder", "surveyor", "observerid"),
    "depth": ("depth", "minimumdepthinmeters", "minimumdepthin", "verbatimdepth", "transectdepth"),
    "name": ("verbatimidentification", "name", "label", "taxon", "genus", "scientificname",
             "category", "code", "lifeform", "benthos", "substrate", "coral", "species"),
    "form": ("form", "growthform", "morphology"),
    "from_cm": ("from", "start", "begin", "beginning", "position"),
    "to_cm": ("to", "end", "stop"),
    "reading_cm": ("reading", "tapereading", "transition", "transitionpoint"),
    "intercept_cm": ("intercept", "interceptlength", "length"),
    "tape_cm": ("tape", "tapelength", "transectlength"),
    "width_cm": ("width", "beltwidth", "transectwidth"),
    "frames": ("frames", "numberofframes", "quadrats"),
    "frame": ("frame", "framenumber", "quadrat", "quadratnumber", "image", "photonumber"),
    "point": ("point", "pointnumber", "pointno"),
    "x": ("x",),
    "y": ("y",),
    "diameter_cm": ("diameter", "maxdiameter", "maximumdiameter", "largestdiameter", "size",
                    "colonysize", "colonydiameter"),
    "off_line_cm": ("offline", "distancefromtape", "offset", "perpendiculardistance"),
    "count": ("count", "individualcount", "number", "colonies", "organismquantity", "abundance"),
    "cover_percent": ("coverpercent", "percentcover", "cover", "organismquantity"),
    "colony": ("colony", "colonyid", "colonymark", "organismid", "tag"),
    "photo": ("photo", "sha256", "associatedmedia"),
    "note": ("note", "notes", "remarks", "occurrenceremarks", "eventremarks", "comment",
             "comments"),
}  # fmt: skip


def _squeezed(header: str, *, unit: bool) -> str:
    """Return a header in small letters and digits alone, with or without words of units."""
    words = re.findall(r"[^\W_]+", header.casefold())
    return "".join(word for word in words if unit or word not in _UNIT_WORDS)


def guess_columns(header: Sequence[str], method: Method) -> dict[str, str]:
    """Guess what columns hold from common headers, in any case, with blanks or underscores.

    Parameters
    ----------
    header : sequence of str
        As in the first row of the file.
    method : Method
        Of its transects; what it does not use is not guessed.

    Returns
    -------
    dict of str to str
        Header by role. No column has two roles, and of several ways to tell an intercept one
        is chosen.
    """
    allowed = {*_ANY, *_OF_METHOD[method]}
    by: dict[str, str] = {}
    for unit in (False, True):
        for name in reversed(header):
            by[_squeezed(name, unit=unit)] = name
    found: dict[str, str] = {}
    for role in (role for role in ROLES if role in allowed):
        likely = (role.replace("_", ""), *_HEADERS[role])
        columns = (by[name] for name in likely if name in by)
        free = next((name for name in columns if name not in found.values()), None)
        if free is not None:
            found[role] = free
    if method is Method.LINE:
        ways = [way for way in _WAYS if all(role in found for role in way)]
        for role in (role for way in _WAYS if way not in ways[:1] for role in way):
            found.pop(role, None)
    return found
