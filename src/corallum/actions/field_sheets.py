"""Make a field sheet of genera for a region, a team, a paper and so many pages."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

import corallum
from corallum.actions import references
from corallum.actions.references import Library, check_region, find_genus
from corallum.errors import Fault, InputError, UnknownNameError
from corallum.model.compiled import CompiledReference
from corallum.model.errors import Errors, Observer
from corallum.model.page_accuracy import Trial
from corallum.model.page_budget import PageBudget, PageQuestion, ask_page, placed, team_errors
from corallum.model.page_choice import PageChoice, account_for
from corallum.model.page_comparison import PageComparison, compare_page
from corallum.model.page_search import search_sheet
from corallum.model.separability import Pair, find_pairs
from corallum.report.field_sheet import (
    FieldSheet,
    SheetWords,
    lay_out,
    place_of,
    set_field_sheet,
)
from corallum.report.paper import Paper, paper_called
from corallum.report.sheet_account import BELOW, Account, Origin, longest_account, write_account
from corallum.report.sheet_room import Room, room_on, widths_of

if TYPE_CHECKING:
    from corallum.store.programme import Programme

__all__ = ["MadeFieldSheet", "MakeFieldSheet", "make_field_sheet"]

Progress = Callable[[float], None]
# Colonies of each genus to find the pairs that no look tells apart.
_DRAWS = 60
_MOST_COLONIES, _MOST_RANDOM = 100_000, 10_000


@dataclass(frozen=True, slots=True)
class MakeFieldSheet:
    """A field sheet of genera.

    Parameters
    ----------
    region : str or None
        Where it is carried; a programme with one region need not say it.
    paper : str
        a4, a5 or letter.
    pages : int
        The budget.
    keep : tuple of str
        Genera, and ids of characters, that have a place whatever they are worth.
    seed, colonies : int
        Of the simulation.
    random : int
        Random sheets to compare with.
    """

    region: str | None = None
    paper: str = "a4"
    pages: int = 2
    keep: tuple[str, ...] = ()
    seed: int = 1
    colonies: int = 2000
    random: int = 100


@dataclass(frozen=True, slots=True)
class MadeFieldSheet:
    """A sheet, how it was chosen, and its PDF; ``pairs`` can't be told apart alive."""

    sheet: FieldSheet
    choice: PageChoice
    beside: PageComparison | None
    pairs: tuple[Pair, ...]
    room: Room
    region: str
    reference: str
    pdf: bytes


@dataclass(frozen=True, slots=True)
class _Who:
    """For whom a sheet is made: title, reference and errors."""

    title: str
    library: Library
    version: str
    region: str
    errors: Errors
    team: str


def make_field_sheet(
    programme: Programme | None,
    command: MakeFieldSheet,
    now: datetime,
    progress: Progress = lambda _: None,
) -> MadeFieldSheet:
    """Choose what a sheet carries, lay it out and set it.

    Parameters
    ----------
    programme : Programme or None
        Whose reference, region and observers count; None is the shipped reference and an
        observer who is not known.
    command : MakeFieldSheet
        What is wished.
    now : datetime
        Day that the sheet says.
    progress : callable
        Is told the share done, 0 to 1.

    Raises
    ------
    InputError
        With what was expected, where the paper, pages, names or numbers can't be meant.
    UnknownNameError
        Where there is no such region.
    """
    paper = paper_called(command.paper)
    _check_numbers(command)
    who = _who(programme, command.region)
    compiled = who.library.compiled
    question = ask_page(compiled, who.errors, who.region)
    origin = Origin(
        who.team, f"{who.version}, {compiled.hash[:12]}", f"{now.day} {now:%B %Y}",
        command.seed, command.colonies,
    )  # fmt: skip
    room = _room(paper, command.pages, question, origin)
    budget = _budget(who.library, command, room, question)
    choice, beside, budget = _choose(question, command, budget, progress)
    on_sheet = {one.genus for one in choice.genera}
    pairs = _pairs(compiled, who.region, on_sheet, command.seed)
    account = Account(choice, beside, pairs, _cautions(compiled, choice), origin)
    words = SheetWords(who.title, BELOW, write_account(account))
    scheme = who.library.reference.scheme
    sheet = lay_out((scheme, compiled), who.errors, choice, (paper, budget), words)
    pdf = set_field_sheet(sheet, scheme, now)
    progress(1.0)
    return MadeFieldSheet(sheet, choice, beside, pairs, room, who.region, compiled.hash, pdf)


def _check_numbers(command: MakeFieldSheet) -> None:
    """Refuse numbers that can't be meant."""
    faults = [
        Fault(name, "", f"a whole number from {least} to {most}", str(value), "Mend it.")
        for name, value, least, most in (
            ("--colonies", command.colonies, 2, _MOST_COLONIES),
            ("--random", command.random, 0, _MOST_RANDOM),
            ("--seed", command.seed, 0, 2**63 - 1),
        )
        if not least <= value <= most
    ]
    if faults:
        raise InputError(faults)


def _who(programme: Programme | None, region: str | None) -> _Who:
    """Find whose reference and errors count, and what the sheet is called."""
    check_region(region)
    if programme is None:
        if region is None:
            remedy = "Name it, or a programme."
            fault = Fault("--region", "", "a region, such as red_sea", "none", remedy)
            raise InputError([fault])
        title = f"Genera of stony corals: {place_of(region)}"
        version = f"Corallum {corallum.__version__}"
        team = "an observer who is not known"
        return _Who(title, references.Library(), version, region, Observer.UNKNOWN, team)
    from corallum.actions.programme_reference import (  # noqa: PLC0415  the database is slow to load
        programme_library,
        reference_version,
    )

    settings = programme.settings
    region = region or settings.regions[0]
    errors, team = _team(programme, region)
    title = f"Genera of stony corals: {settings.name}, {place_of(region)}"
    library = programme_library(programme)
    return _Who(title, library, reference_version(programme), region, errors, team)


