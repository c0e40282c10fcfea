"""What can go wrong, as data: what was expected, found, where, and what to do.

The shells turn these into one line a fault. Nothing here prints.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "ConflictError",
    "CorallumError",
    "Fault",
    "InputError",
    "NotAllowedError",
    "NotFoundError",
    "StoreError",
    "TableError",
    "UnknownNameError",
]


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault in something that a person wrote.

    Parameters
    ----------
    where : str
        File, or the colony's id.
    place : str
        Row, line, column or key within it; may be empty.
    expected, found, remedy : str
        What should stand there, what stands there, and what to do.
    """

    where: str
    place: str
    expected: str
    found: str
    remedy: str

    def __str__(self) -> str:
        """Return the fault as one line."""
        place = f", {self.place}" if self.place else ""
        return f"{self.where}{place}: expected {self.expected}, found {self.found}. {self.remedy}"


class CorallumError(Exception):
    """Root of all errors that a person can act on."""


class _Faulty(CorallumError):
    """An error that carries every fault found, not only the first."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in faults))


class TableError(_Faulty):
    """A table of the reference has faults: mend the rows named."""


class InputError(_Faulty):
    """A file or a colony can't be read: mend it and run again."""


class UnknownNameError(CorallumError):
    """A name that the reference does not hold, with the nearest that it does."""

    def __init__(self, kind: str, name: str, nearest: tuple[str, ...] = ()) -> None:
        self.kind, self.name, self.nearest = kind, name, nearest
        hint = " Check the spelling."
        if nearest:
            hint = f" Did you mean {' or '.join(nearest)}?"
        super().__init__(f"unknown {kind} {name!r}.{hint}")


class NotFoundError(CorallumError):
    """Something of a programme that is not there: look it up in its list."""

    def __init__(self, kind: str, id_: object) -> None:
        text = str(id_)
        self.kind, self.id = kind, text
        shown = repr(text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}...")
        super().__init__(f"no {kind} {shown} in this programme. Go back to the list.")


_MOST_SHOWN = 40


class NotAllowedError(CorallumError):
    """The person's role does not allow it: ask somebody whose role does."""

    def __init__(self, role: str, what: str, needed: str) -> None:
        self.role, self.what, self.needed = role, what, needed
        article = "an" if role[0] in "aeiou" else "a"
        super().__init__(f"{article} {role} may not {what}. Ask a person with the role {needed}.")


class ConflictError(CorallumError):
    """It was done already, or what is there now stands in its way: look again."""


class StoreError(CorallumError):
    """The programme's folder can't be read or written: full, locked, read-only or damaged."""
