"""A sheet of genera to carry into the water: what stands where, and as a PDF.

Genera are rows, states are columns under their drawings. Everything is black on white.
Rows stand by likeness, so that marks form runs that the eye can follow.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from corallum.draw import SIZE, draw_state, drawn
from corallum.draw.states import text_of
from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import Errors
from corallum.model.page_budget import PageBudget
from corallum.model.page_choice import PageChoice
from corallum.reference.scheme import Scheme
from corallum.report.paper import Paper
from corallum.report.sheet_marks import (
    NONE,
    apart,
    like_beside_like,
    mark_states,
    said_range,
    size_range,
    states_shown,
)
from corallum.report.sheet_room import (
    COLUMN_MM,
    DRAWING_MM,
    NAMES_MM,
    ROW_MM,
    TAKEN_MM,
    foot_columns,
    foot_parts,
    page_columns,
)
from corallum.report.typeset import typeset

__all__ = [
    "Drawn", "FieldSheet", "Note", "SheetGroup", "SheetPage", "SheetRow", "SheetWords",
    "label_of", "lay_out", "place_of", "set_field_sheet",
]  # fmt: skip

_DRAWN = frozenset(drawn())
_UNITS = {"_mm": "mm", "_cm": "cm", "_m": "m"}
# A character counts as what sets two genera apart from this difference of reports on.
_LEAST_APART = 0.2
_WIDEST_MM, _TALLEST_MM = 8.5, 8.0
_STINGS = ("stings", "stinging_tentacles")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A state at the head of a column: its label, and its drawing with words for it."""

    state: str
    label: str
    picture: str
    text: str


