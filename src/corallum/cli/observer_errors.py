"""``corallum observers errors`` and ``corallum observers qualify``."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["errors", "qualify"]

AsJson = Annotated[bool, typer.Option("--json", help="JSON instead of tables.")]
MostMb = Annotated[int, typer.Option(min=1, help="Largest file to read, in MB.")]


def errors(
    files: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[SET ANSWERS]...",
            help="A practice set and the CSV of answers to it, then the next set and its "
            "answers; - for standard input.",
        ),
    ] = None,
    programme: Annotated[
        Path | None, typer.Option(help="Folder of a programme, in place of files.")
    ] = None,
    region: Annotated[
        str | None, typer.Option(help="Region whose mix of genera counts; the set's by default.")
    ] = None,
    reference: Annotated[
        Path | None, typer.Option(help="Folder of a reference; the shipped one by default.")
    ] = None,
    as_json: AsJson = False,
    most_mb: MostMb = 64,
) -> None:
    """Tell what each observer errs on, from practice answers.

    Example: corallum observers errors favites_or_goniastrea answers.csv
    """
    from corallum.actions import observer_files as actions  # noqa: PLC0415  scipy is slow to start
    from corallum.actions import references  # noqa: PLC0415  beside it
    from corallum.cli import observer_errors_page as page  # noqa: PLC0415  rich is slow to start
    from corallum.cli.progress import progress_bar  # noqa: PLC0415  beside it

    if programme is not None and (files or reference is not None):
        raise typer.BadParameter("--programme takes no files and no --reference")
    with progress_bar("learning"):
        if programme is not None:
            found = actions.errors_of_programme(programme, region)
        else:
            library = references.Library(reference)
            found = actions.errors_of_files(library, files or [], region, sys.stdin.buffer, most_mb)
    print(json.dumps(page.errors_object(found))) if as_json else page.print_errors(found)


def qualify(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    answers: Annotated[
        str | None,
        typer.Option(help="CSV with observer, item and right, as answered; - for standard input."),
    ] = None,
    good: Annotated[float, typer.Option(help="Share right of an observer who should pass.")] = 0.9,
    poor: Annotated[float, typer.Option(help="Share right of one who should fail.")] = 0.8,
    errors: Annotated[
        float, typer.Option(help="Most often that either comes out wrong, a share.")
    ] = 0.05,
    require_pass: Annotated[
        bool, typer.Option("--require-pass", help="Exit 1 unless everybody has passed.")
    ] = False,
    as_json: AsJson = False,
    most_mb: MostMb = 64,
) -> None:
    """Tell what a qualification is worth in numbers, and how observers stand in it.

    Example: corallum observers qualify --answers marks.csv --good 0.9 --poor 0.8
    """
    from corallum.actions import observer_files as actions  # noqa: PLC0415  scipy is slow to start
    from corallum.cli import qualify_page as page  # noqa: PLC0415  rich is slow to start
    from corallum.observers.fixed_length import Aim  # noqa: PLC0415  beside it

    if require_pass and answers is None:
        raise typer.BadParameter("--require-pass is for --answers only")
    found = actions.qualify_files(Aim(good, poor, errors, errors), answers, sys.stdin.buffer,
                                  most_mb)  # fmt: skip
    print(json.dumps(page.qualify_object(found))) if as_json else page.print_qualify(found)
    passed = all(one.standing.state == "passed" for one in found.stood)
    raise typer.Exit(0 if passed or not require_pass else 1)
