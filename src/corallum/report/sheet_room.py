"""How much of a reference goes on a paper at sizes that a diver can read.

Rows and columns follow from the paper; a character takes as many columns as it has
states to draw, and one more, so that no two drawings touch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from corallum.errors import Fault, InputError
from corallum.model.compiled import CompiledReference
from corallum.model.page_budget import PageBudget
from corallum.report.paper import Paper
from corallum.report.sheet_marks import states_shown

__all__ = [
    "COLUMN_MM", "DRAWING_MM", "FOOT_MM_A_LINE", "HEAD_MM", "NAMES_MM", "ROW_MM", "TAKEN_MM",
    "TITLE_MM", "Room", "foot_columns", "foot_parts", "page_columns", "room_on", "widths_of",
]  # fmt: skip

# Names at 10 points, drawings of 11 mm, in two tiers: hence twice a column for each.
NAMES_MM, TAKEN_MM, ROW_MM = 31.0, 21.0, 5.2
COLUMN_MM, DRAWING_MM = 6.1, 11.0
TITLE_MM, HEAD_MM = 16.0, 46.0
# The account at the foot, at 7.5 points; both a little more than the font measures.
FOOT_MM_A_LINE, _FOOT_MM_A_LETTER, _FOOT_APART_MM = 2.75, 1.12, 1.5
_WIDE_MM, _GUTTER_MM = 150.0, 6.0
_SIZE_COLUMNS = 2
_LEAST_ROWS, _MOST_PAGES = 5, 20


@dataclass(frozen=True, slots=True)
class Room:
    """Genera and columns on one page, with a foot of so many mm."""

    rows: int
    columns: int
    foot_mm: float


def widths_of(compiled: CompiledReference, genera: Sequence[int]) -> dict[str, int]:
    """Return the columns that each character takes on a sheet of some genera, by id."""
    return {
        character.id: _SIZE_COLUMNS
        if character.is_size
        else max(len(states_shown(compiled, genera, c)), 1) + 1
        for c, character in enumerate(compiled.characters)
    }


def foot_columns(paper: Paper) -> int:
    """Return how many columns of text the foot of a page has."""
    return 2 if paper.free_mm[0] >= _WIDE_MM else 1


def _foot_lines(paper: Paper, text: str) -> int:
    """Return how many lines a paragraph of the foot takes at most."""
    n = foot_columns(paper)
    width = (paper.free_mm[0] - (n - 1) * _GUTTER_MM) / n
    return -(-round(len(text) * _FOOT_MM_A_LETTER * 100) // round(width * 100))


def room_on(paper: Paper, pages: int, foot: Sequence[str]) -> Room:
    """Say what a page holds.

    Parameters
    ----------
    paper : Paper
        Upright.
    pages : int
        How many; the foot is shared out over them.
    foot : sequence of str
        Its paragraphs, as long as they may get.

    Returns
    -------
    Room
        At sizes that can be read in the water.

    Raises
    ------
    InputError
        Where pages are none or too many, or leave too few rows.
    """
    if not 1 <= pages <= _MOST_PAGES:
        expected = f"a whole number from 1 to {_MOST_PAGES}"
        raise InputError([Fault("--pages", "", expected, str(pages), "Mend it.")])
    width, height = paper.free_mm
    lines = [_foot_lines(paper, text) for text in foot]
    tallest = _tallest(lines, pages * foot_columns(paper))
    rows = int((height - TITLE_MM - HEAD_MM - tallest) / ROW_MM)
    columns = int((width - NAMES_MM - TAKEN_MM) / COLUMN_MM)
    if rows < _LEAST_ROWS:
        found = f"{pages} of {paper.name}, which hold too little beside what must be said"
        remedy = "Add pages, or take a larger paper."
        raise InputError([Fault("--pages", "", "room for some genera", found, remedy)])
    return Room(rows, columns, tallest)


def _tallest(lines: Sequence[int], parts: int) -> float:
    """Height of the tallest part where paragraphs are shared out in their order, mm."""
    heights = [n * FOOT_MM_A_LINE + _FOOT_APART_MM for n in lines]
    least, most = max(heights, default=0.0), sum(heights)
    while most - least > 0.1:
        middle = (least + most) / 2
        fits = len(_share_out(heights, middle)) <= parts
        least, most = (least, middle) if fits else (middle, most)
    return most


def _share_out(heights: Sequence[float], most: float) -> list[list[int]]:
    """Share paragraphs out in their order, each part no taller than ``most``."""
    parts: list[list[int]] = []
    tall = most + 1.0
    for i, height in enumerate(heights):
        if tall + height > most + 1e-9:
            parts.append([])
            tall = 0.0
        parts[-1].append(i)
        tall += height
    return parts


def foot_parts(paper: Paper, pages: int, foot: Sequence[str]) -> list[list[int]]:
    """Share the paragraphs of a foot out over its columns; return their numbers by part."""
    heights = [_foot_lines(paper, text) * FOOT_MM_A_LINE + _FOOT_APART_MM for text in foot]
    n = pages * foot_columns(paper)
    parts = _share_out(heights, _tallest([_foot_lines(paper, text) for text in foot], n))
    return parts + [[] for _ in range(n - len(parts))]


def page_columns(
    budget: PageBudget, characters: Sequence[str], pages: int
) -> tuple[tuple[str, ...], ...]:
    """Share characters out over pages side by side, as evenly as their widths allow.

    Parameters
    ----------
    budget : PageBudget
        Widths, and the columns of a page.
    characters : sequence of str
        Ids; pages keep their order.
    pages : int
        How many, where there are so many characters.

    Returns
    -------
    tuple of tuple of str
        The characters of each page.
    """
    even: list[list[str]] = [[] for _ in range(max(min(pages, len(characters)), 1))]
    for id_ in sorted(characters, key=lambda one: -budget.widths.get(one, 1)):
        min(even, key=budget.width).append(id_)
    found = [tuple(id_ for id_ in characters if id_ in page) for page in even]
    if max(map(budget.width, found)) > budget.columns:
        found = list(budget.pages_of(characters) or found)
    place = {id_: i for i, id_ in enumerate(characters)}
    return tuple(sorted(found, key=lambda page: place[page[0]] if page else 0))
