"""Surveys from files and to files, as the command line has them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO, Any

import numpy as np

from corallum.actions.people import list_people
from corallum.actions.places import list_sites
from corallum.actions.survey_import import ImportSlates, guess_for, list_columns
from corallum.actions.survey_plans import (
    PlanSurvey,
    SurveyView,
    find_survey,
    get_survey,
    plan_survey,
)
from corallum.errors import Fault, InputError
from corallum.exchange.strata import read_strata
from corallum.exchange.survey_tables import Columns
from corallum.exchange.text_file import read_text, write_text
from corallum.records.survey import Stratum
from corallum.store.programme import Programme

__all__ = [
    "ColumnWishes",
    "find_person",
    "find_site",
    "open_import",
    "plan_from_file",
    "write_table",
]

_MOST_MB = 64
_UNITS = ("length_unit", "diameter_unit", "depth_unit", "dates")


@dataclass(frozen=True, slots=True)
class ColumnWishes:
    """How a table is to be read.

    Parameters
    ----------
    kept : str or None
        Name of columns that the programme keeps; None guesses from the header.
    roles, units, meanings : mapping of str to str
        What differs from that.
    """

    kept: str | None = None
    roles: Mapping[str, str] | None = None
    units: Mapping[str, str] | None = None
    meanings: Mapping[str, str] | None = None


def find_person(programme: Programme, name: str) -> str:
    """Return the id of an active person by name."""
    people = [one for one in list_people(programme) if one.active]
    return _find(name, {one.name: one.id for one in people}, "person")


def find_site(programme: Programme, name: str) -> str:
    """Return the id of a site by name."""
    return _find(name, {one.name: one.id for one in list_sites(programme)}, "site")


def _find(name: str, known: Mapping[str, str], kind: str) -> str:
    """Return what is known by a name, written in any case."""
    for one, id_ in known.items():
        if one.casefold() == name.strip().casefold():
            return id_
    told = ", ".join(sorted(known)[:20]) or "none yet"
    raise InputError([Fault(kind, "", f"one of {told}", repr(name)[:60], "Use one of these.")])


def plan_from_file(
    programme: Programme,
    command: PlanSurvey,
    path: str,
    stdin: IO[bytes],
    by: tuple[dt.datetime, np.random.Generator, str],
) -> SurveyView:
    """Plan a survey whose strata stand in a table.

    Parameters
    ----------
    command : PlanSurvey
        The plan without its strata.
    path : str
        CSV with stratum, area and site; ``-`` is standard input.
    stdin : binary stream
        Read where the path is ``-``.
    by : tuple
        The moment, a generator, and who does it.

    Raises
    ------
    InputError
        With every fault of the table.
    """
    text, name = read_text(path, stdin, _MOST_MB)
    known = {site.name.casefold(): site.id for site in list_sites(programme)}
    given = read_strata(text, name)
    missing = [site for one in given for site in one.sites if site.casefold() not in known]
    if missing:
        told = ", ".join(site.name for site in list_sites(programme)[:20]) or "none yet"
        remedy = "Add it to the programme first, or mend its name."
        raise InputError(
            [
                Fault(name, "column site", f"one of {told}", repr(one)[:60], remedy)
                for one in missing
            ]
        )
    strata = tuple(
        Stratum(one.name, one.area, tuple(known[site.casefold()] for site in one.sites))
        for one in given
    )
    return plan_survey(programme, replace(command, strata=strata), *by)


def open_import(
    programme: Programme, survey: str, path: str, stdin: IO[bytes], wishes: ColumnWishes
) -> ImportSlates:
    """Read a table, and settle which column holds what.

    Raises
    ------
    InputError
        Where it can't be read, or what was asked for is not known.
    """
    text, name = read_text(path, stdin, _MOST_MB)
    id_ = find_survey(programme, survey)
    method = get_survey(programme, id_).plan.method
    if wishes.kept is None:
        columns = guess_for(text, method)
    else:
        kept = {one.name: one.columns for one in list_columns(programme)}
        if wishes.kept not in kept:
            told = ", ".join(kept) or "none yet"
            fault = Fault("columns", "", f"one of {told}", repr(wishes.kept)[:60], "Use a name.")
            raise InputError([fault])
        columns = kept[wishes.kept]
    return ImportSlates(id_, text, name, _wished(columns, wishes))


def _wished(columns: Columns, wishes: ColumnWishes) -> Columns:
    """Return columns with what was asked for in place of what was kept or guessed."""
    roles = {**columns.roles, **(wishes.roles or {})}
    meanings = {**columns.meanings, **(wishes.meanings or {})}
    units = dict(wishes.units or {})
    wrong = [one for one in units if one not in _UNITS]
    if wrong:
        told = ", ".join(_UNITS)
        raise InputError([Fault("unit", "", f"one of {told}", wrong[0], "Use one of these.")])
    changed: dict[str, Any] = {"roles": roles, "meanings": meanings, **units}
    return replace(columns, **changed)


def write_table(path: Path, text: str) -> None:
    """Write a new file, never over one that is there."""
    write_text(path, text)
