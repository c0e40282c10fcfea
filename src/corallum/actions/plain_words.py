"""How people are told things: ids as words, chances as percent, days as they are read aloud."""

from __future__ import annotations

from datetime import date, datetime

__all__ = ["GAP", "day", "label", "percent", "words"]

_UNITS = ("_mm", "_cm", "_m")
# Keeps a number and its sign on one line.
GAP = "\u00a0"


def words(id_: str) -> str:
    """Turn an id into words."""
    return id_.replace("_", " ")


def label(id_: str) -> str:
    """Turn the id of a character into words, without its unit."""
    for unit in _UNITS:
        id_ = id_.removesuffix(unit)
    return words(id_)


def percent(share: float | None) -> str:
    """Say a chance; what is neither sure nor impossible is never said to be."""
    if share is None:
        return ""
    if share > 0.99:
        return f"over 99{GAP}%" if share < 0.9999 else f"100{GAP}%"
    if share < 0.01:
        return f"under 1{GAP}%" if share > 0 else f"0{GAP}%"
    return f"{100 * share:.0f}{GAP}%"


def day(date_: date | datetime) -> str:
    """Write a day as it is read aloud."""
    return f"{date_.day} {date_:%B %Y}"
