"""``corallum practice ...``: practice on files, and a study of what it teaches."""

from __future__ import annotations

import json
import sys
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["KindChoice", "PurposeChoice", "practice"]

practice = typer.Typer(
    help="Practise naming drawn colonies on files, and study what that teaches of observers.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


class PurposeChoice(StrEnum):
    """What a set is for."""

    COMMON = "common"
    PAIR = "pair"
    ODD = "odd"
    CHARACTER = "character"
    MIXED = "mixed"
    PERSON = "person"


class KindChoice(StrEnum):
    """Where the true errors of invented observers come from."""

    AROUND = "around"
    MIXED = "mixed"


AsJson = Annotated[bool, typer.Option("--json", help="JSON instead of text.")]
Reference = Annotated[
    Path | None, typer.Option(help="Folder of a reference; the shipped one by default.")
]
MostMb = Annotated[int, typer.Option(min=1, help="Largest file to read, in MB.")]


@practice.command()
def make(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    out: Annotated[Path, typer.Option(help="Folder to make; must not exist.")],
    purpose: Annotated[
        PurposeChoice,
        typer.Option(
            help="common genera in turn, a pair (--genus twice), odd growth, one character "
            "(--character), mixed as a survey meets them, or what a person needs most."
        ),
    ] = PurposeChoice.COMMON,
    title: Annotated[str, typer.Option(help="Title of the set; says the purpose if not.")] = "",
    region: Annotated[
        str, typer.Option(help="Region id. [default: indo_pacific, or the programme's first]")
    ] = "",
    items: Annotated[int, typer.Option(min=1, max=400, help="Items of the set.")] = 12,
    genus: Annotated[
        list[str] | None,
        typer.Option(help="Genus to take; once for each. Two of them for a pair."),
    ] = None,
    character: Annotated[str, typer.Option(help="Id of a character to practise.")] = "",
    described: Annotated[
        float, typer.Option(min=0, max=1, help="Share of items told in words, without picture.")
    ] = 0.0,
    pictures: Annotated[
        bool, typer.Option("--pictures", help="Also draw the pictures, a second or two each.")
    ] = False,
    programme: Annotated[
        Path | None, typer.Option(help="Folder of a programme, for --purpose person.")
    ] = None,
    person: Annotated[str, typer.Option(help="Name of the person in it.")] = "",
    reference: Reference = None,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the set.")] = 1,
    as_json: AsJson = False,
) -> None:
    """Make a set of drawn or described colonies in a new folder.

    Example: corallum practice make --purpose pair --genus Favites --genus Goniastrea
    --pictures --out favites_or_goniastrea
    """
    import numpy as np  # noqa: PLC0415  scipy behind it is slow to start

    from corallum.actions import practice_files as actions  # noqa: PLC0415  so is drawing
    from corallum.cli.practice_page import made_object, print_made  # noqa: PLC0415  and rich
    from corallum.cli.progress import progress_bar  # noqa: PLC0415  beside it
    from corallum.practice.sets import SetWish  # noqa: PLC0415  beside it

    genera = tuple(genus or ())
    wish = SetWish(purpose.value, region, items, genera, character, described=described)
    command = actions.MakeFiles(out, wish, title, pictures, reference, programme, person)
    now = datetime.now().astimezone()
    with progress_bar("making the set") as step:
        found = actions.make_set_files(command, now, np.random.default_rng(seed), step)
    print(json.dumps(made_object(found))) if as_json else print_made(found)


@practice.command()
def mark(
    practice_set: Annotated[str, typer.Argument(help="The set.json, or its folder.")],
    answers: Annotated[str, typer.Argument(help="CSV of answers; - for standard input.")],
    out: Annotated[Path | None, typer.Option(help="New CSV file to write the marks to.")] = None,
    reference: Reference = None,
    as_json: AsJson = False,
    most_mb: MostMb = 64,
) -> None:
    """Mark answers, and say what decides and what led astray.

    Example: corallum practice mark favites_or_goniastrea answers.csv --out marks.csv
    """
    from corallum.actions import practice_files as actions  # noqa: PLC0415  scipy is slow to start
    from corallum.actions import references  # noqa: PLC0415  beside it
    from corallum.cli.practice_page import print_marks  # noqa: PLC0415  rich is slow to start
    from corallum.cli.progress import progress_bar  # noqa: PLC0415  beside it
    from corallum.exchange.practice_marks import marks_object  # noqa: PLC0415  beside it

    library = references.Library(reference)
    with progress_bar("marking") as step:
        found = actions.mark_file(library, (practice_set, answers), sys.stdin.buffer, most_mb, step)
    if out is not None:
        actions.write_marks(found, out)
    if as_json:
        same = {"same_reference": found.same_reference}
        print(json.dumps(marks_object(found.marked) | same))
    else:
        print_marks(found)


@practice.command()
def simulate(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    observers: Annotated[int, typer.Option(min=2, max=1000, help="Invented observers.")] = 40,
    answers: Annotated[
        int, typer.Option(min=1, max=10_000, help="Practice answers of each.")
    ] = 200,
    fresh: Annotated[
        int, typer.Option(min=1, max=100_000, help="Fresh colonies that each reports then.")
    ] = 1000,
    kind: Annotated[
        KindChoice,
        typer.Option(
            help="True errors: around those of an unknown observer, as the learning assumes, "
            "or mixed of trained and new ones in another way."
        ),
    ] = KindChoice.AROUND,
    region: Annotated[str, typer.Option(help="Region id.")] = "indo_pacific",
    reference: Reference = None,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the simulation.")] = 1,
    as_json: AsJson = False,
) -> None:
    """Let invented observers with known errors practise; exit 1 where learning gains nothing.

    Example: corallum practice simulate --observers 20 --answers 100 --kind mixed
    """
    import numpy as np  # noqa: PLC0415  scipy behind it is slow to start

    from corallum.actions import practice_files as actions  # noqa: PLC0415  beside it
    from corallum.actions import references  # noqa: PLC0415  beside it
    from corallum.cli.practice_page import print_study, study_object  # noqa: PLC0415  and rich
    from corallum.cli.progress import progress_bar  # noqa: PLC0415  beside it
    from corallum.observers.study import Kind, StudyPlan  # noqa: PLC0415  beside it

    plan = StudyPlan(observers, answers, fresh, Kind(kind.value))
    library = references.Library(reference)
    with progress_bar("practising") as step:
        rng = np.random.default_rng(seed)
        found = actions.study_learning(library, region, plan, rng, step)
    if as_json:
        print(json.dumps(study_object(found)))
    else:
        print_study(found)
    raise typer.Exit(0 if found.own_gain.mean() > 0 else 1)
