"""The history of one colony in a form that another programme can take: people and sites by name.

Every entry is there in its order, what was undone too. What is read may come from anybody, so
each field is checked before anything is done with it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from corallum.errors import Fault
from corallum.records.colony_record import HistoryEntry

__all__ = ["LogEntry", "log_object", "read_log"]

_MOST_TEXT, _MOST_ENTRIES, _MOST_ID = 20_000, 20_000, 2**31 - 1
_MOST_NUMBER = 1e12
_ENTRY_KINDS = ("report", "condition", "region", "observer", "site", "event", "seen_on", "name",
                "note")  # fmt: skip

Check = Callable[[object], bool]


def _text(most: int, *, empty: bool = True) -> Check:
    """Return a check for a text that can be printed, over several lines."""
    return lambda value: (
        isinstance(value, str)
        and (empty or bool(value.strip()))
        and len(value) <= most
        and all(sign.isprintable() or sign in "\n\t" for sign in value)
    )


def _one_of(*allowed: str) -> Check:
    """Return a check for one of some words."""
    return lambda value: isinstance(value, str) and value in allowed


def _number(value: object) -> bool:
    """Whether a value is a number that a column holds."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return -_MOST_NUMBER <= value <= _MOST_NUMBER  # NaN is in no span


def _maybe(check: Check) -> Check:
    """Return a check that lets None pass."""
    return lambda value: value is None or check(value)


def _count(value: object) -> bool:
    """Whether a value is a whole number from 0 that a column holds."""
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= _MOST_ID


def _share(value: object) -> bool:
    """Whether a value is a number from 0 to 1."""
    return isinstance(value, int | float) and _number(value) and 0 <= value <= 1


def _json(value: object) -> bool:
    """Whether a value is a text of JSON without numbers that are none."""
    if not isinstance(value, str) or len(value) > _MOST_TEXT * 10:
        return False
    try:
        json.loads(value, parse_constant=_no_number)
    except (ValueError, RecursionError):
        return False
    return True


def _writable(value: object) -> bool:
    """Whether a value can be written as JSON again."""
    try:
        return bool(json.dumps(value, ensure_ascii=False, allow_nan=False).encode())
    except (ValueError, RecursionError):
        return False


def _no_number(text: str) -> object:
    """Refuse NaN and infinities."""
    raise ValueError(text)


def _genera(value: object) -> bool:
    """Whether a value is a text of JSON with a list of names, or null among them."""
    if not _json(value):
        return False
    found = json.loads(str(value))
    return isinstance(found, list) and all(
        one is None or _text(80, empty=False)(one) for one in found
    )


def _hash(value: object) -> bool:
    """Whether a value is a SHA-256."""
    return isinstance(value, str) and len(value) == 64 and set(value) <= set("0123456789abcdef")


