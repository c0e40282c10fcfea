"""Words and figures that all reports share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

import corallum
from corallum.actions.colony_lists import history_of
from corallum.actions.plain_words import GAP
from corallum.actions.programme_reference import programme_library
from corallum.actions.result_plots import Layouts
from corallum.actions.result_words import Figure
from corallum.draw.plots import spoken
from corallum.report.report import Facts, Picture, Section
from corallum.store.programme import Programme

__all__ = [
    "NEW_LINE", "NONE", "figure_cell", "invented_words", "made_again", "minute", "picture_of",
    "plural", "share_cell", "to_list",
]  # fmt: skip

NONE = "—"
NEW_LINE = "\n"
_INVENTED = "invented"


def figure_cell(one: Figure | None, *, below: bool = False) -> str:
    """Return a figure with its interval as one cell, beside it or below it."""
    if one is None:
        return NONE
    # A line may break before the interval, not within it.
    interval = one.interval.replace(" to ", f"{GAP}to{GAP}") or "no interval"
    return f"{one.value}{NEW_LINE if below else ' '}({interval})"


def share_cell(share: str) -> str:
    """Return a share as a cell; where there is none it is said."""
    return share.replace(" ", GAP) or NONE


def plural(n: int, one: str, many: str = "") -> str:
    """Return a count with its noun."""
    return f"{n:,} {one if n == 1 else many or one + 's'}"


def to_list(names: Sequence[str], most: int = 12) -> str:
    """Join names, the tail counted."""
    shown = list(names)
    if len(shown) > most + 1:
        shown = [*shown[:most], f"{len(names) - most} more"]
    if len(shown) < 2:
        return "".join(shown)
    return ", ".join(shown[:-1]) + " and " + shown[-1]


def minute(at: datetime) -> str:
    """Say a moment with its time zone, to the minute."""
    return f"{at.day} {at:%B %Y, %H:%M} ({at:%z})"


def picture_of(layouts: Layouts, caption: str) -> Picture:
    """Return a plot as a picture of a report."""
    return Picture(layouts.wide, layouts.narrow, spoken(layouts.wide), caption)


def invented_words(texts: Iterable[str]) -> str:
    """Return the warning of invented data, where a name or a note says that they are."""
    if not any(_INVENTED in text.casefold() for text in texts):
        return ""
    return (
        "The data of this report are invented: the reef, its sites and its observers do not "
        "exist. Nothing here may be taken for a finding."
    )


def made_again(
    programme: Programme,
    made: datetime,
    asked: Sequence[tuple[str, str]],
    command: str,
) -> Section:
    """Return what it takes to make a report again.

    Parameters
    ----------
    programme : Programme
        What it was made from.
    made : datetime
        When.
    asked : sequence of (str, str)
        What was asked, with seeds.
    command : str
        That makes it.
    """
    newest = history_of(programme, 1, 1)
    head = "nothing written yet"
    if newest:
        head = f"entry {newest[0].id}, seal {newest[0].hash}"
    rows = (
        ("Made", minute(made)),
        ("Program", f"Corallum {corallum.__version__}"),
        ("Programme", programme.settings.name),
        ("Reference", programme_library(programme).compiled.hash),
        ("History of the records", head),
        *asked,
        ("Command", command),
    )
    return Section("How to make it again", (Facts(rows),))
