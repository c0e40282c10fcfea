"""Practice on paper: drawn colonies to name, lines to answer on, and the answers apart.

The answers stand on pages of their own after the colonies, so that they can be kept back.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime

from corallum.report.paper import Paper
from corallum.report.typeset import typeset

__all__ = ["MOST_COLONIES", "PracticeColony", "PracticeSheets", "set_practice_sheets"]

MOST_COLONIES = 60
"""More are no sheet but a book."""

# What stands above the first colony, and one colony with its lines at the least, mm.
_TITLE_MM, _COLONY_MM = 17.0, 84.0


@dataclass(frozen=True, slots=True)
class PracticeColony:
    """A colony to be named.

    Parameters
    ----------
    number : int
        From 1.
    picture : bytes
        JPEG, four wide to three high; empty where the colony is only told.
    told : tuple of (str, str)
        Looks that no picture shows: label and state.
    conditions : tuple of str
        What acts on it.
    genus, family : str
        What it is.
    best : tuple of str
        Genera that an honest answer names here.
    nearest : str
        The genus that is hardest to tell from it.
    decides : tuple of str
        Looks that decide between the two, the weightiest first.
    note : str
        The lead's note.
    """

    number: int
    picture: bytes
    told: tuple[tuple[str, str], ...]
    conditions: tuple[str, ...]
    genus: str
    family: str
    best: tuple[str, ...]
    nearest: str
    decides: tuple[str, ...]
    note: str = ""

    @property
    def beside(self) -> tuple[str, ...]:
        """Genera that may be named beside the right one, as marks are given."""
        return tuple(one for one in self.best if one != self.genus)


@dataclass(frozen=True, slots=True)
class PracticeSheets:
    """Colonies on a paper, with or without their answers; ``origin`` says what they are from."""

    paper: Paper
    title: str
    origin: str
    colonies: tuple[PracticeColony, ...]
    answers: bool = True

    @property
    def layout(self) -> tuple[int, int]:
        """Colonies side by side, and one below the other, on a page."""
        width, height = self.paper.free_mm
        return 2 if width > 150 else 1, max(1, int((height - _TITLE_MM) / _COLONY_MM))


def set_practice_sheets(sheets: PracticeSheets, made: datetime) -> bytes:
    """Set practice sheets as a PDF.

    Parameters
    ----------
    sheets : PracticeSheets
        One colony or more.
    made : datetime
        Moment written into the file.

    Returns
    -------
    bytes
        Tagged; answers begin on a page of their own.
    """
    pictures = {_name(one): _as_svg(one.picture) for one in sheets.colonies if one.picture}
    return typeset("practice_sheet", _data(sheets), pictures, made)


def _name(colony: PracticeColony) -> str:
    """Name the picture of a colony."""
    return f"colony-{colony.number}.svg"


def _as_svg(picture: bytes) -> str:
    """Wrap a JPEG as SVG, which is what the typesetter is given."""
    data = base64.b64encode(picture).decode()
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1000 750">'
        f'<image width="1000" height="750" href="data:image/jpeg;base64,{data}"/></svg>'
    )


def _data(sheets: PracticeSheets) -> Mapping[str, object]:
    """Return what the template reads."""
    across, down = sheets.layout
    colonies = []
    for one in sheets.colonies:
        picture = _name(one) if one.picture else ""
        entry = asdict(one) | {"picture": picture, "beside": one.beside}
        colonies.append(entry)
    return {
        "title": sheets.title,
        "origin": sheets.origin,
        "width": sheets.paper.width_mm,
        "height": sheets.paper.height_mm,
        "across": across,
        "down": down,
        "answers": sheets.answers,
        "colonies": colonies,
    }
