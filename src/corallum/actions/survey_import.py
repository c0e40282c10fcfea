"""Slates out of a table that somebody brings: looked at first, then all or nothing."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from corallum.actions.slates import WriteSlate, resolver_of, slate_faults, write_slate_in
from corallum.actions.survey_plans import SurveyView, get_survey
from corallum.actions.unit_of_work import Unit, check_id, check_line, new_id, unit_of_work
from corallum.errors import ConflictError, Fault, InputError
from corallum.exchange.survey_tables import (
    Columns,
    ImportedSlate,
    columns_from_object,
    columns_to_object,
    guess_columns,
    read_slates,
)
from corallum.records.programme import Role
from corallum.records.survey import Method, Slate
from corallum.store import schema, surveys
from corallum.store.people import insert_keyed
from corallum.store.programme import Programme

__all__ = [
    "ImportFound",
    "ImportSlates",
    "KeptColumns",
    "guess_for",
    "import_slates",
    "list_columns",
    "preview_import",
]

_MOST_FAULTS = 100


@dataclass(frozen=True, slots=True)
class ImportSlates:
    """A table to import.

    Parameters
    ----------
    survey : str
        Id of the event.
    text, file : str
        The CSV, and what to call it.
    columns : Columns
        Which column holds what.
    keep_as : str
        Name under which the columns are kept for the next time; empty keeps nothing.
    """

    survey: str
    text: str
    file: str
    columns: Columns
    keep_as: str = ""


@dataclass(frozen=True, slots=True)
class KeptColumns:
    """Columns that were kept under a name."""

    id: str
    name: str
    columns: Columns


@dataclass(frozen=True, slots=True)
class ImportFound:
    """What a table holds.

    Parameters
    ----------
    slates : tuple of ImportedSlate
        As read.
    new_transects : int
        Transects that the plan does not have: they are added to it.
    names : mapping of str to (str, int)
        What each word was taken for, and how often.
    """

    slates: tuple[ImportedSlate, ...]
    new_transects: int
    names: Mapping[str, tuple[str, int]]


def list_columns(programme: Programme) -> tuple[KeptColumns, ...]:
    """Return the columns that the programme keeps, by name."""
    with programme.read() as connection:
        kept = surveys.kept_columns(connection)
    return tuple(
        KeptColumns(id_, name, columns_from_object(columns, name)) for id_, name, _, columns in kept
    )


def guess_for(text: str, method: Method) -> Columns:
    """Guess which column holds what, from the header alone."""
    header = next((line for line in text.splitlines() if line.strip()), "")
    names = [name.strip().strip('"') for name in header.split(",")]
    return Columns(method, guess_columns(names, method))


def preview_import(
    programme: Programme, command: ImportSlates, today: dt.date | None = None
) -> ImportFound:
    """Read a table without writing anything.

    Parameters
    ----------
    programme : Programme
        With the survey.
    command : ImportSlates
        The table.
    today : date or None
        After which no dive can have been; None leaves that to the import.

    Raises
    ------
    InputError
        With every fault of it at once.
    """
    view = get_survey(programme, command.survey)
    if command.columns.method is not view.plan.method:
        wanted = f"a table of {view.plan.method.replace('_', ' ')}"
        told = command.columns.method.replace("_", " ")
        remedy = "Choose the survey that it belongs to, or other columns."
        raise InputError([Fault(command.file, "", wanted, told, remedy)])
    planned = {site for stratum in view.plan.strata for site in stratum.sites}
    names = {
        "site": [view.sites[site].name for site in planned],
        "observer": [one.name for one in view.people.values() if one.active],
    }
    resolver = resolver_of(programme, dict(command.columns.meanings))
    found = read_slates(
        command.text, command.file, command.columns, resolver.resolve, view.plan.effort, names
    )
    if not found:
        remedy = "Check that it has rows under its header."
        raise InputError([Fault(command.file, "", "slates", "none", remedy)])
    faults = [*_standing(view, found, command.file), *_impossible(view, found, command.file, today)]
    if faults:
        raise InputError(faults[:_MOST_FAULTS])
    here = {(view.sites[one.site or ""].name, one.name) for one in view.transects}
    new = {(one.site, one.transect) for one in found} - here
    counted: dict[str, tuple[str, int]] = {}
    for slate in found:
        for line in slate.lines:
            label, n = counted.get(line.said, (line.label, 0))
            counted[line.said] = (label, n + 1)
    return ImportFound(found, len(new), counted)


def _standing(view: SurveyView, found: Sequence[ImportedSlate], file: str) -> Iterator[Fault]:
    """Find slates of transects that the same observer read already, there or further up."""
    people = {id_: one.name for id_, one in view.people.items()}
    sites = {one.id: view.sites[one.site or ""].name for one in view.transects}
    names = {one.id: one.name for one in view.transects}
    there = {
        (sites[transect], names[transect], people[slate.observer])
        for transect, slates in view.slates.items()
        for slate in slates
    }
    above: set[tuple[str, str, str]] = set()
    for one in found:
        key = (one.site, one.transect, one.observer)
        told = f"{one.site}, {one.transect}, which {one.observer} read already"
        if key in there:
            remedy = "Leave it out, or mend that slate."
            yield Fault(file, _row(one), "a transect without a slate", told, remedy)
        elif key in above:
            remedy = "Give it another name, or bring the other day into a survey of its own."
            yield Fault(file, _row(one), "each transect once for an observer", told, remedy)
        above.add(key)


def _impossible(
    view: SurveyView, found: Sequence[ImportedSlate], file: str, today: dt.date | None
) -> Iterator[Fault]:
    """Find depths, efforts and days that can't be."""
    for one in found:
        for fault in slate_faults(view.plan.method, one.effort, one.depth_m, one.date, today):
            place = ", ".join(filter(None, (_row(one), fault.place)))
            yield replace(fault, where=file, place=place)


