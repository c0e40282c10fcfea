"""One unit of work: who acts, whether their role allows it, and the checks of what they wrote."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from corallum.errors import Fault, InputError, NotAllowedError, NotFoundError
from corallum.records.programme import Person, Role
from corallum.store.database import Connection
from corallum.store.history import Act
from corallum.store.people import person_of
from corallum.store.programme import Programme

__all__ = [
    "Unit", "check_choice", "check_id", "check_line", "check_notes", "check_number",
    "check_share", "new_id", "unit_of_work",
]  # fmt: skip

_LETTERS = "0123456789abcdefghjkmnpqrstvwxyz"
_LENGTH = 12
_ID = re.compile(rf"[{_LETTERS}]{{{_LENGTH}}}")
_MOST_NUMBER = 2**31 - 1
_MOST_NOTES = 4000


@dataclass(frozen=True, slots=True)
class Unit:
    """The open transaction, who acts and when."""

    connection: Connection
    act: Act
    person: Person


@contextmanager
def unit_of_work(
    programme: Programme, person: str, now: datetime, needed: Role, what: str
) -> Iterator[Unit]:
    """Open the writing transaction for somebody whose role allows it.

    Parameters
    ----------
    programme : Programme
        To write to.
    person : str
        Id of the person who acts.
    now : datetime
        With its time zone.
    needed : Role
        Least role that may do it.
    what : str
        What is done, as in "a reader may not ...".

    Raises
    ------
    NotAllowedError
        Where the role does not allow it, or the person is no longer active.
    """
    check_id(person, "person")
    with programme.write() as connection:
        found = person_of(connection, person)
        if not found.active:
            raise NotAllowedError("person who has left", what, needed)
        if not found.role.covers(needed):
            raise NotAllowedError(found.role, what, needed)
        yield Unit(connection, Act(person, now), found)


def new_id(rng: np.random.Generator) -> str:
    """Return a new id: 12 digits and letters that are not taken for each other."""
    return "".join(_LETTERS[i] for i in rng.integers(len(_LETTERS), size=_LENGTH))


def check_id(text: str, kind: str) -> str:
    """Return an id that may be one; anything else can't be there."""
    if not isinstance(text, str) or _ID.fullmatch(text) is None:
        raise NotFoundError(kind, text)
    return text


def check_number(number: int, kind: str) -> int:
    """Return the number of an entry that may be one."""
    if isinstance(number, bool) or not isinstance(number, int) or not 0 < number <= _MOST_NUMBER:
        raise NotFoundError(kind, number)
    return number


def check_line(text: str, place: str, *, most: int = 120, empty: bool = False) -> str:
    """Return a text of one line without blanks around it."""
    found = text.strip() if isinstance(text, str) else ""
    if len(found) > most or not found.isprintable() or not (found or empty):
        least = 0 if empty else 1
        expected = f"{least} to {most} characters on one line"
        raise _fault(place, expected, _shown(text), "Mend it.")
    return found


def check_notes(text: str, place: str, *, empty: bool = False) -> str:
    """Return a text of several lines without blanks around it."""
    found = text.strip().replace("\r\n", "\n").replace("\r", "\n") if isinstance(text, str) else ""
    printable = all(line.isprintable() for line in found.replace("\t", " ").split("\n"))
    if len(found) > _MOST_NOTES or not printable or not (found or empty):
        expected = f"{0 if empty else 1} to {_MOST_NOTES} characters"
        raise _fault(place, expected, _shown(text), "Mend it.")
    return found


def check_choice(text: str, place: str, allowed: tuple[str, ...]) -> str:
    """Return one of the words that are allowed."""
    if text not in allowed:
        raise _fault(place, f"one of {', '.join(allowed)}", _shown(text), "Use one of these words.")
    return text


def check_share(
    value: float | None, place: str, low: float = 0.0, high: float = 1.0
) -> float | None:
    """Return a number within its bounds, or None where there is none."""
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise _fault(place, f"a number from {low:g} to {high:g}", _shown(value), "Mend it.")
    return float(value)


def _shown(value: object) -> str:
    """Show a value in at most 40 characters."""
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."


def _fault(place: str, expected: str, found: str, remedy: str) -> InputError:
    """Build an error about one field."""
    return InputError([Fault(place, "", expected, found, remedy)])
