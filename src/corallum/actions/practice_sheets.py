"""Make practice sheets to print: colonies drawn from the reference, and their answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

import corallum
from corallum.actions import references
from corallum.actions.plain_words import GAP
from corallum.actions.practice_files import draw_item
from corallum.actions.programme_reference import (
    determiner_of,
    programme_library,
    reference_version,
)
from corallum.actions.references import Library, check_region, find_genus
from corallum.errors import Fault, InputError
from corallum.model.errors import Observer
from corallum.practice.item import Item, PracticeAnswer
from corallum.practice.sets import PURPOSES, SetWish, make_items
from corallum.practice.worked import Worked, work_through
from corallum.reference.scheme import NOT_APPLICABLE, Scheme
from corallum.report.field_sheet import label_of, place_of
from corallum.report.paper import paper_called
from corallum.report.practice_sheet import (
    MOST_COLONIES,
    PracticeColony,
    PracticeSheets,
    set_practice_sheets,
)

if TYPE_CHECKING:
    from corallum.store.programme import Programme

__all__ = ["MadePracticeSheets", "MakePracticeSheets", "make_practice_sheets"]

Progress = Callable[[float], None]
_MOST_LOOKS = 4
# Letters of a title that fit beside name and date on the smallest paper.
_LONGEST_TITLE = 66


@dataclass(frozen=True, slots=True)
class MakePracticeSheets:
    """Practice sheets for a region, or of named genera only."""

    region: str | None = None
    items: int = 12
    genera: tuple[str, ...] = ()
    paper: str = "a4"
    seed: int = 1
    answers: bool = True


@dataclass(frozen=True, slots=True)
class MadePracticeSheets:
    """Sheets, and their PDF."""

    sheets: PracticeSheets
    region: str
    pdf: bytes


def make_practice_sheets(
    programme: Programme | None,
    command: MakePracticeSheets,
    now: datetime,
    progress: Progress = lambda _: None,
) -> MadePracticeSheets:
    """Draw colonies to be named and set them, the answers apart.

    Parameters
    ----------
    programme : Programme or None
        Whose reference and region count; None is the shipped reference.
    command : MakePracticeSheets
        What is wished.
    now : datetime
        Day that the sheet says.
    progress : callable
        Is told the share done, 0 to 1.

    Raises
    ------
    InputError
        With every fault of what is wished.
    """
    paper = paper_called(command.paper)
    if not 1 <= command.items <= MOST_COLONIES:
        expected, found = f"a whole number from 1 to {MOST_COLONIES}", str(command.items)
        raise InputError([Fault("--items", "", expected, found, "Mend it.")])
    check_region(command.region)
    library = references.Library() if programme is None else programme_library(programme)
    region = command.region or (programme.settings.regions[0] if programme else None)
    if region is None:
        remedy = "Name it, or a programme."
        raise InputError([Fault("--region", "", "a region, such as red_sea", "none", remedy)])
    genera = tuple(find_genus(library, one) for one in command.genera)
    wish = SetWish("common", region, command.items, genera)
    rng = np.random.default_rng(command.seed)
    items = make_items(library.compiled, wish, rng, lambda share: progress(0.2 * share))
    colonies = []
    for number, item in enumerate(items, start=1):
        colonies.append(_colony(library, number, item))
        progress(0.2 + 0.75 * number / len(items))
    title, version = f"Practice: {place_of(region)}", f"Corallum {corallum.__version__}"
    if programme is not None:
        full = f"Practice: {programme.settings.name}, {place_of(region)}"
        title = full if len(full) <= _LONGEST_TITLE else title
        version = reference_version(programme)
    origin = (
        f"{PURPOSES['common']}; colonies drawn from the reference {version}, "
        f"{library.compiled.hash[:12]}, seed {command.seed}. Answers are the best that the "
        f"model makes of all that is shown and told. {now.day} {now:%B %Y}."
    )
    sheets = PracticeSheets(paper, title, origin, tuple(colonies), command.answers)
    pdf = set_practice_sheets(sheets, now)
    progress(1.0)
    return MadePracticeSheets(sheets, region, pdf)


def _colony(library: Library, number: int, item: Item) -> PracticeColony:
    """Draw a colony, and work its answer."""
    compiled, scheme = library.compiled, library.reference.scheme
    exact = determiner_of(library, Observer.EXACT)
    unknown = determiner_of(library, Observer.UNKNOWN)
    worked = work_through(exact, unknown, item, PracticeAnswer((item.genus,), 1.0))
    return PracticeColony(
        number,
        draw_item(compiled, item) if item.kind == "rendered" else b"",
        tuple(
            (label_of(id_, unit=False), _said(scheme, id_, item.shown[id_])) for id_ in item.told
        ),
        tuple(one.replace("_", " ") for one in item.conditions),
        item.genus,
        compiled.families[compiled.genera.index(item.genus)],
        worked.mark.honest_set,
        worked.nearest,
        _decides(scheme, item, worked),
        item.note,
    )


def _decides(scheme: Scheme, item: Item, worked: Worked) -> tuple[str, ...]:
    """Say in words what decides."""
    ids: Mapping[str, None] = dict.fromkeys(
        id_ for entry in worked.decides for id_ in (entry.character, *entry.with_)
        if id_ in item.shown and id_ in scheme.characters
    )  # fmt: skip
    said = (f"{label_of(id_, unit=False)}: {_said(scheme, id_, item.shown[id_])}" for id_ in ids)
    return tuple(said)[:_MOST_LOOKS]


def _said(scheme: Scheme, id_: str, value: str | float) -> str:
    """Say a state by its label, or a size with its unit."""
    character = scheme.characters[id_]
    if not isinstance(value, str):
        figure = f"{value:.2g}" if value < 100 else f"{value:.0f}"
        return f"{figure}{GAP}{character.unit}" if character.unit else figure
    if value == NOT_APPLICABLE:
        return "does not apply"
    labels = {state.id: state.label for state in character.states}
    return labels.get(value, value.replace("_", " "))
