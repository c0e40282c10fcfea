"""``corallum export darwin-core``: a survey, or the colonies, as an archive of Darwin Core."""

from __future__ import annotations

import json
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from corallum.cli.progress import progress_bar
from corallum.errors import Fault, InputError

if TYPE_CHECKING:
    from corallum.actions.export_survey import SurveyWritten

__all__ = ["darwin_core"]


class LicenceChoice(StrEnum):
    """What others may do with the data, by SPDX identifier."""

    ZERO = "CC0-1.0"
    BY = "CC-BY-4.0"
    BY_NC = "CC-BY-NC-4.0"


def darwin_core(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    folder: Annotated[Path, typer.Argument(help="Folder of the programme.")],
    target: Annotated[Path, typer.Argument(help="New zip to write.")],
    survey: Annotated[
        str | None, typer.Option(help="Name of a survey; left out, the colonies are written.")
    ] = None,
    coordinates: Annotated[
        str,
        typer.Option(
            help="exact, withheld, or a step in degrees to round to, such as 0.01. Notes are "
            "written only where positions are exact: they may tell them."
        ),
    ] = "exact",
    creator: Annotated[
        list[str] | None,
        typer.Option(help="Who made the data, as they wish to be named; once for each."),
    ] = None,
    licence: Annotated[
        LicenceChoice | None, typer.Option(help="What others may do with the data.")
    ] = None,
    absences: Annotated[
        bool,
        typer.Option(
            "--absences/--no-absences", help="Write genera that were searched for in vain."
        ),
    ] = True,
    estimates: Annotated[
        bool, typer.Option("--estimates", help="Add figures of the survey, as said and corrected.")
    ] = False,
    photos: Annotated[
        bool,
        typer.Option("--photos", help="Pack small copies of the photos, without place or camera."),
    ] = False,
    originals: Annotated[
        bool,
        typer.Option(
            "--originals",
            help="Of colonies: pack the photos as they are, place and camera with them, so that "
            "they can be taken in again.",
        ),
    ] = False,
    invented: Annotated[
        bool, typer.Option("--invented", help="Say that the data are made up.")
    ] = False,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over a file that is there.")
    ] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="Say what was written as one JSON object.")
    ] = False,
) -> None:
    """Write an archive that others can read and check, and corallum can take in again.

    Stopped and run again, it goes on where it was, as long as nothing else was written.

    Example: corallum export darwin-core my_reef spring.zip --survey Spring --coordinates 0.01
    """
    from corallum.actions.export_colonies import (  # noqa: PLC0415
        ExportColonies,
        export_colonies,
    )
    from corallum.actions.export_survey import ExportSurvey, export_survey  # noqa: PLC0415
    from corallum.actions.programmes import open_programme  # noqa: PLC0415  slow to start
    from corallum.actions.survey_plans import find_survey  # noqa: PLC0415
    from corallum.exchange.coordinates import parse_coordinate_rule  # noqa: PLC0415

    if survey is None:
        _refuse({"--estimates": estimates, "--no-absences": not absences}, "colonies")
        _refuse({"--photos": photos and originals}, "--originals")
    else:
        _refuse({"--originals": originals}, "a survey")
    rule = parse_coordinate_rule(coordinates)
    who, under = tuple(creator or ()), licence.value if licence else ""
    now = datetime.now().astimezone()
    programme = open_programme(folder)
    try:
        if survey is None:
            packed = "original" if originals else "small" if photos else "none"
            of_colonies = ExportColonies(target, rule, who, under, packed, invented, replace)
            with progress_bar("writing") as step:
                found = export_colonies(programme, of_colonies, now, step)
        else:
            command = ExportSurvey(
                find_survey(programme, survey), target, rule, who, under, absences, estimates,
                photos, invented, replace,
            )  # fmt: skip
            with progress_bar("writing") as step:
                found = export_survey(programme, command, now, step)
    finally:
        programme.close()
    print(json.dumps(_object(found))) if as_json else _say(found)


def _refuse(wishes: dict[str, bool], what: str) -> None:
    """Refuse options that would do nothing: whoever gave one expects that it does."""
    faults = [
        Fault(option, "", f"no {option} beside {what}", "it", "Leave it out.")
        for option, given in wishes.items()
        if given
    ]
    if faults:
        raise InputError(faults)


def _object(found: SurveyWritten) -> dict[str, Any]:
    """Say what was written, for machines."""
    return {
        "file": str(found.target), "sha256": found.sha256, "rows": dict(found.rows),
        "parts_kept": found.kept, "photos": found.photos, "photos_gone": found.photos_gone,
        "notes": list(found.notes),
    }  # fmt: skip


def _say(found: SurveyWritten) -> None:
    """Say what was written, for people."""
    print(f"{found.target}: written, SHA-256 {found.sha256}")
    for file, rows in found.rows.items():
        print(f"  {file:<32}{rows:>12,} rows")
    if found.photos:
        print(f"  {'photos':<32}{found.photos:>12,} files")
    if found.photos_gone:
        print(f"{found.photos_gone} photos are named but no longer in the programme's folder.")
    if found.kept:
        print(f"It went on after {found.kept} parts that were done before.")
    for note in found.notes:
        print(note)
