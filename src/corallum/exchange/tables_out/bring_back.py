"""A survey's slates as the table that an import of slates takes: what comes back is the same.

Only columns of its method are written, under headers that the import knows by itself. Not
carried are what a plan says, flags, second readings, replaced slates and notes on slates
with lines.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from corallum.exchange.survey_columns import guess_columns
from corallum.exchange.tables_out.columns import Column, PlainTable, Value, plain_cell
from corallum.records.survey import Line, Method, Slate

__all__ = ["BRING_BACK", "BackSlate", "back_table", "file_name"]

BRING_BACK = PlainTable("bring-back/*", "Slates that stand, for an import; a line a row.", (
    Column("site", "Name of the site."),
    Column("transect", "Name of the transect."),
    Column("date", "Of the dive.", "date"),
    Column("observer", "Name of who read it."),
    Column("depth_m", "Of the transect.", "number", "metre", blank=True),
    Column("name", "What was met, as it was written; blank where nothing was met.", blank=True),
    Column("form", "Growth form.", blank=True),
    Column("from_cm", "Where it begins along the tape.", "number", "centimetre", blank=True),
    Column("to_cm", "Where it ends.", "number", "centimetre", blank=True),
    Column("tape_cm", "Length of the tape.", "number", "centimetre", blank=True),
    Column("width_cm", "Width of the belt.", "number", "centimetre", blank=True),
    Column("frames", "Photos or quadrats on the transect.", "whole number", blank=True),
    Column("frame", "Number of the photo or quadrat.", "whole number", blank=True),
    Column("point", "Number of the point.", "whole number", blank=True),
    Column("x", "Place of the point across its photo.", "number", "share of the width",
           blank=True, span="0 to 1"),
    Column("y", "Place of the point down its photo.", "number", "share of the height",
           blank=True, span="0 to 1"),
    Column("diameter_cm", "Largest diameter of the colony.", "number", "centimetre", blank=True),
    Column("off_line_cm", "Distance of the colony's centre from the tape.", "number",
           "centimetre", blank=True),
    Column("count", "Colonies that the line stands for.", "whole number", blank=True),
    Column("cover_percent", "Cover of a quadrat.", "number", "percent", blank=True,
           span="0 to 100"),
    Column("colony", "Mark of the colony.", blank=True),
    Column("photo", "SHA-256 of the photo.", blank=True),
    Column("note", "Anything else.", blank=True),
))  # fmt: skip

# Columns that an import wants on every line or not at all.
_ALL_OR_NONE = ("from_cm", "point", "x", "y")
_TAPE = ("from_cm", "to_cm")
_ALWAYS = ("site", "transect", "date", "observer", "name")


@dataclass(frozen=True, slots=True)
class BackSlate:
    """A slate with the names that an import looks for."""

    site: str
    transect: str
    observer: str
    slate: Slate


def file_name(number: int, survey: str) -> str:
    """Return a file name for a survey, in plain letters.

    Examples
    --------
    >>> file_name(2, "Ré-survey: spring/26")
    'bring-back/2-re-survey-spring-26.csv'
    """
    plain = unicodedata.normalize("NFKD", survey.casefold()).encode("ascii", "ignore").decode()
    words = re.findall(r"[a-z0-9]+", plain)
    return f"bring-back/{'-'.join([str(number), *words])[:60]}.csv"


def back_table(
    slates: Sequence[BackSlate], method: Method
) -> tuple[tuple[str, ...], list[list[str | int | float | None]]]:
    """Return the header and the rows of a survey's slates.

    Parameters
    ----------
    slates : sequence of BackSlate
        Those that stand, all of one method.
    method : Method
        Of the survey; columns of other methods are left out.
    """
    rows = [row for one in slates for row in _rows(one)]
    known = set(guess_columns(BRING_BACK.header, method).values())
    header = tuple(
        name for name in BRING_BACK.header if name in known and _is_wanted(name, rows, method)
    )
    return header, [[plain_cell(row[name]) for name in header] for row in rows]


def _is_wanted(name: str, rows: Sequence[dict[str, Value]], method: Method) -> bool:
    """Whether a column is written: it holds something, and all that the import needs."""
    # A tape without a reading is nothing that an import takes: it shall say so by the row.
    if name in _ALWAYS or (method is Method.LINE and name in _TAPE):
        return True
    values = [row[name] for row in rows if row["name"] is not None or name not in _ALL_OR_NONE]
    filled = [value not in (None, "") for value in values]
    return all(filled) and bool(filled) if name in _ALL_OR_NONE else any(filled)


def _rows(one: BackSlate) -> list[dict[str, Value]]:
    """Return the rows of one slate; one without lines is a row that tells of its place."""
    slate = one.slate
    about: dict[str, Value] = {
        "site": one.site, "transect": one.transect, "date": slate.date, "observer": one.observer,
        "depth_m": slate.depth_m, "tape_cm": slate.effort.length_cm,
        "width_cm": slate.effort.width_cm, "frames": slate.effort.frames,
    }  # fmt: skip
    if not slate.lines:
        blank = dict.fromkeys(name for name in BRING_BACK.header if name not in about)
        return [{**about, **blank, "note": " ".join(slate.note.split())}]
    return [{**about, **_line(line)} for line in slate.lines]


def _line(line: Line) -> dict[str, Value]:
    """Return what one line says; a note is on one line, as an import wants it."""
    return {
        "name": line.said, "form": line.form, "from_cm": line.from_cm, "to_cm": line.to_cm,
        "frame": line.frame, "point": line.point, "x": line.x, "y": line.y,
        "diameter_cm": line.diameter_cm, "off_line_cm": line.off_line_cm, "count": line.count,
        "cover_percent": line.cover_percent, "colony": line.colony, "photo": line.photo,
        "note": " ".join(line.note.split()),
    }  # fmt: skip
