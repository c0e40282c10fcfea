"""Papers that sheets are printed on, and what of them is free."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from corallum.errors import Fault, InputError

__all__ = ["MARGIN_MM", "PAPERS", "Paper", "paper_called"]

# White on all sides: more than printers leave unprinted.
MARGIN_MM = 10.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper, upright: width and height in mm."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def free_mm(self) -> tuple[float, float]:
        """Width and height within the margins, mm."""
        return self.width_mm - 2 * MARGIN_MM, self.height_mm - 2 * MARGIN_MM


# ISO 216, and ANSI/ASME Y14.1 size A (8.5 by 11 inches).
PAPERS: Mapping[str, Paper] = {
    one.name: one
    for one in (Paper("a4", 210, 297), Paper("a5", 148, 210), Paper("letter", 215.9, 279.4))
}


def paper_called(name: str) -> Paper:
    """Return a paper by its name, in any case.

    Raises
    ------
    InputError
        With the papers that there are.
    """
    paper = PAPERS.get(name.strip().lower())
    if paper is None:
        expected = f"one of {', '.join(PAPERS)}"
        raise InputError([Fault("--paper", "", expected, repr(name)[:40], "Use one of these.")])
    return paper
