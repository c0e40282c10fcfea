"""What can't be drawn, and why: every fault of the options at once."""

from __future__ import annotations

import math

from corallum.errors import CorallumError, Fault

__all__ = ["Refusals", "SurfaceError"]


class SurfaceError(CorallumError):
    """A surface or a view can't be drawn: change the options that the lines name.

    Attributes
    ----------
    faults : tuple of Fault
        All of them, not only the first.
    """

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in faults))


class Refusals:
    """Collects faults of options, then raises them together.

    Parameters
    ----------
    where : str
        What the options belong to.
    """

    def __init__(self, where: str) -> None:
        self.where = where
        self.faults: list[Fault] = []

    def add(self, place: str, expected: str, found: str, remedy: str) -> None:
        """Add a fault."""
        self.faults.append(Fault(self.where, place, expected, found, remedy))

    def state(self, place: str, value: str, states: tuple[str, ...]) -> None:
        """Refuse a state that is none of some."""
        if value not in states:
            self.add(place, f"one of {', '.join(states)}", repr(value), "Choose one of these.")

    def bounds(self, place: str, value: float, least: float, most: float = math.inf) -> None:
        """Refuse a number out of bounds, or that is none."""
        if not least <= value <= most or math.isinf(value):
            upper = "" if math.isinf(most) else f" to {most:g}"
            expected = f"{least:g}{upper}" if upper else f"{least:g} or more"
            self.add(place, expected, f"{value:g}", f"Set {place} within these bounds.")

    def positive(self, place: str, value: float | None) -> None:
        """Refuse what is no length above 0."""
        if value is None or not 0.0 < value < math.inf:
            found = "None" if value is None else f"{value:g}"
            self.add(place, "a number above 0", found, f"Give {place} in mm.")

    def raise_any(self) -> None:
        """Raise what was collected, if anything.

        Raises
        ------
        SurfaceError
            With all faults.
        """
        if self.faults:
            raise SurfaceError(self.faults)