def _team(programme: Programme, region: str) -> tuple[Errors, str]:
    """Return the errors of those who dive: their own as far as known, else of anybody."""
    from corallum.actions.observer_errors import learn_observers  # noqa: PLC0415
    from corallum.actions.people import list_people  # noqa: PLC0415
    from corallum.actions.programme_reference import programme_library  # noqa: PLC0415
    from corallum.records.programme import Role  # noqa: PLC0415

    compiled = programme_library(programme).compiled
    members = [
        one for one in list_people(programme) if one.active and one.role.covers(Role.OBSERVER)
    ]
    known = learn_observers(programme, region)
    own = [known[one.id].errors.own_errors(compiled) for one in members if one.id in known]
    if not own:
        return Observer.UNKNOWN, "an observer who is not known"
    others: list[Errors] = [Observer.UNKNOWN] * (len(members) - len(own))
    team = f"a team of {len(members)} ({len(own)} with errors known from practice)"
    return team_errors(compiled, [*own, *others]), team


def _room(paper: Paper, pages: int, question: PageQuestion, origin: Origin) -> Room:
    """Say what the pages hold beside the longest account that may have to be given."""
    compiled = question.compiled
    genera = [compiled.genera[g] for g in np.flatnonzero(question.mix)]
    characters = [compiled.characters[c].id for c in question.characters]
    carried = {id_ for g in np.flatnonzero(question.mix) for id_ in compiled.cautions[g]}
    cautions = {id_: compiled.caution_texts[id_] for id_ in carried if id_ in _SAID}
    held = 0
    for _ in range(2):
        foot = longest_account(genera, characters, held, cautions, origin)
        room = room_on(paper, pages, foot)
        held = room.rows
    return room


# Cautions of genera that a sheet says; the others are said of all corals anyway.
_SAID = ("stings", "stinging_tentacles")


def _cautions(compiled: CompiledReference, choice: PageChoice) -> Mapping[str, tuple[str, ...]]:
    """Return the cautions that the genera of a sheet carry, and which genera those are."""
    index = {name: g for g, name in enumerate(compiled.genera)}
    found: dict[str, tuple[str, ...]] = {}
    for id_ in _SAID:
        genera = tuple(
            one.genus for one in choice.genera if id_ in compiled.cautions[index[one.genus]]
        )
        if genera and id_ in compiled.caution_texts:
            found[compiled.caution_texts[id_]] = genera
    return found


def _budget(
    library: Library, command: MakeFieldSheet, room: Room, question: PageQuestion
) -> PageBudget:
    """Say what the pages hold, and what must be on them."""
    compiled = question.compiled
    characters = tuple(one for one in command.keep if one in compiled.character_index)
    genera = [_genus(library, one) for one in command.keep if one not in characters]
    listed = np.flatnonzero(question.mix).tolist()
    budget = PageBudget(
        room.rows, room.columns, command.pages, tuple(dict.fromkeys(genera)), characters,
        widths_of(compiled, listed),
    )  # fmt: skip
    placed(question, budget)
    return budget


def _genus(library: Library, name: str) -> str:
    """Return the genus that must be on a sheet."""
    try:
        return find_genus(library, name)
    except UnknownNameError as error:
        expected = "a genus, or the id of a character"
        known = (*library.compiled.genera, *library.compiled.character_index)
        near = error.nearest or difflib.get_close_matches(name, known, n=2)
        remedy = f"Did you mean {' or '.join(near)}?" if near else "Check the spelling."
        raise InputError([Fault("--keep", "", expected, repr(name)[:40], remedy)]) from error


def _choose(
    question: PageQuestion, command: MakeFieldSheet, budget: PageBudget, progress: Progress
) -> tuple[PageChoice, PageComparison | None, PageBudget]:
    """Choose genera and characters; then use the room of states that these genera lack."""
    compiled = question.compiled
    rng = np.random.default_rng(command.seed)
    listed = np.flatnonzero(question.mix).tolist()
    trial = Trial.draw(question, command.colonies, rng)
    sheet = search_sheet(trial, budget, progress=lambda share: progress(0.5 * share))
    rows = [listed[row] for row in sheet.rows]
    tight = replace(
        budget,
        genera=tuple(compiled.genera[g] for g in rows),
        widths=widths_of(compiled, rows),
    )
    sheet = search_sheet(
        trial, tight, start=sheet, progress=lambda share: progress(0.5 + 0.2 * share)
    )
    judged = Trial.draw(question, command.colonies, rng)
    choice = account_for(judged, sheet, trial.score(sheet))
    progress(0.8)
    beside = compare_page(judged, sheet, rng, sheets=command.random) if command.random else None
    progress(0.95)
    return choice, beside, tight


def _pairs(
    compiled: CompiledReference, region: str, on_sheet: Sequence[str] | set[str], seed: int
) -> tuple[Pair, ...]:
    """Return pairs with a genus of the sheet that no look in the water tells apart."""
    found = find_pairs(compiled, region, np.random.default_rng(seed), draws=_DRAWS)
    least = compiled.settings.separable
    return tuple(
        one for one in found if one.in_water < least and (one.a in on_sheet or one.b in on_sheet)
    )
