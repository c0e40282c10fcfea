"""Read the fields of a saved record, and keep what is wrong with each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime

from corallum.errors import Fault

__all__ = ["FieldReader"]

_MOST_TEXT = 4000
_ID = re.compile(r"[0-9a-z]{12}")
_REMEDY = "Save the file on the phone again."


class FieldReader:
    """Reads fields at one place of a file; ``faults`` is shared by all that read it."""

    def __init__(self, file: str, place: str, faults: list[Fault]) -> None:
        self.file, self.place, self.faults = file, place, faults

    def inside(self, part: str) -> FieldReader:
        """Return a reader of a part."""
        return FieldReader(self.file, f"{self.place}, {part}", self.faults)

    def fault(self, key: str, expected: str, found: object, remedy: str = _REMEDY) -> None:
        """Keep one fault."""
        place = f"{self.place}, {key}" if key else self.place
        shown = found if isinstance(found, str) and found.isprintable() else repr(found)
        short = shown if len(shown) <= 40 else f"{shown[:37]}..."
        self.faults.append(Fault(self.file, place, expected, short, remedy))

    def items(self, key: str, value: object) -> Sequence[object]:
        """Return a list."""
        if isinstance(value, list):
            return value
        self.fault(key, "a list", value)
        return ()

    def phone_id(self, key: str, value: object) -> str:
        """Return an id that a phone gave."""
        if isinstance(value, str) and _ID.fullmatch(value):
            return value
        self.fault(key, "12 digits and letters", value)
        return ""

    def text(self, key: str, value: object, *, empty: bool = False) -> str:
        """Return a text."""
        if isinstance(value, str) and len(value) <= _MOST_TEXT and (value.strip() or empty):
            return value
        self.fault(key, f"a text of at most {_MOST_TEXT} characters", value)
        return ""

    def one_of(self, key: str, value: object, allowed: Sequence[str]) -> str:
        """Return one of the words that are allowed."""
        if isinstance(value, str) and value in allowed:
            return value
        self.fault(key, f"one of {', '.join(allowed)}", value)
        return ""

    def moment(self, key: str, value: object) -> datetime | None:
        """Return a moment with its time zone."""
        try:
            found = datetime.fromisoformat(value) if isinstance(value, str) else None
        except ValueError:
            found = None
        if found is None or found.tzinfo is None:
            self.fault(key, "a moment with its time zone", value)
            return None
        return found

    def share(self, key: str, value: object) -> float:
        """Return a number from 0 to 1."""
        number = isinstance(value, int | float) and not isinstance(value, bool)
        # A sum of chances may be over 1 by its last digit.
        if number and 0 <= float(value) <= 1 + 1e-9:  # type: ignore[arg-type]
            return min(float(value), 1.0)  # type: ignore[arg-type]
        self.fault(key, "a number from 0 to 1", value)
        return 0.0
