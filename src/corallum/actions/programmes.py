"""Make a programme, and open one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

import numpy as np

from corallum.actions.unit_of_work import check_line, new_id
from corallum.errors import InputError
from corallum.records.programme import ProgrammeSettings, Role
from corallum.store.history import Act, time_text
from corallum.store.people import insert_keyed
from corallum.store.programme import Programme, create_folder, open_folder
from corallum.store.programme_file import check_settings
from corallum.store.reference_folder import shipped_reference
from corallum.store.schema import person

__all__ = ["CreateProgramme", "create_programme", "open_programme"]


@dataclass(frozen=True, slots=True)
class CreateProgramme:
    """A new programme and its first lead."""

    name: str
    regions: tuple[str, ...]
    lead: str
    thresholds: Mapping[str, float] = field(default_factory=dict)
    database: str | None = None


def create_programme(
    folder: Path, command: CreateProgramme, now: datetime, rng: np.random.Generator
) -> Programme:
    """Make a programme in a new folder, with a copy of the shipped reference.

    Raises
    ------
    InputError
        Where the name, a region or a threshold is wrong, with every fault.
    ConflictError
        Where the folder holds something.
    StoreError
        Where it can't be written.
    """
    settings = ProgrammeSettings(
        command.name, tuple(command.regions), dict(command.thresholds), command.database
    )
    faults = check_settings(settings, "programme")
    if faults:
        raise InputError(faults)
    lead = check_line(command.lead, "name of the lead")
    programme = create_folder(folder, settings, shipped_reference())
    id_ = new_id(rng)
    row = {"id": id_, "name": lead, "role": str(Role.LEAD), "errors": "trained", "active": True,
           "added_at": time_text(now)}  # fmt: skip
    with programme.write() as connection:
        insert_keyed(connection, Act(id_, now), "add person", person, row)
    return programme


def open_programme(folder: Path, *, read_only: bool = False) -> Programme:
    """Open a programme; an older database is brought up to date first.

    Parameters
    ----------
    folder : Path
        Of the programme.
    read_only : bool
        Whether nothing may be written; then an older database is refused.

    Raises
    ------
    InputError
        Where the folder is no programme, or ``programme.toml`` has faults.
    StoreError
        Where the database can't be opened, or a newer program made it.
    """
    return open_folder(folder, read_only=read_only)