def _row(slate: ImportedSlate) -> str:
    """Say where a slate begins."""
    return f"row {slate.rows[0]}" if slate.rows else ""


def import_slates(
    programme: Programme,
    command: ImportSlates,
    now: dt.datetime,
    rng: np.random.Generator,
    person: str,
) -> tuple[Slate, ...]:
    """Write all slates of a table, or none.

    Raises
    ------
    InputError
        With every fault of it at once; nothing was written.
    """
    check_id(command.survey, "survey")
    with unit_of_work(programme, person, now, Role.LEAD, "import slates") as unit:
        found = preview_import(programme, command, now.date())
        view = get_survey(programme, command.survey)
        places = _Places(unit, view, rng)
        digest = hashlib.sha256(command.text.encode()).hexdigest()[:12]
        source = check_line(f"{command.file} (sha256 {digest})"[-200:], "file", most=200)
        people = {one.name: id_ for id_, one in view.people.items()}
        slates = tuple(
            write_slate_in(
                unit,
                WriteSlate(
                    places.transect(one), one.lines, people[one.observer], one.date, one.depth_m,
                    one.effort, None, source, one.note,
                ),
                now,
            )
            for one in found.slates
        )  # fmt: skip
        if command.keep_as.strip():
            _keep(unit, command, rng)
    return slates


class _Places:
    """Finds transects, and adds those that the plan does not have."""

    def __init__(self, unit: Unit, view: SurveyView, rng: np.random.Generator) -> None:
        self.unit, self.view, self.rng = unit, view, rng
        self.sites = {view.sites[site].name: site for one in view.plan.strata for site in one.sites}
        self.known = {(one.site, one.name): one.id for one in view.transects}
        self.visits = {one.site: one.parent for one in view.transects}

    def transect(self, slate: ImportedSlate) -> str:
        """Return the id of a slate's transect."""
        site = self.sites[slate.site]
        key = (site, slate.transect)
        if key not in self.known:
            row = {
                "id": new_id(self.rng), "kind": "transect", "parent": self.visits[site],
                "site": site, "name": check_line(slate.transect, "transect"),
                "date": slate.date.isoformat(), "note": "",
            }  # fmt: skip
            insert_keyed(self.unit.connection, self.unit.act, "add event", schema.event, row)
            self.known[key] = str(row["id"])
        return self.known[key]


def _keep(unit: Unit, command: ImportSlates, rng: np.random.Generator) -> None:
    """Keep the columns under a name."""
    name = check_line(command.keep_as, "name of the columns")
    if any(one[1].casefold() == name.casefold() for one in surveys.kept_columns(unit.connection)):
        raise ConflictError(f"there are columns {name!r} already. Choose another name.")
    columns = json.dumps(columns_to_object(command.columns), sort_keys=True, ensure_ascii=False)
    row = {"id": new_id(rng), "name": name, "method": command.columns.method.value,
           "columns": columns}  # fmt: skip
    insert_keyed(unit.connection, unit.act, "keep columns", schema.import_columns, row)
