"""Practice on files: make a set in a folder, mark a table of answers, study the learning."""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import IO

import numpy as np
from PIL import Image

from corallum.actions import references
from corallum.actions.people import list_people
from corallum.actions.practice_needs import needs_of
from corallum.actions.programme_reference import determiner_of, programme_library
from corallum.actions.programmes import open_programme
from corallum.actions.references import Library, check_region, find_genus
from corallum.draw.surface import ViewOptions, render_colony
from corallum.errors import Fault, InputError
from corallum.exchange.practice import (
    SetFile,
    empty_answers_csv,
    picture_name,
    questions_csv,
    set_from_text,
    set_to_text,
)
from corallum.exchange.practice_answers import GivenAnswer, read_answers
from corallum.exchange.practice_marks import Marked, marks_csv
from corallum.exchange.text_file import read_text, write_text
from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from corallum.model.prior import genus_prior
from corallum.observers.study import StudyOutcome, StudyPlan, run_study
from corallum.practice.item import Item
from corallum.practice.making import item_surface
from corallum.practice.sets import PURPOSES, SetWish, make_items
from corallum.practice.worked import work_through
from corallum.reference.genera import REGIONS
from corallum.store.programme import Programme

__all__ = [
    "MadeFiles",
    "MakeFiles",
    "MarkedFile",
    "draw_item",
    "find_person",
    "make_set_files",
    "mark_file",
    "open_answered_set",
    "study_learning",
    "write_marks",
]

Progress = Callable[[float], None]
_PICTURES = "pictures"
_WIDTH, _HEIGHT = 1000, 750
_MOST_TITLE = 120


@dataclass(frozen=True, slots=True)
class MakeFiles:
    """A new set in a new folder.

    ``programme`` and ``person`` say whose needs it serves where the purpose is ``person``;
    then the programme's reference counts, else that of the folder ``reference`` (None: the
    shipped one). A blank title says the purpose; a blank region is the programme's first,
    or the Indo-Pacific.
    """

    folder: Path
    wish: SetWish
    title: str = ""
    pictures: bool = False
    reference: Path | None = None
    programme: Path | None = None
    person: str = ""


@dataclass(frozen=True, slots=True)
class MadeFiles:
    """What was written: the set, and how many pictures."""

    folder: Path
    made: SetFile
    pictures: int


@dataclass(frozen=True, slots=True)
class MarkedFile:
    """A table of answers, marked; ``same_reference`` is false where the set had another."""

    made: SetFile
    marked: tuple[Marked, ...]
    same_reference: bool


def make_set_files(
    command: MakeFiles,
    now: datetime,
    rng: np.random.Generator,
    progress: Progress = lambda _: None,
) -> MadeFiles:
    """Make a set and write it to a new folder: the set, the questions, a table to fill in.

    Raises
    ------
    InputError
        With every fault of what was wished, or where the folder is there already.
    """
    title = command.title.strip() or PURPOSES.get(command.wish.purpose, command.wish.purpose)
    if not title.isprintable() or len(title) > _MOST_TITLE:
        expected = f"1 to {_MOST_TITLE} characters on one line"
        raise InputError([Fault("practice set", "title", expected, repr(title)[:40], "Mend it.")])
    library, wish = _source(command, now)
    if wish.region not in REGIONS:
        expected, found = f"one of {', '.join(REGIONS)}", repr(wish.region)[:40]
        raise InputError([Fault("practice set", "region", expected, found, "Use one of these.")])
    named = tuple(find_genus(library, genus) for genus in wish.genera)
    share = 0.2 if command.pictures else 1.0
    items = make_items(
        library.compiled, replace(wish, genera=named), rng, lambda done: progress(share * done)
    )
    made = SetFile(title, wish.purpose, wish.region, library.compiled.hash, tuple(items))
    return _write(command, made, library, lambda done: progress(share + (1 - share) * done))


def _source(command: MakeFiles, now: datetime) -> tuple[Library, SetWish]:
    """Return the reference, and the wish with what a person needs in it."""
    wish = command.wish
    if (wish.purpose == "person") != (command.programme is not None):
        expected = "--programme and --person with the purpose person, and only with it"
        found = f"the purpose {wish.purpose} and {command.programme or 'no programme'}"
        raise InputError([Fault("practice set", "", expected, found, "Name both, or neither.")])
    if command.programme is None:
        wish = replace(wish, region=wish.region or REGIONS[0])
        return references.Library(command.reference), wish
    programme = open_programme(command.programme)
    try:
        library = programme_library(programme)
        person = find_person(programme, command.person)
        wish = replace(wish, region=wish.region or programme.settings.regions[0])
        if wish.region in REGIONS:
            weights, reasons = needs_of(programme, person, wish.region, now)
            wish = replace(wish, weights=weights, reasons=reasons)
    finally:
        programme.close()
    return library, wish


def find_person(programme: Programme, name: str) -> str:
    """Return the id of a person by name, written in any case.

    Raises
    ------
    InputError
        Where nobody, or several, are called so; lists the names.
    """
    people = list_people(programme)
    found = [one.id for one in people if one.name.casefold() == name.strip().casefold()]
    if len(found) == 1:
        return found[0]
    names = ", ".join(one.name for one in people)
    said = repr(name)[:40] if not found else f"{len(found)} people called {name!r:.40}"
    raise InputError([Fault("--person", "", f"one of {names}", said, "Use one of these names.")])


