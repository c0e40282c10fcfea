"""Colonies out of JSON, JSON lines or CSV text, one fault never losing the others.

Yields colonies and faults in input order, so that a batch of any size can be
answered as it is read.
"""

from __future__ import annotations

import csv
import json
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from corallum.errors import Fault, InputError
from corallum.records.colony import Colony, Report, SizeReport, StateReport

__all__ = [
    "MOST_LINE_CHARACTERS",
    "BadColony",
    "parse_colony",
    "read_csv",
    "read_json",
    "read_lines",
]

MOST_LINE_CHARACTERS = 1_000_000
# What else is kept of a colony may stand in ``record``: it is no evidence, and not read here.
_KEYS = {"id", "region", "observer", "conditions", "observations", "record"}
_SIZE_KEYS = {"value", "n", "method", "sure", "unit"}
_UNITS = {"mm", "cm", "m"}


class BadColony(InputError):
    """A colony that can't be read, with its id or place."""

    def __init__(self, id_: str, faults: list[Fault]) -> None:
        super().__init__(faults)
        self.id = id_


Item = Colony | BadColony


def read_lines(lines: Iterable[str], file: str) -> Iterator[Item]:
    """Read JSON lines: one colony per line, blank lines left out."""
    for number, line in enumerate(lines, start=1):
        text = line.strip().removeprefix("\ufeff")
        if not text:
            continue
        place = f"line {number}"
        if len(text) > MOST_LINE_CHARACTERS:
            found, remedy = f"{len(text)} characters", "Write one colony per line."
            yield _bad(
                place,
                file,
                place,
                f"a line of at most {MOST_LINE_CHARACTERS} characters",
                found,
                remedy,
            )
            continue
        yield from _read_text(text, file, place)


def read_json(text: str, file: str) -> Iterator[Item]:
    """Read one JSON document: a colony, or a list of colonies."""
    yield from _read_text(text.removeprefix("\ufeff"), file, "")


def _read_text(text: str, file: str, place: str) -> Iterator[Item]:
    """Read one JSON text."""
    try:
        document = json.loads(
            text, parse_constant=_refuse_constant, object_pairs_hook=_refuse_repeats
        )
    except (ValueError, RecursionError) as error:
        found = _json_fault(error)
        yield _bad(place or file, file, place, "a colony as JSON", found, "Mend or remove it.")
        return
    items = document if isinstance(document, list) else [document]
    for number, item in enumerate(items, start=1):
        where = place if not isinstance(document, list) else f"{place} item {number}".strip()
        yield parse_colony(item, file, where)


def _refuse_constant(name: str) -> float:
    """Refuse NaN and Infinity, which are no JSON."""
    raise ValueError(f"{name} is no number")


def _refuse_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse an object that says one key twice: neither is silently left out."""
    found = dict(pairs)
    if len(found) < len(pairs):
        counts = Counter(key for key, _ in pairs)
        raise ValueError(f"the key {_shown(counts.most_common(1)[0][0])} twice or more")
    return found


def _json_fault(error: Exception) -> str:
    """Say in words what is wrong with a JSON text."""
    if isinstance(error, json.JSONDecodeError):
        return f"{error.msg} at line {error.lineno}, column {error.colno}"
    if isinstance(error, RecursionError):
        return "brackets nested too deep"
    return str(error)


def _bad(id_: str, file: str, place: str, expected: str, found: str, remedy: str) -> BadColony:
    """Return a colony that can't be read, with one fault."""
    return BadColony(id_, [Fault(file, place, expected, found, remedy)])


def parse_colony(item: object, file: str, place: str) -> Item:
    """Turn one JSON value into a colony, with every fault of it at once."""
    if not isinstance(item, Mapping):
        return _bad(
            place or file, file, place, 'an object such as {"id": ...}', _shown(item), "Mend it."
        )
    reader = _Fields(file, place)
    id_ = reader.id(item.get("id"))
    for key in (key for key in item if key not in _KEYS):
        reader.fault(_shown(key), f"the keys {', '.join(sorted(_KEYS))}", "another key")
    region, observer = (reader.text_or_none(item, key) for key in ("region", "observer"))
    conditions = reader.words(item, "conditions")
    reports = reader.reports(item.get("observations", {}))
    if reader.faults:
        return BadColony(id_, reader.faults)
    return Colony(id_, reports, region, observer, conditions)


