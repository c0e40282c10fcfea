"""``corallum sheet``: what is carried into the field, and what comes back from it."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import numpy as np
import typer

from corallum.cli.programme import lead_of
from corallum.cli.take_colonies_in import take_colonies_in
from corallum.errors import Fault, InputError

if TYPE_CHECKING:
    from corallum.actions.phone_import import PhoneImported
    from corallum.store.programme import Programme

__all__ = ["sheet"]

_MOST_MB = 100


def sheet(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    folder: Annotated[
        Path | None,
        typer.Argument(help="Folder of a programme; the shipped reference if left out."),
    ] = None,
    genera: Annotated[
        Path | None, typer.Option(help="Write a field sheet of genera to this PDF.")
    ] = None,
    recording: Annotated[
        Path | None, typer.Option(help="Write sheets to record transects on to this PDF.")
    ] = None,
    practice: Annotated[
        Path | None, typer.Option(help="Write drawn colonies to be named to this PDF.")
    ] = None,
    phone: Annotated[
        Path | None, typer.Option(help="Write the page for a phone to this file.")
    ] = None,
    region: Annotated[
        str | None, typer.Option(help="Region id: where it will be used, such as red_sea.")
    ] = None,
    paper: Annotated[str, typer.Option(help="Of a PDF: a4, a5 or letter.")] = "a4",
    pages: Annotated[int, typer.Option(help="Of the sheet of genera.")] = 2,
    keep: Annotated[
        list[str] | None,
        typer.Option(help="Genus, or id of a character, that must be on the sheet of genera."),
    ] = None,
    method: Annotated[
        str, typer.Option(help="How transects are recorded, such as line_intercept.")
    ] = "",
    survey: Annotated[
        str, typer.Option(help="Planned survey whose transects are to be recorded.")
    ] = "",
    again: Annotated[
        bool, typer.Option("--again", help="Also transects that have a slate already.")
    ] = False,
    items: Annotated[int, typer.Option(help="Colonies to be named, for practice.")] = 12,
    answers: Annotated[
        bool, typer.Option("--answers/--no-answers", help="Of practice, on pages of their own.")
    ] = True,
    seed: Annotated[int, typer.Option(min=0, help="Of what is drawn at random.")] = 1,
    colonies: Annotated[
        int, typer.Option(help="Drawn to choose a sheet of genera on, and to judge it.")
    ] = 2000,
    random: Annotated[
        int, typer.Option(help="Random sheets to compare a sheet of genera with.")
    ] = 100,
    from_phone: Annotated[
        str | None,
        typer.Option(help="Take in the records that a phone saved; - for standard input."),
    ] = None,
    from_archive: Annotated[
        Path | None,
        typer.Option(help="Take in the colonies of an archive that corallum export wrote."),
    ] = None,
    name: Annotated[
        list[str] | None,
        typer.Option(
            help="What a site or person is called on the phone or in the archive: "
            "n. wall=North wall."
        ),
    ] = None,
    skip_known: Annotated[
        bool, typer.Option("--skip-known", help="Leave out records that are imported already.")
    ] = False,
    as_: Annotated[
        str | None, typer.Option("--as", help="Name of the person who acts; a lead by default.")
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="One JSON object instead of text.")
    ] = False,
) -> None:
    """Make what is carried into the field, and take in what comes back.

    Example: corallum sheet my_reef --genera genera.pdf --paper a4 --pages 2
    """
    if not (genera or recording or practice or phone or from_phone or from_archive):
        expected = "what to make or take in, such as --genera genera.pdf"
        raise InputError([Fault("sheet", "", expected, "nothing", "See corallum sheet --help.")])
    from corallum.cli import sheet_pdfs  # noqa: PLC0415  slow to start

    sheet_pdfs.check_targets([one for one in (genera, recording, practice) if one is not None])
    printed = sheet_pdfs.Printed(region, paper, seed, as_json)
    with _opened(folder) as programme:
        if genera is not None:
            wish = sheet_pdfs.GeneraWish(pages, tuple(keep or ()), colonies, random)
            sheet_pdfs.print_genera(programme, genera, printed, wish)
        if recording is not None:
            sheet_pdfs.print_recording(programme, recording, printed, (method, survey, again))
        if practice is not None:
            sheet_pdfs.print_practice(programme, practice, printed, (items, answers))
        if phone is not None:
            _make_phone(programme, region, phone, as_json=as_json)
        if from_phone is not None:
            wishes = (_pairs(name), skip_known, as_)
            _take_in(programme, from_phone, wishes, as_json=as_json)
        if from_archive is not None:
            take_colonies_in(programme, from_archive, _pairs(name), as_, as_json=as_json)


@contextmanager
def _opened(folder: Path | None) -> Iterator[Programme | None]:
    """Open a programme, where one is named, while a command runs."""
    if folder is None:
        yield None
        return
    from corallum.actions.programmes import open_programme  # noqa: PLC0415  slow to start

    programme = open_programme(folder)
    try:
        yield programme
    finally:
        programme.close()


def _make_phone(
    programme: Programme | None, region: str | None, target: Path, *, as_json: bool
) -> None:
    """Write the page for a phone."""
    from corallum.actions.phone_sheet import phone_sheet  # noqa: PLC0415  slow to start

    text = phone_sheet(programme, region)
    try:
        target.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        fault = Fault(str(target), "", "a file to write", str(error.strerror), "Choose another.")
        raise InputError([fault]) from error
    size = len(text.encode())
    if as_json:
        print(json.dumps({"phone": str(target), "bytes": size}))
        return
    print(f"{target}: the page for a phone, {size / 1000:.0f} kB. Copy it to each phone.")


def _take_in(
    programme: Programme | None,
    file: str,
    wishes: tuple[dict[str, str], bool, str | None],
    *,
    as_json: bool,
) -> None:
    """Write the records of a phone into a programme."""
    from corallum.actions.phone_import import ImportPhone, import_phone  # noqa: PLC0415  slow
    from corallum.exchange.text_file import read_text  # noqa: PLC0415

    if programme is None:
        fault = Fault("sheet", "", "a programme to write into", "none", "Name its folder.")
        raise InputError([fault])
    names, skip_known, as_ = wishes
    text, title = read_text(file, sys.stdin.buffer, _MOST_MB)
    command = ImportPhone(text, title, skip_known, names)
    by = (datetime.now().astimezone(), np.random.default_rng(), lead_of(programme, as_))
    found = import_phone(programme, command, *by)
    if as_json:
        print(json.dumps(_object(found)))
        return
    print(f"{title}: {len(found.new)} new, {len(found.added_to)} added to, "
          f"{len(found.left_out)} left out.")  # fmt: skip


def _object(found: PhoneImported) -> dict[str, list[int]]:
    """Return what was written as numbers of colonies."""
    return {
        "new": [one.number for one in found.new],
        "added_to": [one.number for one in found.added_to],
        "left_out": list(found.left_out),
    }


def _pairs(texts: list[str] | None) -> dict[str, str]:
    """Read options of the shape A=B."""
    found = {}
    for text in texts or ():
        name, equals, here = text.partition("=")
        if not (name.strip() and equals and here.strip()):
            fault = Fault("--name", "", "n. wall=North wall", repr(text)[:40], "Write it so.")
            raise InputError([fault])
        found[name.strip()] = here.strip()
    return found
