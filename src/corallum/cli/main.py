"""Entry point of ``corallum``: every failure is one line a fault, never a traceback."""

from __future__ import annotations

import io
import os
import sys
from typing import Any

import typer

from corallum.cli.demo import demo
from corallum.cli.determine import determine
from corallum.cli.export import export
from corallum.cli.export_reference import import_
from corallum.cli.measure import measure
from corallum.cli.observer_errors import errors, qualify
from corallum.cli.observers import observers
from corallum.cli.practice import practice
from corallum.cli.programme import backup, new, redetermine, restore, verify
from corallum.cli.reference import reference
from corallum.cli.report import report
from corallum.cli.serve import serve
from corallum.cli.sheet import sheet
from corallum.cli.survey import survey
from corallum.errors import CorallumError

__all__ = ["app", "main"]

# What the parser raises on any bad use; only its child has a public name.
_BAD_USE: Any = typer.BadParameter.__mro__[1]

app = typer.Typer(
    help="Name stony corals to genus on the living reef, with the uncertainty said.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.command()(determine)
app.command()(measure)
reference.command("import")(import_)
app.add_typer(reference, name="reference")
observers.command()(errors)
observers.command()(qualify)
app.add_typer(observers, name="observers")
app.add_typer(practice, name="practice")
app.add_typer(survey, name="survey")
app.add_typer(export, name="export")
for command in (demo, new, serve, sheet, report, redetermine, backup, restore, verify):
    app.command()(command)


def _one_line(error: Any) -> str:  # noqa: ANN401  the parser's class has no public name
    """Say in one line what was wrong with the use; a command without more is its help."""
    message: str = error.format_message()
    if "\n" in message or error.ctx is None:
        return message
    command = error.ctx.command_path
    end = "" if message.endswith((".", "?")) else "."
    return f"{command}: {message}{end} Try {command} --help."


def main() -> None:
    """Run the command line; exit 2 on bad use or input, 1 where the answer is no."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal or file that is not Unicode gets a ? for what it can't hold.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        sys.exit(app(prog_name="corallum", standalone_mode=False))
    except _BAD_USE as error:
        print(_one_line(error), file=sys.stderr)
        sys.exit(2)
    except CorallumError as error:
        print(error, file=sys.stderr)
        sys.exit(2)
    except BrokenPipeError:
        # The reader has seen enough; what is still held goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        sys.exit(130)