@dataclass(frozen=True, slots=True)
class SheetGroup:
    """A character over its columns; of a size ``columns`` is what is measured."""

    character: str
    label: str
    size: bool
    width: int
    columns: tuple[Drawn, ...]


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A genus: for each group a mark for each column, or the text of a size.

    ``decides`` is the place of the group that sets it best apart from ``taken_for`` on
    this page, or -1.
    """

    genus: str
    family: str
    stings: bool
    cells: tuple[tuple[str, ...], ...]
    taken_for: str
    decides: int


@dataclass(frozen=True, slots=True)
class SheetPage:
    """A page: groups side by side, rows one below the other."""

    groups: tuple[SheetGroup, ...]
    rows: tuple[SheetRow, ...]


@dataclass(frozen=True, slots=True)
class Note:
    """A paragraph of the account: what it is about, and what it says."""

    about: str
    text: str


@dataclass(frozen=True, slots=True)
class SheetWords:
    """What is said around the table: title, the line below it, and the account."""

    title: str
    below: str
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class FieldSheet:
    """A whole sheet."""

    paper: Paper
    pages: tuple[SheetPage, ...]
    words: SheetWords

    @property
    def genera(self) -> tuple[str, ...]:
        """Every genus once, as the rows stand."""
        return tuple(dict.fromkeys(row.genus for page in self.pages for row in page.rows))


def label_of(id_: str, *, unit: bool = True) -> str:
    """Turn the id of a character into words, with its unit after a comma."""
    for end, short in _UNITS.items():
        if id_.endswith(end):
            words = id_.removesuffix(end).replace("_", " ")
            return f"{words}, {short}" if unit else words
    return id_.replace("_", " ")


def place_of(region: str) -> str:
    """Name a region as a title does."""
    return region.replace("_", " ").title().replace("Indo Pacific", "Indo-Pacific")


def lay_out(
    reference: tuple[Scheme, CompiledReference],
    observer: Errors,
    choice: PageChoice,
    room: tuple[Paper, PageBudget],
    words: SheetWords,
) -> FieldSheet:
    """Lay a chosen sheet out on its pages.

    Parameters
    ----------
    reference : (Scheme, CompiledReference)
        Labels and numbers.
    observer : Observer or OwnErrors
        Who carries it.
    choice : PageChoice
        Genera and characters.
    room : (Paper, PageBudget)
        The paper, and what a page of it holds.
    words : SheetWords
        Title and account.

    Returns
    -------
    FieldSheet
        On as many pages as the budget has, unless it holds fewer characters than pages.

    Raises
    ------
    ValueError
        Where the choice does not fit the budget.
    """
    scheme, compiled = reference
    paper, budget = room
    index = {name: g for g, name in enumerate(compiled.genera)}
    columns = sorted(choice.sheet.columns)
    genera = [index[one.genus] for one in choice.genera]
    apart_ = apart(compiled, observer, genera, columns)
    commonest = max(range(len(genera)), key=lambda i: choice.genera[i].share)
    order = like_beside_like(apart_.sum(axis=0), commonest)
    ids = [compiled.characters[c].id for c in columns]
    shapes = budget.shapes(len(genera), budget.width(ids))
    if not any(budget.holds(shape, len(genera), ids) for shape in shapes):
        msg = f"{len(genera)} genera and {len(ids)} characters do not fit on {budget.pages} pages"
        raise ValueError(msg)
    across = _across(budget, ids, len(genera))
    rows = _Rows(compiled, choice, (genera, columns), apart_)
    groups = {id_: _group(scheme, compiled, genera, id_) for id_ in ids}
    down = budget.pages // len(across)
    each = -(-len(order) // down)
    pages = [
        SheetPage(
            tuple(groups[id_] for id_ in side),
            tuple(rows.row(i, [groups[id_] for id_ in side]) for i in order[at : at + each]),
        )
        for at in range(0, len(order), each)
        for side in across
    ]
    return FieldSheet(paper, tuple(pages), words)


def _across(budget: PageBudget, ids: Sequence[str], genera: int) -> tuple[tuple[str, ...], ...]:
    """Share the characters out over as few pages side by side as fill all pages evenly."""
    needed = len(budget.pages_of(ids) or ())
    down = -(-genera // budget.rows)
    even = (n for n in range(needed, budget.pages // down + 1) if budget.pages % n == 0)
    return page_columns(budget, ids, next(even, needed))


def _group(
    scheme: Scheme, compiled: CompiledReference, genera: Sequence[int], id_: str
) -> SheetGroup:
    """Head of a character: its label, and what is drawn of it."""
    c = compiled.character_index[id_]
    character = scheme.characters[id_]
    if character.is_size:
        drawn = (_drawn(scheme, id_, SIZE, character.unit),)
        return SheetGroup(id_, label_of(id_), size=True, width=2, columns=drawn)
    shown = states_shown(compiled, genera, c) or (0,)
    labels = {state.id: state.label for state in character.states}
    states = [compiled.characters[c].states[s] for s in shown]
    columns = tuple(_drawn(scheme, id_, state, labels[state]) for state in states)
    return SheetGroup(id_, label_of(id_), size=False, width=len(columns) + 1, columns=columns)


def _drawn(scheme: Scheme, id_: str, state: str, label: str) -> Drawn:
    """Name the drawing of a state; one that was added without a drawing has none."""
    if (id_, state) not in _DRAWN:
        return Drawn(state, label, "", "")
    return Drawn(state, label, f"{id_}.{state or 'size'}.svg", text_of(scheme, id_, state))


class _Rows:
    """Makes the rows of a sheet."""

    def __init__(
        self,
        compiled: CompiledReference,
        choice: PageChoice,
        which: tuple[Sequence[int], Sequence[int]],
        apart_: Floats,
    ) -> None:
        self.compiled, self.choice, self.apart = compiled, choice, apart_
        self.genera, self.columns = which
        self.place = {one.genus: i for i, one in enumerate(choice.genera)}

    def row(self, i: int, groups: Sequence[SheetGroup]) -> SheetRow:
        """Make the row of one genus on a page with some characters."""
        genus, about = self.genera[i], self.choice.genera[i]
        taken_for = about.taken_for[0][0] if about.taken_for else ""
        decides = -1
        if taken_for:
            best = self._decides(i, self.place[taken_for])
            decides = next((k for k, one in enumerate(groups) if one.character == best), -1)
        return SheetRow(
            about.genus,
            self.compiled.families[genus],
            any(one in _STINGS for one in self.compiled.cautions[genus]),
            tuple(self._cells(genus, group) for group in groups),
            taken_for,
            decides,
        )

    def _decides(self, i: int, other: int) -> str:
        """Return the character that sets two genera best apart, if any does."""
        by_character = self.apart[:, i, other]
        best = int(by_character.argmax())
        if by_character[best] < _LEAST_APART:
            return ""
        return self.compiled.characters[self.columns[best]].id

    def _cells(self, genus: int, group: SheetGroup) -> tuple[str, ...]:
        """Return the marks of one genus under one character."""
        c = self.compiled.character_index[group.character]
        if group.size:
            found = size_range(self.compiled, genus, c)
            return (found,) if isinstance(found, str) else (said_range(*found),)
        marks = mark_states(self.compiled, genus, c)
        states = self.compiled.characters[c].states
        return tuple(
            marks[states.index(one.state)] if one.state in states else NONE for one in group.columns
        )


def set_field_sheet(sheet: FieldSheet, scheme: Scheme, made: datetime) -> bytes:
    """Set a sheet as a PDF.

    Parameters
    ----------
    sheet : FieldSheet
        What stands where.
    scheme : Scheme
        For the drawings.
    made : datetime
        Moment written into the file.

    Returns
    -------
    bytes
        Tagged, black on white, in the size of its paper.
    """
    pictures = {
        one.picture: draw_state(scheme, group.character, one.state).svg
        for page in sheet.pages
        for group in page.groups
        for one in group.columns
        if one.picture
    }
    return typeset("field_sheet", _data(sheet), pictures, made)


def _data(sheet: FieldSheet) -> Mapping[str, object]:
    """Return what the template reads."""
    notes = [f"{note.about} {note.text}" for note in sheet.words.notes]
    parts = foot_parts(sheet.paper, len(sheet.pages), notes)
    side = foot_columns(sheet.paper)
    feet = [
        [[asdict(sheet.words.notes[i]) for i in part] for part in parts[side * k : side * k + side]]
        for k in range(len(sheet.pages))
    ]
    return {
        "title": sheet.words.title,
        "below": sheet.words.below,
        "width": sheet.paper.width_mm,
        "height": sheet.paper.height_mm,
        "names": NAMES_MM,
        "taken": TAKEN_MM,
        "row": ROW_MM,
        "tallest": _TALLEST_MM,
        "drawing": DRAWING_MM,
        "pages": [
            asdict(page) | {"column": _column_mm(sheet.paper, page), "foot": foot}
            for page, foot in zip(sheet.pages, feet, strict=True)
        ],
    }


def _column_mm(paper: Paper, page: SheetPage) -> float:
    """Width of a column where those of a page share what the names leave."""
    left = paper.free_mm[0] - NAMES_MM - TAKEN_MM
    width = sum(group.width for group in page.groups)
    return max(min(left / max(width, 1), _WIDEST_MM), COLUMN_MM)
