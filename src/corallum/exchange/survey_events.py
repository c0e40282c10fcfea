"""Events of a table of slates: which is a transect's, and which belong to it as its frames."""

from __future__ import annotations

from corallum.exchange.sheet import Sheet, shown

__all__ = ["EventTree"]


class EventTree:
    """Events of one file by the event that each belongs to.

    Parameters
    ----------
    sheet : Sheet
        That keeps the faults.
    headers : tuple of str and str
        Of the columns of events and of their parents.
    """

    def __init__(self, sheet: Sheet, headers: tuple[str, str]) -> None:
        self.sheet, self.headers = sheet, headers
        self.parents: dict[str, tuple[str | None, int]] = {}
        self._told: set[tuple[str, str | None]] = set()
        self._orphans: set[str] = set()

    def add(self, row: int, event: str, parent: str | None) -> None:
        """Keep the event of a row, a fault where it had another parent before."""
        first = self.parents.setdefault(event, (parent, row))
        if first[0] == parent or (event, parent) in self._told:
            return
        self._told.add((event, parent))
        was = f"the parent {shown(first[0])}" if first[0] else "no parent"
        expected = f"{was} of the event {shown(event)}, as in row {first[1]}"
        found = shown(parent) if parent else "nothing"
        remedy = "Give each event its own id, and the same parent in all its rows."
        self.sheet.fault(f"row {row}, {self.headers[1]}", expected, found, remedy)

    def roots(self) -> dict[str, str]:
        """Return the transect's event of each event, with faults of parents that lead to none.

        An event whose parents run in a circle, or out of the file, is not in it.
        """
        found: dict[str, str | None] = {}
        for event in self.parents:
            path: dict[str, None] = {}
            at = event
            while at not in found:
                if at in path:
                    names = list(path)
                    self._circle(names[names.index(at) :])
                    found[at] = None
                    break
                path[at] = None
                parent, row = self.parents[at]
                if parent is None:
                    found[at] = at
                elif parent in self.parents:
                    at = parent
                else:
                    self._orphan(row, parent)
                    found[at] = None
            found.update(dict.fromkeys(path, found[at]))
        return {event: root for event, root in found.items() if root is not None}

    def _orphan(self, row: int, parent: str) -> None:
        """Say that a parent is no event of the file."""
        if parent in self._orphans:
            return
        self._orphans.add(parent)
        remedy = "Add a row for that event and name nothing on it, or mend the id."
        place = f"row {row}, {self.headers[1]}"
        self.sheet.fault(place, "an event of this file", shown(parent), remedy)

    def _circle(self, events: list[str]) -> None:
        """Say that parents run in a circle."""
        row = self.parents[events[0]][1]
        names = [*events[:4], *(["..."] if len(events) > 4 else []), events[0]]
        found = f"a circle: {' belongs to '.join(map(shown, names))}"
        remedy = "Leave the parent of the transect's own event blank."
        place = f"row {row}, {self.headers[1]}"
        self.sheet.fault(place, "parents that lead to a transect", found, remedy)
