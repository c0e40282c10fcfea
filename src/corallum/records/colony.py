"""What was reported of one colony: the evidence, apart from any opinion on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["Colony", "Report", "SizeReport", "StateReport"]


@dataclass(frozen=True, slots=True)
class StateReport:
    """A state, or the states that the observer could not choose between.

    Parameters
    ----------
    states : tuple of str
        State ids; several mean "one of these".
    sure : bool
        False where the observer marked the report as unsure.
    """

    states: tuple[str, ...]
    sure: bool = True


@dataclass(frozen=True, slots=True)
class SizeReport:
    """A measurement or count.

    Parameters
    ----------
    value : float
        In the unit of the character; the mean where several were measured.
    n : int
        Number of calices, valleys or distances measured.
    method : str
        eye, ruler, photo or published.
    sure : bool
        False where the observer marked the report as unsure.
    """

    value: float
    n: int = 1
    method: str = "eye"
    sure: bool = True


Report = StateReport | SizeReport


@dataclass(frozen=True, slots=True)
class Colony:
    """One colony: who looked where, in what conditions, and what they reported.

    Parameters
    ----------
    id : str
        The reader's own name for the colony.
    observations : mapping of str to Report
        By character id. A character that is not there was not looked at.
    region : str or None
        Region id; None means anywhere.
    observer : str or None
        Person whose known errors apply; None means an unknown observer.
    conditions : tuple of str
        Conditions that the observer named.
    """

    id: str
    observations: Mapping[str, Report] = field(default_factory=dict)
    region: str | None = None
    observer: str | None = None
    conditions: tuple[str, ...] = ()
