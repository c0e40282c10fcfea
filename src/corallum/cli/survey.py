"""``corallum survey ...``: plan, import, check, estimate and change."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import numpy as np
import typer

from corallum.cli.programme import lead_of
from corallum.cli.progress import progress_bar
from corallum.errors import Fault, InputError

if TYPE_CHECKING:
    from corallum.store.programme import Programme

__all__ = ["survey"]

survey = typer.Typer(
    help="Plan surveys, bring slates in, check them, and say what they tell of the reef.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


class MethodChoice(StrEnum):
    """How a transect is read."""

    LINE = "line_intercept"
    POINTS = "point_intercept"
    PHOTO = "photo_points"
    BELT = "belt"
    QUADRAT = "quadrat"
    QUADRAT_COVER = "quadrat_cover"


class ByChoice(StrEnum):
    """What figures are given of."""

    GENUS = "genus"
    FAMILY = "family"
    FORM = "form"


class LevelChoice(StrEnum):
    """Of which part of a survey."""

    SURVEY = "survey"
    STRATUM = "stratum"
    SITE = "site"


Folder = Annotated[Path, typer.Argument(help="Folder of the programme.")]
Name = Annotated[str, typer.Argument(help="Name of the survey.")]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object instead of text.")]
As = Annotated[str | None, typer.Option("--as", help="Name of the lead who does it.")]
By = Annotated[ByChoice, typer.Option(help="What figures are given of.")]
Errors = Annotated[
    bool, typer.Option("--errors/--no-errors", help="Correct by the observers' errors too.")
]
Draws = Annotated[int, typer.Option(min=100, max=100_000, help="Resamples.")]
Seed = Annotated[int, typer.Option(min=0, help="Seed of what is drawn.")]
Out = Annotated[Path | None, typer.Option(help="New CSV file to write the figures to.")]
Number = float | None


@contextmanager
def _opened(folder: Path) -> Iterator[Programme]:
    """Open a programme for as long as it is needed."""
    from corallum.actions.programmes import open_programme  # noqa: PLC0415  slow to start

    programme = open_programme(folder)
    try:
        yield programme
    finally:
        programme.close()


def _pairs(texts: list[str] | None, option: str) -> dict[str, str]:
    """Read NAME=VALUE of each text."""
    found = {}
    for text in texts or ():
        name, sign, value = text.partition("=")
        if not sign or not name.strip() or not value.strip():
            raise InputError([Fault(option, "", "NAME=VALUE", repr(text)[:60], "Write it so.")])
        found[name.strip()] = value.strip()
    return found


def _day(text: str | None) -> date | None:
    """Read a date."""
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        fault = Fault("--date", "", "a date such as 2026-03-14", repr(text)[:40], "Write it so.")
        raise InputError([fault]) from error


@survey.command()
def plan(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    folder: Folder,
    name: Annotated[str | None, typer.Argument(help="Name of a new survey.")] = None,
    sites: Annotated[
        str | None, typer.Option(help="CSV with stratum, area and site; - for standard input.")
    ] = None,
    method: Annotated[MethodChoice, typer.Option(help="How transects are read.")] = (
        MethodChoice.LINE
    ),
    transects: Annotated[int, typer.Option(min=1, max=200, help="At each site.")] = 4,
    tape_cm: Annotated[Number, typer.Option(min=0, help="Length of the tape.")] = None,
    width_cm: Annotated[Number, typer.Option(min=0, help="Width of the belt.")] = None,
    points: Annotated[
        int | None, typer.Option(min=1, help="On each transect, or on each photo.")
    ] = None,
    frames: Annotated[
        int | None, typer.Option(min=1, help="Photos or quadrats on each transect.")
    ] = None,
    frame_area_m2: Annotated[Number, typer.Option(min=0, help="Of one quadrat.")] = None,
    observer: Annotated[list[str] | None, typer.Option(help="Name; once for each.")] = None,
    read_again: Annotated[
        float, typer.Option(min=0, max=1, help="Share of the records to be read a second time.")
    ] = 0.1,
    follows: Annotated[str | None, typer.Option(help="Survey it is compared with.")] = None,
    same_transects: Annotated[
        bool, typer.Option("--same-transects", help="Lay the transects of that survey again.")
    ] = False,
    sites_drawn: Annotated[
        bool, typer.Option("--sites-drawn", help="Sites were drawn to stand for their stratum.")
    ] = False,
    day: Annotated[str | None, typer.Option("--date", help="Of the dives: 2026-03-14.")] = None,
    pilot: Annotated[
        str | None, typer.Option(help="Instead of planning: reckon from this survey.")
    ] = None,
    group: Annotated[str, typer.Option(help="Genus, family or all stony coral, to reckon of.")] = (
        "all stony coral"
    ),
    half_width: Annotated[Number, typer.Option(help="Wanted half of the 95 % interval.")] = None,
    change: Annotated[Number, typer.Option(help="Change that is to be seen.")] = None,
    second_readings: Annotated[int, typer.Option(min=0, help="Planned; 0 as the pilot.")] = 0,
    as_: As = None,
    as_json: AsJson = False,
) -> None:
    """Plan a survey, list those that are planned, or reckon how large the next should be.

    Example: corallum survey plan my_reef "Spring" --sites strata.csv --tape-cm 2000
    """
    from corallum.actions.survey_plans import find_survey, list_surveys  # noqa: PLC0415
    from corallum.cli import survey_page as page  # noqa: PLC0415  rich is slow to start

    with _opened(folder) as programme:
        if pilot is not None:
            from corallum.actions.survey_effort import (  # noqa: PLC0415
                EffortQuestion,
                plan_effort,
            )

            question = EffortQuestion(
                find_survey(programme, pilot), group, half_width, change,
                observers=len(observer or ()), second_readings=second_readings, points=points,
            )  # fmt: skip
            found = plan_effort(programme, question)
            print(json.dumps(page.effort_object(found))) if as_json else page.print_effort(found)
            raise typer.Exit(1 if found.why else 0)
        if name is None:
            cards = list_surveys(programme)
            print(json.dumps(page.cards_object(cards))) if as_json else page.print_cards(cards)
            return
        from corallum.actions import survey_files as files  # noqa: PLC0415
        from corallum.actions.survey_plans import PlanSurvey  # noqa: PLC0415
        from corallum.records.survey import Effort  # noqa: PLC0415

        if sites is None:
            remedy = "Give --sites FILE with the columns stratum, area and site."
            raise InputError([Fault("plan", "sites", "a table of strata", "none", remedy)])
        effort = Effort(tape_cm, None, width_cm, frames, points, frame_area_m2)
        people = tuple(files.find_person(programme, one) for one in observer or ())
        before = None if follows is None else find_survey(programme, follows)
        command = PlanSurvey(
            name, method.value, (), transects, effort, people, read_again, before,
            same_transects, _day(day), sites_drawn=sites_drawn,
        )  # fmt: skip
        by = (datetime.now().astimezone(), np.random.default_rng(), lead_of(programme, as_))
        view = files.plan_from_file(programme, command, sites, sys.stdin.buffer, by)
        print(json.dumps(page.view_object(view))) if as_json else page.print_view(view)


@survey.command("import")
def import_(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    folder: Folder,
    name: Name,
    file: Annotated[
        str,
        typer.Argument(
            help="CSV of slates, - for standard input; or a survey archive, which makes a new "
            "survey of that name."
        ),
    ],
    columns: Annotated[
        str | None, typer.Option(help="Name of columns that the programme keeps.")
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(help="What a column holds: name=Species. Once for each."),
    ] = None,
    unit: Annotated[
        list[str] | None,
        typer.Option(help="length_unit=m, diameter_unit=mm, depth_unit=ft, dates=excel."),
    ] = None,
    meaning: Annotated[
        list[str] | None, typer.Option(help="What a word means: Favia=Dipsastraea.")
    ] = None,
    person: Annotated[
        list[str] | None,
        typer.Option(help="What somebody of an archive is called here: Ana=Observer 1."),
    ] = None,
    keep_as: Annotated[str, typer.Option(help="Keep the columns under this name.")] = "",
    look: Annotated[
        bool, typer.Option("--look", help="Only say what the table holds; write nothing.")
    ] = False,
    as_: As = None,
    as_json: AsJson = False,
) -> None:
    """Bring slates in from a table or an archive: all of them, or every fault at once.

    Example: corallum survey import my_reef Spring slates.csv --column name=Species --look
    """
    from dataclasses import replace  # noqa: PLC0415

    from corallum.exchange.archive.unpack import is_zip  # noqa: PLC0415

    if file != "-" and is_zip(Path(file)):
        _import_archive(folder, Path(file), (name, _pairs(person, "--person")), look, as_, as_json)
        return
    from corallum.actions import survey_files as files  # noqa: PLC0415  slow to start
    from corallum.actions.survey_import import import_slates, preview_import  # noqa: PLC0415
    from corallum.cli import survey_page as page  # noqa: PLC0415  rich is slow to start

    wishes = files.ColumnWishes(
        columns, _pairs(column, "--column"), _pairs(unit, "--unit"), _pairs(meaning, "--meaning")
    )
    with _opened(folder) as programme:
        command = files.open_import(programme, name, file, sys.stdin.buffer, wishes)
        now = datetime.now().astimezone()
        found = preview_import(programme, command, now.date())
        if not look:
            by = (now, np.random.default_rng(), lead_of(programme, as_))
            import_slates(programme, replace(command, keep_as=keep_as), *by)
    if as_json:
        print(json.dumps(page.import_object(found, command.columns, written=not look)))
    else:
        page.print_import(found, command.columns, written=not look)


def _import_archive(
    folder: Path,
    path: Path,
    wishes: tuple[str, dict[str, str]],
    look: bool,
    as_: str | None,
    as_json: bool,
) -> None:
    """Make a survey out of an archive."""
    from corallum.actions import import_survey as actions  # noqa: PLC0415  slow to start
    from corallum.cli import survey_page as page  # noqa: PLC0415  rich is slow to start

    with _opened(folder) as programme:
        command = actions.ImportSurvey(path, *wishes)
        now = datetime.now().astimezone()
        if look:
            found = actions.look_at_survey(programme, command, now.date())
        else:
            by = (now, np.random.default_rng(), lead_of(programme, as_))
            found = actions.import_survey(programme, command, *by)
    if as_json:
        print(json.dumps(page.archive_object(found, written=not look)))
    else:
        page.print_archive(found, written=not look)


@survey.command()
def check(folder: Folder, name: Name, as_json: AsJson = False) -> None:
    """Say what looks wrong on a survey's slates; exit 1 while any flag waits.

    Example: corallum survey check my_reef Spring
    """
    from corallum.actions.survey_flags import flags_of_survey  # noqa: PLC0415  slow to start
    from corallum.actions.survey_plans import find_survey, get_survey  # noqa: PLC0415
    from corallum.cli import survey_page as page  # noqa: PLC0415  rich is slow to start

    with _opened(folder) as programme:
        id_ = find_survey(programme, name)
        found = flags_of_survey(programme, id_)
        view = get_survey(programme, id_)
    if as_json:
        print(json.dumps(page.flags_object(found, view)))
    else:
        page.print_flags(found, view)
    raise typer.Exit(1 if any(one.answer is None for one in found) else 0)


@survey.command()
def estimate(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    folder: Folder,
    name: Name,
    by: By = ByChoice.GENUS,
    level: Annotated[
        LevelChoice, typer.Option(help="Of the survey, its strata or its sites.")
    ] = LevelChoice.SURVEY,
    errors: Errors = True,
    draws: Draws = 1000,
    seed: Seed = 1,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Estimate cover or density, as said and corrected for wrong names.

    Exit 1 where no correction could be made.

    Example: corallum survey estimate my_reef Spring --by family --out spring.csv
    """
    from corallum.actions.survey_csv import estimate_csv  # noqa: PLC0415  slow to start
    from corallum.actions.survey_estimates import EstimateQuestion, estimate_survey  # noqa: PLC0415
    from corallum.actions.survey_files import write_table  # noqa: PLC0415
    from corallum.actions.survey_plans import find_survey  # noqa: PLC0415
    from corallum.cli import survey_page as page  # noqa: PLC0415  rich is slow to start

    with _opened(folder) as programme, progress_bar("estimating") as step:
        question = EstimateQuestion(
            find_survey(programme, name), by.value, errors, (level.value,), draws=draws, seed=seed
        )
        found = estimate_survey(programme, question, step)
    if out is not None:
        write_table(out, estimate_csv(found))
    print(json.dumps(page.estimate_object(found))) if as_json else page.print_estimate(found)
    corrected = any(row.by_readings or row.by_errors for row in found.rows)
    raise typer.Exit(0 if corrected or by is ByChoice.FORM else 1)


