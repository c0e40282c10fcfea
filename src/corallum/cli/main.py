"""Entry point of ``corallum``: every failure is one line a fault, never a traceback."""

from __future__ import annotations

import sys

import typer

from corallum.cli.determine import determine
from corallum.cli.reference import reference
from corallum.errors import CorallumError

__all__ = ["app", "main"]

app = typer.Typer(
    help="Name stony corals to genus on the living reef, with the uncertainty said.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.command()(determine)
app.add_typer(reference, name="reference")


def main() -> None:
    """Run the command line; exit 2 on bad use or input, 1 where the answer is no."""
    try:
        app()
    except CorallumError as error:
        print(error, file=sys.stderr)
        sys.exit(2)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        sys.exit(130)