def _write(command: MakeFiles, made: SetFile, library: Library, progress: Progress) -> MadeFiles:
    """Write the files of a set; a folder that could not be filled is taken away again."""
    folder, compiled = command.folder, library.compiled
    try:
        folder.mkdir()
    except (OSError, ValueError) as error:
        found = getattr(error, "strerror", None) or str(error)
        fault = Fault(str(folder), "", "a new folder", found.lower(), "Choose another name.")
        raise InputError([fault]) from error
    try:
        write_text(folder / "set.json", set_to_text(made))
        write_text(folder / "questions.csv", questions_csv(made.items))
        write_text(folder / "answers.csv", empty_answers_csv(made.items, compiled))
        drawn = 0
        if command.pictures:
            drawn = _write_pictures(folder / _PICTURES, made, compiled, progress)
    except BaseException as error:
        shutil.rmtree(folder, ignore_errors=True)
        if isinstance(error, OSError):
            remedy = "Check the disk."
            fault = Fault(str(folder), "", "room for the set", str(error), remedy)
            raise InputError([fault]) from error
        raise
    return MadeFiles(folder, made, drawn)


def _write_pictures(
    folder: Path, made: SetFile, compiled: CompiledReference, progress: Progress
) -> int:
    """Draw every item that has a picture; return how many."""
    folder.mkdir()
    drawn = 0
    for number, item in enumerate(made.items, start=1):
        if item.kind == "rendered":
            (folder / picture_name(number)).write_bytes(draw_item(compiled, item))
            drawn += 1
        progress(number / len(made.items))
    return drawn


def draw_item(compiled: CompiledReference, item: Item) -> bytes:
    """Draw a rendered item as JPEG, the same each time, labelled as a drawing."""
    starts = [*compiled.genus_starts.tolist(), compiled.n_forms]
    g = compiled.genera.index(item.genus)
    form = starts[g] + compiled.form_ids[starts[g] : starts[g + 1]].index(item.form)
    surface = item_surface(compiled, form, item.seed, item.scene)
    # Water, noise and seed are those of the pages, so that both show the same picture.
    options = ViewOptions(
        width=_WIDTH, height=_HEIGHT, scale_bar=item.ruler, water=0.15, noise=0.01, label=True
    )
    image = render_colony(surface, options, np.random.default_rng(item.seed + 2)).image
    out = io.BytesIO()
    Image.fromarray(image).save(out, "JPEG", quality=82)
    return out.getvalue()


def open_answered_set(
    library: Library, set_path: str, answers_path: str, stdin: IO[bytes], most_mb: int
) -> tuple[SetFile, tuple[GivenAnswer, ...]]:
    """Read a set and a table of answers to it.

    Parameters
    ----------
    library : Library
        Must know the genera, characters and states of both.
    set_path, answers_path : str
        Files; a set may be named by its folder, and one of both by ``-``.
    stdin : binary stream
        Read where a path is ``-``.
    most_mb : int
        Largest file to read, in megabytes.

    Raises
    ------
    InputError
        With every fault of the set, or else of the table.
    """
    if Path(set_path).is_dir():
        set_path = str(Path(set_path) / "set.json")
    made = set_from_text(*read_text(set_path, stdin, most_mb), library.compiled)
    text, name = read_text(answers_path, stdin, most_mb)
    given = read_answers(
        text, name, len(made.items), library.compiled, lambda genus: find_genus(library, genus)
    )
    return made, given


def mark_file(
    library: Library,
    paths: tuple[str, str],
    stdin: IO[bytes],
    most_mb: int,
    progress: Progress = lambda _: None,
) -> MarkedFile:
    """Mark and explain every answer of a table.

    Parameters
    ----------
    library : Library
        The reference that explains; the best posteriors are those kept in the set.
    paths : tuple of str
        Set and answers, as :func:`open_answered_set` takes them.
    stdin, most_mb : binary stream, int
        As there.
    progress : callable
        Is told the share done, 0 to 1.
    """
    made, given = open_answered_set(library, *paths, stdin, most_mb)
    exact = determiner_of(library, Observer.EXACT)
    unknown = determiner_of(library, Observer.UNKNOWN)
    marked = []
    for i, one in enumerate(given):
        item = made.items[one.item - 1]
        worked = work_through(exact, unknown, item, one.answer)
        marked.append(Marked(one.observer, one.item, item, one.answer, worked))
        progress((i + 1) / len(given))
    return MarkedFile(made, tuple(marked), made.reference == library.compiled.hash)


def write_marks(found: MarkedFile, path: Path) -> None:
    """Write marks as a table, never over a file that is there."""
    write_text(path, marks_csv(found.marked))


def study_learning(
    library: Library,
    region: str,
    plan: StudyPlan,
    rng: np.random.Generator,
    progress: Progress = lambda _: None,
) -> StudyOutcome:
    """Let invented observers practise, and see what learning their errors is worth.

    Raises
    ------
    UnknownNameError
        Where the region is unknown.
    """
    check_region(region)
    kernel = determiner_of(library, Observer.UNKNOWN).kernel
    return run_study(kernel, genus_prior(library.compiled, region), plan, rng, progress)