# Columns of each table but the colony's, and what may stand in them.
_ROWS: Mapping[str, Mapping[str, Check]] = {
    "entry": {
        "kind": _one_of(*_ENTRY_KINDS), "subject": _text(64), "report": _json,
        "measurement": _maybe(_count),
    },
    "colony_photo": {"photo": _hash, "caption": _text(_MOST_TEXT)},
    "measurement": {
        "photo": _hash, "character": _text(64, empty=False), "value": _number,
        "low": _maybe(_number), "high": _maybe(_number), "n": _count,
        "by": _one_of("hand", "program"), "mm_per_pixel": _number, "relative": _number,
        "marks": _json,
    },
    "determination": {
        "kind": _one_of("model", "override", "reading"), "status": _text(32, empty=False),
        "genera": _genera, "name": _text(200, empty=False), "probability": _maybe(_share),
        "rank": _text(16), "needs": _text(16), "reason": _text(_MOST_TEXT),
        "reference_hash": _text(64), "reference_version": _text(80), "program": _text(32),
        "observer_errors": _text(16), "evidence_upto": _count,
    },
    "reading_request": {"asked_of": _maybe(_text(130)), "question": _text(_MOST_TEXT)},
    "reading_answer": {
        "request": _count, "genera": _genera, "confidence": _maybe(_share),
        "note": _text(_MOST_TEXT),
    },
    "voucher": {
        "permit": _text(120), "label": _text(120), "held_by": _text(120),
        "note": _text(_MOST_TEXT),
    },
}  # fmt: skip
# Entries that write no row of a table, and what their details must hold.
_BARE: Mapping[str, Mapping[str, Check]] = {
    "undo": {},
    "import phone": {"phone": _text(64, empty=False), "entries": _count, "seal": _hash},
    "import colony": {"seal": _hash},
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One entry: its number where it was written, when, by whom (a name), and what."""

    number: int
    at: datetime
    by: str
    verb: str
    undoes: int | None
    table: str
    row: Mapping[str, Any]
    detail: Mapping[str, Any]


def log_object(
    entry: HistoryEntry, people: Mapping[str, str], sites: Mapping[str, str]
) -> dict[str, Any]:
    """Return an entry of the history as an object of JSON; ids of people and sites as names."""
    found: dict[str, Any] = {
        "number": entry.id, "at": entry.at.isoformat(), "by": people[entry.person],
        "verb": entry.verb,
    }  # fmt: skip
    if entry.undoes is not None:
        found["undoes"] = entry.undoes
    row, table = entry.detail.get("row"), entry.detail.get("table")
    if not isinstance(row, dict):
        return {**found, "detail": dict(entry.detail)}
    told = {name: value for name, value in row.items() if name not in ("colony", "id", "number")}
    known = {"observer": people, "site": sites}.get(str(told.get("kind", "")))
    if table == "entry" and known is not None:
        id_ = json.loads(told["report"])
        told["report"] = json.dumps(None if id_ is None else known[id_], ensure_ascii=False)
    if table == "reading_request" and told["asked_of"] is not None:
        told["asked_of"] = people[told["asked_of"]]
    return {**found, "table": table, "row": told}


def read_log(value: object, where: str, faults: list[Fault]) -> tuple[LogEntry, ...]:
    """Read the history of a colony; what is wrong is added to the faults.

    Parameters
    ----------
    value : object
        Out of JSON.
    where : str
        What to call it in a fault.
    faults : list of Fault
        Gets every fault.
    """
    if not isinstance(value, list) or not 0 < len(value) <= _MOST_ENTRIES:
        faults.append(_fault(where, "", f"a history of 1 to {_MOST_ENTRIES} entries", value))
        return ()
    found: list[LogEntry] = []
    for place, item in enumerate(value, start=1):
        entry = _entry(item, where, f"entry {place}", faults)
        if entry is not None:
            found.append(entry)
    if len(found) == len(value):
        faults += _links(found, where)
    return tuple(found)


def _entry(item: object, where: str, place: str, faults: list[Fault]) -> LogEntry | None:
    """Read one entry."""
    if not isinstance(item, dict):
        faults.append(_fault(where, place, "an object", item))
        return None
    before = len(faults)
    checks: Mapping[str, Check] = {
        "number": _count, "by": _text(120, empty=False), "verb": _text(32, empty=False),
        "undoes": _maybe(_count), "at": _is_moment,
    }  # fmt: skip
    _check(item, checks, (where, place), faults)
    table = item.get("table", "")
    row, detail = item.get("row", {}), item.get("detail", {})
    if table == "colony":
        row = {}
    elif table == "" and _one_of(*_BARE)(item.get("verb")) and isinstance(detail, dict):
        row = {}
        _check(detail, _BARE[item["verb"]], (where, place), faults)
        _check({"detail": detail}, {"detail": _writable}, (where, place), faults)
    elif isinstance(table, str) and table in _ROWS and isinstance(row, dict):
        _check(row, _ROWS[table], (where, f"{place}, {table}"), faults)
        if row.keys() != _ROWS[table].keys():
            expected = ", ".join(_ROWS[table])
            faults.append(_fault(where, place, expected, ", ".join(map(str, row))))
    else:
        faults.append(_fault(where, place, f"one of {', '.join(_ROWS)}", table))
    if len(faults) > before:
        return None
    at = datetime.fromisoformat(item["at"])
    return LogEntry(
        item["number"], at, item["by"], item["verb"], item.get("undoes"), table, row, detail
    )


def _is_moment(value: object) -> bool:
    """Whether a value is a moment with its time zone."""
    try:
        return isinstance(value, str) and datetime.fromisoformat(value).tzinfo is not None
    except ValueError:
        return False


def _check(
    item: Mapping[str, Any], checks: Mapping[str, Check], at: tuple[str, str], faults: list[Fault]
) -> None:
    """Check some fields of an object."""
    for name, check in checks.items():
        if not check(item.get(name)):
            faults.append(_fault(at[0], f"{at[1]}, {name}", "a value that fits", item.get(name)))


def _links(log: list[LogEntry], where: str) -> list[Fault]:
    """Find entries that refer to what is not before them."""
    faults = []
    if log[0].table != "colony" or any(one.table == "colony" for one in log[1:]):
        faults.append(_fault(where, "entry 1", "the start of the colony, once", log[0].verb))
    seen: dict[int, str] = {}
    for place, one in enumerate(log, start=1):
        wanted = [(one.undoes, "")]
        if one.table == "entry":
            wanted.append((one.row["measurement"], "measurement"))
        if one.table == "reading_answer":
            wanted.append((one.row["request"], "reading_request"))
        for number, table in wanted:
            if number is not None and (number not in seen or (table and seen[number] != table)):
                expected = f"the number of {table or 'an entry'} before it"
                faults.append(_fault(where, f"entry {place}", expected, number))
        if seen and one.number <= max(seen):
            faults.append(_fault(where, f"entry {place}", "a greater number", one.number))
        seen[one.number] = one.table
    return faults


def _fault(where: str, place: str, expected: str, found: object) -> Fault:
    """Build a fault."""
    text = repr(found)
    shown = text if len(text) <= 60 else f"{text[:57]}..."
    return Fault(where, place, expected, shown, "Export the archive again.")
