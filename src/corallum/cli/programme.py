"""``corallum new``, ``backup``, ``restore``, ``verify`` and ``redetermine``.

The database is slow to load, so each command loads what it needs when it runs.
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np
import typer

from corallum.cli.progress import progress_bar
from corallum.errors import Fault, InputError

if TYPE_CHECKING:
    from corallum.actions.redetermination import Redetermination
    from corallum.store.programme import Programme

__all__ = ["backup", "lead_of", "new", "redetermine", "restore", "verify"]

AsJson = Annotated[bool, typer.Option("--json", help="One JSON object instead of text.")]
Folder = Annotated[Path, typer.Argument(help="Folder of the programme.")]
_SET_ANEW = "set_mass=0.95"


def new(
    folder: Annotated[Path, typer.Argument(help="Folder to make; new or empty.")],
    name: Annotated[
        str | None, typer.Option(help="Name of the programme; the folder's by default.")
    ] = None,
    region: Annotated[
        list[str] | None,
        typer.Option(help="Region id, such as red_sea; once for each. [default: indo_pacific]"),
    ] = None,
    lead: Annotated[str, typer.Option(help="Name of the first person, who leads.")] = "Lead",
    threshold: Annotated[
        list[str] | None,
        typer.Option(help=f"Setting of the reference to set anew, such as {_SET_ANEW}."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Make a programme: a folder with its own copy of the reference, photos and records.

    Example: corallum new my_reef --region red_sea --lead "Lead"
    """
    from corallum.actions.people import list_people  # noqa: PLC0415  see above
    from corallum.actions.programmes import CreateProgramme, create_programme  # noqa: PLC0415

    regions = tuple(region or ("indo_pacific",))
    thresholds = dict(map(_threshold, threshold or ()))
    command = CreateProgramme(name or folder.resolve().name, regions, lead, thresholds)
    programme = create_programme(folder, command, _now(), np.random.default_rng())
    person = list_people(programme)[0]
    settings = programme.settings
    programme.close()
    if as_json:
        made = {"folder": str(folder), "name": settings.name, "regions": list(settings.regions),
                "lead": {"id": person.id, "name": person.name}}  # fmt: skip
        print(json.dumps(made))
        return
    print(f"{settings.name}: made in {folder}, led by {person.name}.")
    print(f"Its reference is {folder / 'reference'}, a copy of the shipped one, yours to edit.")


def _threshold(text: str) -> tuple[str, float]:
    """Read NAME=NUMBER."""
    name, _, number = text.partition("=")
    try:
        return name.strip(), float(number)
    except ValueError as error:
        remedy = "Write it so."
        fault = Fault("--threshold", "", _SET_ANEW, repr(text)[:40], remedy)
        raise InputError([fault]) from error


def _now() -> datetime:
    """Return the moment, in the time of this place."""
    return datetime.now().astimezone()