@survey.command()
def change(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    folder: Folder,
    before: Annotated[str, typer.Argument(help="Name of the survey before.")],
    after: Annotated[str, typer.Argument(help="Name of the survey after.")],
    by: By = ByChoice.GENUS,
    fall: Annotated[
        float, typer.Option(min=0, max=0.99, help="What counts as a decline: .2 is a fifth.")
    ] = 0.2,
    impact: Annotated[
        list[str] | None, typer.Option(help="Site where something happened; once for each.")
    ] = None,
    errors: Errors = True,
    draws: Draws = 1000,
    seed: Seed = 1,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Estimate what changed between two surveys, as one difference with its interval.

    Exit 1 where no correction could be made.

    Example: corallum survey change my_reef Spring Autumn --fall 0.3
    """
    from corallum.actions.survey_changes import ChangeQuestion, change_between  # noqa: PLC0415
    from corallum.actions.survey_csv import change_csv  # noqa: PLC0415  slow to start
    from corallum.actions.survey_files import find_site, write_table  # noqa: PLC0415
    from corallum.actions.survey_plans import find_survey  # noqa: PLC0415
    from corallum.cli import survey_page as page  # noqa: PLC0415  rich is slow to start

    if by is ByChoice.FORM:
        fault = Fault("--by", "", "genus or family", "form", "Forms can't be corrected.")
        raise InputError([fault])
    with _opened(folder) as programme, progress_bar("comparing") as step:
        sites = tuple(find_site(programme, one) for one in impact or ())
        question = ChangeQuestion(
            find_survey(programme, before), find_survey(programme, after), by.value, fall,
            errors, sites, draws=draws, seed=seed,
        )  # fmt: skip
        found = change_between(programme, question, step)
    if out is not None:
        write_table(out, change_csv(found))
    print(json.dumps(page.change_object(found))) if as_json else page.print_change(found)
    raise typer.Exit(0 if any(row.by_readings or row.by_errors for row in found.rows) else 1)
