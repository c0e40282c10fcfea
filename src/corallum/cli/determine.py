"""``corallum determine``."""

from __future__ import annotations

import json
import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from corallum.actions.determinations import determine_colonies, open_colonies
from corallum.actions.references import Library
from corallum.exchange.answers import answer_object, error_object
from corallum.exchange.colonies import BadColony
from corallum.model.answer import Determiner
from corallum.model.errors import Observer
from corallum.records.answer import Answer

__all__ = ["determine"]


class Errors(StrEnum):
    """Whose errors to assume where the observer is not known."""

    UNKNOWN = "unknown"
    TRAINED = "trained"
    NEW = "new"


def determine(
    file: Annotated[str, typer.Argument(help="JSON, JSON lines or CSV; - for standard input.")],
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object per colony.")] = False,
    brief: Annotated[bool, typer.Option("--brief", help="One line per colony.")] = False,
    reference: Annotated[
        Path | None, typer.Option(help="Folder of a reference; the shipped one by default.")
    ] = None,
    observer_errors: Annotated[
        Errors, typer.Option(help="Errors of an observer who is not known.")
    ] = Errors.UNKNOWN,
    most_mb: Annotated[int, typer.Option(min=1, help="Largest file to read, in MB.")] = 64,
) -> None:
    """Name colonies from what was seen, and say what to look at next.

    Example: corallum determine colonies.json
    """
    colonies = open_colonies(file, sys.stdin.buffer, most_mb)
    determiner = Determiner(Library(reference).compiled, Observer[observer_errors.name])
    show = _show_json if as_json else _show_brief if brief else _show_table
    answered = bad = 0
    for outcome in determine_colonies(determiner, colonies):
        if isinstance(outcome, BadColony):
            bad += 1
            print(outcome, file=sys.stderr)
            if as_json:
                print(json.dumps(error_object(outcome.id, outcome)), flush=True)
            continue
        answered += 1
        show(outcome)
    raise typer.Exit(0 if not bad else 1 if answered else 2)


def _show_json(answer: Answer) -> None:
    """Print one answer as one line of JSON."""
    print(json.dumps(answer_object(answer)), flush=True)


def _show_brief(answer: Answer) -> None:
    """Print one answer as one line."""
    from corallum.cli.answer_page import print_brief  # noqa: PLC0415  rich is slow to start

    print_brief(answer)


def _show_table(answer: Answer) -> None:
    """Print one answer for people."""
    from corallum.cli.answer_page import print_answer  # noqa: PLC0415  rich is slow to start

    print_answer(answer)
