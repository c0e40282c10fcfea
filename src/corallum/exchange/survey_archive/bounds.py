"""Numbers of a line that no slate and no table may hold, so that no archive brings them either."""

from __future__ import annotations

from collections.abc import Iterator

from corallum.records.survey import Line

__all__ = ["impossible_numbers"]

# Only a distance from the tape has two sides.
_FROM_0 = ("from_cm", "to_cm", "frame", "point", "diameter_cm", "count", "cover_percent")
_SHARES = ("x", "y")


def impossible_numbers(line: Line) -> Iterator[tuple[str, str, str]]:
    """Yield field, what was expected and what was found, of each number that can't be.

    Parameters
    ----------
    line : Line
        As read. What is odd and yet can be is flagged later, not refused.
    """
    for name in (*_FROM_0, *_SHARES):
        value = getattr(line, name)
        share = name in _SHARES
        if value is not None and not 0 <= value <= (1 if share else float("inf")):
            yield name, "a share from 0 to 1" if share else "a number not below 0", f"{value:g}"
