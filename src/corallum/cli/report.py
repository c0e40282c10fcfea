"""``corallum report``: a survey, an observer or the reference, as a page and as a PDF."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from corallum.cli.progress import progress_bar
from corallum.errors import Fault, InputError

if TYPE_CHECKING:
    from corallum.report.report import Report
    from corallum.store.programme import Programme

__all__ = ["report"]


class ByChoice(StrEnum):
    """What figures are given of."""

    GENUS = "genus"
    FAMILY = "family"


Make = Callable[["Programme", datetime, Callable[[float], None]], "Report"]


def report(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    folder: Annotated[Path, typer.Argument(help="Folder of the programme.")],
    survey: Annotated[str | None, typer.Option(help="Name of the survey to report.")] = None,
    observer: Annotated[str | None, typer.Option(help="Name of the observer to report.")] = None,
    reference: Annotated[
        bool, typer.Option("--reference", help="Report the programme's reference.")
    ] = False,
    out: Annotated[
        list[Path] | None,
        typer.Option(help="New file ending in .pdf or .html; once for each."),
    ] = None,
    against: Annotated[
        str | None,
        typer.Option(help="Survey to compare with; the one it follows if left out."),
    ] = None,
    by: Annotated[ByChoice, typer.Option(help="What figures are given of.")] = ByChoice.GENUS,
    fall: Annotated[
        float, typer.Option(min=0, max=0.99, help="What counts as a decline: .2 is a fifth.")
    ] = 0.2,
    errors: Annotated[
        bool, typer.Option("--errors", help="Correct by the observers' errors too; slower.")
    ] = False,
    region: Annotated[
        str | None,
        typer.Option(help="With --reference: region id; the programme's first by default."),
    ] = None,
    draws: Annotated[int, typer.Option(min=100, max=100_000, help="Resamples.")] = 1000,
    seed: Annotated[int, typer.Option(min=0, help="Seed of all that is drawn.")] = 1,
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace files that are there.")
    ] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="The report's figures and words as one JSON object.")
    ] = False,
) -> None:
    """Report a survey, an observer or the reference, as a PDF, a page or both.

    Example: corallum report my_reef --survey Spring --out spring.pdf --out spring.html
    """
    from corallum.actions.programmes import open_programme  # noqa: PLC0415  slow to start
    from corallum.actions.report_files import check_targets, write_report  # noqa: PLC0415
    from corallum.report.report import report_object  # noqa: PLC0415

    given = [name for name, one in (
        ("--survey", survey is not None), ("--observer", observer is not None),
        ("--reference", reference),
    ) if one]  # fmt: skip
    if len(given) != 1:
        found = " and ".join(given) or "none"
        expected = "one of --survey, --observer and --reference"
        raise InputError([Fault("report", "", expected, found, "See corallum report --help.")])
    targets = out or []
    if not targets and not as_json:
        remedy = "Add --out report.pdf, or --json."
        raise InputError([Fault("report", "", "where to write it", "nowhere", remedy)])
    check_targets(targets, replace=replace)
    if survey is not None:
        make = _survey(survey, against, by, fall, errors, draws, seed)
    elif observer is not None:
        make = _observer(observer)
    else:
        make = _reference(region, seed)
    now = datetime.now().astimezone()
    programme = open_programme(folder)
    try:
        with progress_bar("reporting") as step:
            made = make(programme, now, step)
    finally:
        programme.close()
    sizes = write_report(made, targets, now, replace=replace)
    if as_json:
        files = [{"file": str(one), "bytes": n} for one, n in zip(targets, sizes, strict=True)]
        print(json.dumps({**report_object(made), "files": files}, default=str))
        return
    for one, n in zip(targets, sizes, strict=True):
        print(f"{one}: {made.title}, {n / 1000:.0f} kB.")


def _survey(  # noqa: PLR0913, PLR0917  as the options
    name: str, against: str | None, by: ByChoice, fall: float, errors: bool, draws: int, seed: int
) -> Make:  # fmt: skip
    """Return what makes the report of a survey."""

    def make(programme: Programme, now: datetime, step: Callable[[float], None]) -> Report:
        from corallum.actions.survey_findings import SurveyQuestion  # noqa: PLC0415
        from corallum.actions.survey_plans import find_survey  # noqa: PLC0415
        from corallum.actions.survey_report import survey_report  # noqa: PLC0415

        before = None if against is None else find_survey(programme, against)
        question = SurveyQuestion(
            find_survey(programme, name), before, by.value, fall, errors, draws, seed
        )
        return survey_report(programme, question, now, step)

    return make


def _observer(name: str) -> Make:
    """Return what makes the report of an observer."""

    def make(programme: Programme, now: datetime, step: Callable[[float], None]) -> Report:
        from corallum.actions.observer_findings import find_observer  # noqa: PLC0415
        from corallum.actions.observer_report import observer_report  # noqa: PLC0415

        found = observer_report(programme, find_observer(programme, name), now)
        step(1.0)
        return found

    return make


def _reference(region: str | None, seed: int) -> Make:
    """Return what makes the report of the reference."""

    def make(programme: Programme, now: datetime, step: Callable[[float], None]) -> Report:
        from corallum.actions.reference_report import (  # noqa: PLC0415
            ReferenceQuestion,
            reference_report,
        )

        return reference_report(programme, ReferenceQuestion(region, seed=seed), now, step)

    return make
