"""What was asked for, checked before any work begins: all faults at once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from corallum.errors import Fault, InputError, UnknownNameError

__all__ = ["Asked", "known_names"]


class Asked:
    """Collects the faults of what one call was asked.

    Parameters
    ----------
    where : str
        Name of the call.
    """

    def __init__(self, where: str) -> None:
        self.where = where
        self.faults: list[Fault] = []

    def _fault(self, place: str, expected: str, found: object, remedy: str) -> None:
        shown = found if isinstance(found, str) and place == "" else repr(found)[:60]
        self.faults.append(Fault(self.where, place, expected, shown, remedy))

    def one_of(self, place: str, value: object, allowed: Sequence[str | None]) -> None:
        """Expect one of some words."""
        if value not in allowed:
            told = ", ".join("None" if one is None else one for one in allowed)
            self._fault(place, f"one of {told}", value, "Use one of these.")

    def whole(self, place: str, value: object, least: int, most: int) -> None:
        """Expect a whole number."""
        is_whole = isinstance(value, int) and not isinstance(value, bool)
        if not (is_whole and least <= int(str(value)) <= most):
            self._fault(place, f"a whole number from {least} to {most}", value, "Mend it.")

    def number(self, place: str, value: object, least: float, most: float) -> None:
        """Expect a number, or None."""
        if value is None:
            return
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if not (is_number and math.isfinite(float(str(value))) and least <= float(str(value))
                and float(str(value)) <= most):  # fmt: skip
            self._fault(place, f"a number from {least:g} to {most:g}", value, "Mend it.")

    @contextmanager
    def names(self) -> Iterator[None]:
        """Keep a name that is not known as a fault."""
        try:
            yield
        except UnknownNameError as error:
            near = " or ".join(error.nearest[:8])
            remedy = f"Did you mean {near}?" if near else "Check the spelling."
            expected = f"a {error.kind} of the reference"
            self.faults.append(Fault(self.where, "", expected, repr(error.name)[:60], remedy))

    def done(self) -> None:
        """Raise the faults, if there are any."""
        if self.faults:
            raise InputError(self.faults)


@contextmanager
def known_names(where: str) -> Iterator[None]:
    """Turn a name that is not known into a fault of what was asked."""
    asked = Asked(where)
    with asked.names():
        yield
    asked.done()
