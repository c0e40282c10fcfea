"""The programme's own copy of the reference: read, ask, edit with checks, compare."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path

import numpy as np

import corallum
from corallum.actions.references import Library, find_genus
from corallum.actions.unit_of_work import check_line, check_number, unit_of_work
from corallum.errors import Fault, InputError, NotFoundError, TableError, UnknownNameError
from corallum.exchange.colonies import BadColony, parse_colony
from corallum.model.answer import Determiner
from corallum.model.errors import Observer
from corallum.model.evidence import read_colony
from corallum.observers.own_errors import errors_from_text
from corallum.records.colony import Colony, Report, SizeReport, StateReport
from corallum.records.programme import Role
from corallum.reference.changes import Change, list_changes
from corallum.reference.reference import Reference, parse_reference
from corallum.store.history import count_verb, write_entry
from corallum.store.practice import errors_text
from corallum.store.programme import Programme
from corallum.store.reference_copy import (
    TableState,
    add_line,
    edit_line,
    find_row,
    folder_state,
    write_table,
)
from corallum.store.reference_folder import read_reference_folder

__all__ = [
    "OWN",
    "EditCell",
    "EditValue",
    "check_report",
    "determiner_of",
    "differences",
    "edit_cell",
    "edit_value",
    "preview_value",
    "programme_determiner",
    "programme_library",
    "reference_version",
]

_EDIT = "edit reference"
# Stands before the hash of a person's own errors.
OWN = "own:"


@dataclass(frozen=True, slots=True)
class EditValue:
    """What a form of a genus shows of a character; form ``*`` is all, no text is not known."""

    genus: str
    form: str
    character: str
    text: str
    source: str = "memory"


@dataclass(frozen=True, slots=True)
class EditCell:
    """Any cell of a table; rows count as a spreadsheet counts them."""

    table: str
    row: int
    column: str
    text: str


def programme_library(programme: Programme) -> Library:
    """Return the programme's reference, read again only after a table changed.

    Its settings are those of the tables but for the thresholds in ``programme.toml``.

    Raises
    ------
    TableError
        Where the tables have faults, when it is first used.
    """
    folder = programme.reference_folder
    thresholds = tuple(sorted(programme.settings.thresholds.items()))
    return _library(folder, folder_state(folder), thresholds)


@lru_cache(maxsize=4)
def _library(folder: Path, state: TableState, thresholds: tuple[tuple[str, float], ...]) -> Library:
    """Make a library for one state of the tables."""
    del state
    return Library(folder, dict(thresholds))


def programme_determiner(programme: Programme, errors: str = "unknown") -> Determiner:
    """Return what answers for colonies, its tables kept from one tap to the next.

    ``errors`` is whose errors to assume: unknown, trained or new, or ``own:`` and the
    first characters of the hash under which a person's own errors are kept.
    """
    library = programme_library(programme)
    if not errors.startswith(OWN):
        return determiner_of(library, Observer[errors.upper()])
    with programme.read() as connection:
        text = errors_text(connection, errors.removeprefix(OWN))
    return _own_determiner(library, text)


@lru_cache(maxsize=8)
def determiner_of(library: Library, observer: Observer) -> Determiner:
    """Make what answers for one state of the tables and one kind of observer."""
    return Determiner(library.compiled, observer)


@lru_cache(maxsize=8)
def _own_determiner(library: Library, text: str) -> Determiner:
    """Make what answers with the errors of one person, as they were kept."""
    return Determiner(library.compiled, errors_from_text(library.compiled, text))


def reference_version(programme: Programme) -> str:
    """Return the version in words: the program that shipped it, and the edits since."""
    with programme.read() as connection:
        edits = count_verb(connection, _EDIT)
    return f"{corallum.__version__}, {edits} edit{'' if edits == 1 else 's'}"


def check_report(programme: Programme, subject: str, value: object) -> Report:
    """Return a report that the reference understands.

    Parameters
    ----------
    programme : Programme
        Whose reference.
    subject : str
        Character or view.
    value : object
        As a colony file may hold it, or a report already.

    Raises
    ------
    InputError
        With every fault.
    """
    compiled = programme_library(programme).compiled
    report = value if isinstance(value, StateReport | SizeReport) else _parsed(subject, value)
    read_colony(compiled, Colony("report", {subject: report}))
    return report


def _parsed(subject: str, value: object) -> Report:
    """Read a report as a colony file holds it."""
    found = parse_colony({"id": "report", "observations": {subject: value}}, "report", "")
    if isinstance(found, BadColony):
        raise InputError(list(found.faults))
    if not found.observations:
        fault = Fault("report", subject, "what was seen", "nothing", "Take it back instead.")
        raise InputError([fault])
    return next(iter(found.observations.values()))


def edit_value(
    programme: Programme,
    command: EditValue,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> tuple[Change, ...]:
    """Set what a form shows of a character in the programme's copy (a lead's work).

    Returns
    -------
    tuple of Change
        What differs from before; empty where nothing does, and then nothing is written.

    Raises
    ------
    TableError
        Where the reference would have faults: nothing is written.
    """
    with unit_of_work(programme, person, now, Role.LEAD, "edit the reference") as unit:
        name, text, changes = _value_edit(programme, command)
        if changes:
            detail = _detail(command.__dataclass_fields__, command, changes)
            write_entry(unit.connection, unit.act, _EDIT, detail)
            # The last thing before the commit: what fails above leaves the table as it was.
            write_table(programme.reference_folder, name, text)
        return changes


def edit_cell(
    programme: Programme,
    command: EditCell,
    now: datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> tuple[Change, ...]:
    """Set any cell of the programme's copy (a lead's work).

    Raises
    ------
    TableError
        Where the reference would have faults: nothing is written.
    NotFoundError
        Where there is no such table or row.
    """
    with unit_of_work(programme, person, now, Role.LEAD, "edit the reference") as unit:
        tables = read_reference_folder(programme.reference_folder)
        if command.table not in tables:
            raise NotFoundError("table", command.table)
        row = check_number(command.row, "row")
        cells = {command.column: _cell(command.text)}
        text = edit_line(tables[command.table], row, cells)
        changes = _checked(tables, {**tables, command.table: text})
        if text != tables[command.table]:
            detail = _detail(command.__dataclass_fields__, command, changes)
            write_entry(unit.connection, unit.act, _EDIT, detail)
            write_table(programme.reference_folder, command.table, text)
        return changes


def preview_value(programme: Programme, command: EditValue) -> tuple[Change, ...]:
    """Say what an edit would change, with the same checks; nothing is written."""
    return _value_edit(programme, command)[2]


def _value_edit(programme: Programme, command: EditValue) -> tuple[str, str, tuple[Change, ...]]:
    """Return the table to write, its new text, and what that changes."""
    tables = read_reference_folder(programme.reference_folder)
    library = programme_library(programme)
    genus = find_genus(library, check_line(command.genus, "genus"))
    _check_cell(library.reference, genus, command)
    key = {"genus": genus, "form": command.form, "character": command.character}
    cells = {"value": _cell(command.text), "source": _cell(command.source)}
    name, row = _find(tables, key)
    if cells["value"] == "":
        text = tables[name] if row is None else edit_line(tables[name], row, None)
    elif row is None:
        text = add_line(tables[name], {**key, **cells}, lambda line: line["genus"] == genus)
    else:
        text = edit_line(tables[name], row, cells)
    return name, text, _checked(tables, {**tables, name: text})


def _check_cell(reference: Reference, genus: str, command: EditValue) -> None:
    """Refuse a form or character that is not there."""
    forms = tuple(form.id for form in reference.forms_of(genus))
    if command.form not in ("*", *forms):
        raise UnknownNameError("form", str(command.form)[:40], forms)
    if command.character not in reference.scheme.characters:
        raise UnknownNameError("character", str(command.character)[:40])


def _find(tables: dict[str, str], key: dict[str, str]) -> tuple[str, int | None]:
    """Return the table that has a row, or else the one that has the genus."""
    names = [name for name in sorted(tables) if name.split("/")[0].removesuffix(".csv") == "values"]
    for name in names:
        row = find_row(tables[name], key)
        if row is not None:
            return name, row
    holds = [name for name in names if find_row(tables[name], {"genus": key["genus"]})]
    return (holds or names)[0], None


def _cell(text: str) -> str:
    """Return the text of a cell: one line, since tables are read by people."""
    return check_line(text, "cell", most=2000, empty=True)


def _checked(old: dict[str, str], new: dict[str, str]) -> tuple[Change, ...]:
    """Parse both and list the changes; faults of the new one are raised."""
    after = parse_reference(new)
    try:
        before = parse_reference(old)
    except TableError:
        # The edit mends a copy that was unsound: there is nothing to compare with.
        return (Change("reference", "unsound before", "", ""),)
    return list_changes(before, after)


def _detail(
    names: Iterable[str], command: object, changes: tuple[Change, ...]
) -> dict[str, object]:
    """Say in the history what was edited."""
    told = [[one.kind, one.what, one.old, one.new] for one in changes]
    return {**{name: getattr(command, name) for name in names}, "changes": told}


def differences(programme: Programme) -> tuple[Change, ...]:
    """List what differs in the programme's copy from the shipped reference."""
    return list_changes(_shipped(), programme_library(programme).reference)


@lru_cache(maxsize=1)
def _shipped() -> Reference:
    """The shipped reference, read once."""
    return Library().reference