def backup(
    folder: Folder,
    target: Annotated[
        Path | None,
        typer.Argument(help="Folder to make; beside the programme, by the moment, if left out."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Copy a programme to a new folder, while others may go on writing.

    Example: corallum backup my_reef /media/stick/my_reef_monday
    """
    from corallum.actions.backups import make_backup  # noqa: PLC0415  see above
    from corallum.actions.programmes import open_programme  # noqa: PLC0415

    now = _now()
    here = folder.resolve()
    place = target or here.with_name(f"{here.name}-backup-{now:%Y%m%d-%H%M%S}")
    programme = open_programme(folder)
    with progress_bar("copying") as progress:
        manifest = make_backup(programme, place, now, progress)
    programme.close()
    if as_json:
        print(json.dumps({"backup": str(place), **asdict(manifest)}))
        return
    print(f"{place}: {_counted(manifest.colonies, manifest.photos)}, {manifest.history} entries.")
    print("Check it with corallum verify, and keep it on another disk.")


def _counted(colonies: int, photos: int) -> str:
    """Say how many colonies and photos."""
    first = f"{colonies} colon{'y' if colonies == 1 else 'ies'}"
    return f"{first}, {photos} photo{'' if photos == 1 else 's'}"


def restore(
    backup: Annotated[Path, typer.Argument(help="Folder of the backup.")],
    folder: Annotated[Path, typer.Argument(help="Folder to make; must not exist.")],
    as_json: AsJson = False,
) -> None:
    """Make a programme from a backup, in a new folder; every file is checked.

    Example: corallum restore /media/stick/my_reef_monday my_reef_again
    """
    from corallum.actions.backups import restore_backup  # noqa: PLC0415  see above

    with progress_bar("copying") as progress:
        manifest = restore_backup(backup, folder, progress)
    if as_json:
        print(json.dumps({"folder": str(folder), **asdict(manifest)}))
        return
    counted = _counted(manifest.colonies, manifest.photos)
    print(f"{folder}: {manifest.name}, {counted}, as of {manifest.made_at}.")


def verify(folder: Folder, as_json: AsJson = False) -> None:
    """Check that nothing in a programme or a backup is damaged or lost; exit 1 if it is.

    Example: corallum verify my_reef
    """
    from corallum.actions.backups import verify_programme  # noqa: PLC0415  see above

    with progress_bar("checking") as progress:
        found = verify_programme(folder, progress)
    if as_json:
        print(json.dumps(asdict(found)))
    else:
        for fault in found.faults:
            print(fault, file=sys.stderr)
        counted = _counted(found.colonies, found.photos)
        faults = len(found.faults)
        said = "sound" if found.sound else f"{faults} fault{'' if faults == 1 else 's'}"
        print(f"{folder}: {said}. {counted}, {found.history} entries looked at.")
    raise typer.Exit(0 if found.sound else 1)


def redetermine(
    folder: Folder,
    apply: Annotated[
        bool, typer.Option("--apply", help="Keep the new answers; else only say what changes.")
    ] = False,
    as_: Annotated[
        str | None, typer.Option("--as", help="Name of the lead who does it; the first if not.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Run all evidence again after the reference changed; exit 1 where anything would change.

    Example: corallum redetermine my_reef --apply
    """
    from corallum.actions import redetermination as actions  # noqa: PLC0415  see above
    from corallum.actions.programmes import open_programme  # noqa: PLC0415

    programme = open_programme(folder)
    lead = lead_of(programme, as_)
    with progress_bar("determining again") as progress:
        found = actions.preview_redetermination(programme, progress)
    if apply:
        command = actions.Redetermine(found.hash)
        with progress_bar("keeping the answers") as progress:
            found = actions.redetermine(
                programme, command, _now(), np.random.default_rng(), lead, progress
            )
    programme.close()
    print(json.dumps(_object(found, applied=apply))) if as_json else _show(found, applied=apply)
    changed = bool(found.changes) and not apply
    raise typer.Exit(1 if changed or found.failed else 0)


def lead_of(programme: Programme, name: str | None) -> str:
    """Return the id of the person who acts: by name, or the first lead."""
    from corallum.actions.people import list_people  # noqa: PLC0415  see above
    from corallum.records.programme import Role  # noqa: PLC0415

    people = [one for one in list_people(programme) if one.active]
    if name is None:
        people = [one for one in people if one.role is Role.LEAD]
    found = [one for one in people if name is None or one.name.casefold() == name.casefold()]
    if not found:
        names = ", ".join(one.name for one in people)
        fault = Fault("--as", "", f"one of {names}", repr(name)[:40], "Use one of these names.")
        raise InputError([fault])
    return found[0].id


def _object(found: Redetermination, *, applied: bool) -> dict[str, Any]:
    """Turn the outcome into an object."""
    changes = [
        {
            "colony": one.colony, "number": one.number, "name": one.name,
            "overridden": one.overridden,
            "old": {"status": one.old.status, "name": one.old.name,
                    "genera": list(one.old.genera), "probability": one.old.probability},
            "new": {"status": one.new.status, "name": one.new.name,
                    "genera": list(one.new.genera), "probability": one.new.probability},
        }
        for one in found.changes
    ]  # fmt: skip
    failed = [{"number": number, "error": error} for number, error in found.failed]
    return {"applied": applied, "reference": found.hash, "version": found.version,
            "rerun": found.rerun, "unchanged": found.unchanged, "changes": changes,
            "failed": failed}  # fmt: skip


def _show(found: Redetermination, *, applied: bool) -> None:
    """Show the outcome to people."""
    from corallum.cli.redetermine_page import print_changes  # noqa: PLC0415  rich is slow to start

    print_changes(found, applied=applied)