def _shown(value: object) -> str:
    """Show a value of a file in at most 40 characters."""
    try:
        text = repr(value)
    except RecursionError:
        return "brackets nested too deep"
    return text if len(text) <= 40 else f"{text[:37]}..."


def _plain(key: str) -> str:
    """Return a key as it stands, or shown where it would break a line."""
    return key if key.isprintable() else _shown(key)


class _Fields:
    """Reads the fields of one colony and keeps their faults."""

    def __init__(self, file: str, place: str) -> None:
        self.file, self.place = file, place
        self.faults: list[Fault] = []

    def fault(self, key: str, expected: str, found: str, remedy: str = "Mend it.") -> None:
        """Keep one fault."""
        key = _plain(key)
        place = f"{self.place}, {key}" if self.place else key
        self.faults.append(Fault(self.file, place, expected, found, remedy))

    def id(self, value: object) -> str:
        """Return the id as a text; where there is none, the place."""
        if value is None:
            return self.place or self.file
        if not isinstance(value, str | int) or isinstance(value, bool):
            self.fault("id", "a text", _shown(value))
            return self.place or self.file
        if not str(value).isprintable():
            self.fault("id", "a text on one line, without control characters", _shown(value))
            return self.place or self.file
        return str(value)

    def reports(self, observations: object) -> dict[str, Report]:
        """Return the reports by character."""
        if not isinstance(observations, Mapping):
            self.fault("observations", "an object of reports by character", _shown(observations))
            return {}
        found = ((str(key), self.report(str(key), value)) for key, value in observations.items())
        return {key: report for key, report in found if report is not None}

    def text_or_none(self, item: Mapping[str, Any], key: str) -> str | None:
        """Return a text, or None where there is none."""
        value = item.get(key)
        if value is not None and not isinstance(value, str):
            self.fault(key, "a text or null", _shown(value))
            return None
        return value or None

    def words(self, item: Mapping[str, Any], key: str) -> tuple[str, ...]:
        """Return a list of texts; a text alone is a list of one."""
        value = item.get(key)
        listed = [value] if isinstance(value, str) else [] if value is None else value
        if not isinstance(listed, list) or not all(isinstance(word, str) for word in listed):
            self.fault(key, "a list of texts", _shown(value))
            return ()
        return tuple(listed)

    def report(self, key: str, value: object) -> Report | None:
        """Return the report of one character; null means not looked at."""
        if value is None:
            return None
        if isinstance(value, Mapping):
            return self._object(key, value)
        return self._bare(key, value, sure=True)

    def _bare(self, key: str, value: object, *, sure: bool) -> Report | None:
        """Read a state, a list of states, or a number."""
        if isinstance(value, str):
            return StateReport((value,), sure)
        if isinstance(value, list) and value and all(isinstance(word, str) for word in value):
            return StateReport(tuple(value), sure)
        number = self._number(value)
        if number is None:
            self.fault(key, "a state, a list of states, or a number", _shown(value))
            return None
        return SizeReport(number, sure=sure)

    @staticmethod
    def _number(value: object) -> float | None:
        """Return a finite number, or None."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            return None
        try:
            number = float(value)
        except OverflowError:
            return None
        return number if math.isfinite(number) else None

    def _object(self, key: str, value: Mapping[str, Any]) -> Report | None:
        """Read {"state": ..., "sure": ...} or {"value": ..., "n": ..., "method": ...}."""
        sure = value.get("sure", True)
        if not isinstance(sure, bool):
            self.fault(f"{key}.sure", "true or false", _shown(sure))
            return None
        if value.keys() <= {"state", "sure"} and "state" in value:
            report = self._bare(key, value["state"], sure=sure)
            if isinstance(report, SizeReport):
                self.fault(f"{key}.state", "a state or a list of states", _shown(value["state"]))
                return None
            return report
        if value.keys() <= _SIZE_KEYS and "value" in value:
            return self._size(key, value, sure=sure)
        expected = "state and sure, or value, n, method and sure"
        self.fault(key, expected, ", ".join(map(_plain, value)) or "an empty object")
        return None

    def _size(self, key: str, value: Mapping[str, Any], *, sure: bool) -> Report | None:
        """Read a measurement; a unit, where given, must be the one in the id."""
        number, n = self._number(value["value"]), value.get("n", 1)
        method, unit = value.get("method", "eye"), value.get("unit")
        if number is None:
            self.fault(f"{key}.value", "a number", _shown(value["value"]))
        if isinstance(n, bool) or not isinstance(n, int):
            self.fault(f"{key}.n", "a whole number", _shown(n))
        if not isinstance(method, str):
            self.fault(f"{key}.method", "a text", _shown(method))
        if unit is not None and unit != key.rpartition("_")[2]:
            wanted = key.rpartition("_")[2]
            expected = f"the unit {wanted}" if wanted in _UNITS else "no unit"
            self.fault(f"{key}.unit", expected, _shown(unit), "Convert the value.")
        if number is None or not isinstance(n, int) or not isinstance(method, str):
            return None
        return SizeReport(number, n, method, sure)


def read_csv(lines: Iterable[str], file: str) -> Iterator[Item]:
    """Read a table with ids as columns; ``a|b`` is a set, a trailing ``?`` is unsure.

    ``x.n`` and ``x.method`` say how the size ``x`` was measured. A colony is one
    line: no cell may hold a line break.
    """
    header: list[str] = []
    for number, line in enumerate(lines, start=1):
        place = f"row {number}"
        # Line by line, so that a quote left open can't swallow the rows below.
        try:
            cells = next(csv.reader([line.removeprefix("\ufeff")], strict=True), [])
        except csv.Error as error:
            remedy = "Close each quote on its own line."
            yield _bad(place, file, place, "comma-separated values", str(error), remedy)
            if not header:
                return
            continue
        if not any(cell.strip() for cell in cells):
            continue
        if header:
            yield _csv_colony(header, cells, file, place)
            continue
        header = [name.strip() for name in cells]
        repeated = sorted(name for name, n in Counter(header).items() if name and n > 1)
        if repeated:
            yield _bad(
                file, file, place, "each column once", ", ".join(map(_plain, repeated)), "Keep one."
            )
            return
    if not header:
        yield _bad(file, file, "row 1", "column names", "an empty file", "Add a header row.")


def _csv_colony(header: list[str], cells: list[str], file: str, place: str) -> Item:
    """Turn one row into a colony by way of the JSON shape."""
    if len(cells) != len(header):
        found = f"{len(cells)}"
        return _bad(place, file, place, f"{len(header)} cells", found, "Quote a cell with a comma.")
    row = {name: cell.strip() for name, cell in zip(header, cells, strict=True) if cell.strip()}
    item: dict[str, Any] = {
        "id": row.pop("id", place),
        "region": row.pop("region", None),
        "observer": row.pop("observer", None),
        "conditions": [
            word.strip() for word in row.pop("conditions", "").split("|") if word.strip()
        ],
    }
    observations: dict[str, Any] = {}
    for name, cell in row.items():
        if not name.endswith((".n", ".method")):
            observations[name] = _csv_report(cell)
    for name, cell in row.items():
        base, dot, part = name.rpartition(".")
        if dot and part in ("n", "method"):
            report = observations.get(base)
            if isinstance(report, dict) and "value" in report:
                whole = part == "n" and cell.isdecimal() and len(cell) < _MOST_DIGITS
                report[part] = int(cell) if whole else cell
            elif base in observations or base not in header:
                observations[name] = cell
    item["observations"] = observations
    return parse_colony(item, file, place)


_MOST_DIGITS = 10
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def _csv_report(cell: str) -> dict[str, Any]:
    """Read one cell: a number or states, with ``?`` for unsure."""
    sure = not cell.endswith("?")
    text = cell.removesuffix("?").strip()
    if _NUMBER.fullmatch(text):
        return {"value": float(text), "sure": sure}
    states = [word.strip() for word in text.split("|") if word.strip()]
    return {"state": states, "sure": sure}
