"""``corallum demo``: the invented reserve, made if it is not there, and its pages."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from corallum.cli.progress import progress_bar
from corallum.cli.serve import serve_programme

__all__ = ["demo"]

_FOLDER = Path("corallum-demo")
_PORT = 8420


def demo(
    folder: Annotated[Path, typer.Argument(help="Folder of the invented reserve.")] = _FOLDER,
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes a free one.")] = _PORT,
    make_only: Annotated[
        bool, typer.Option("--make-only", help="Make the reserve, but open no pages.")
    ] = False,
) -> None:
    """Make an invented reserve to try everything on, and show its pages.

    Example: corallum demo
    """
    if (folder / "programme.toml").exists():
        print(f"{folder} is there already: it is used as it is.", flush=True)
    else:
        _make(folder)
    if not make_only:
        serve_programme(folder, port, network=False)


def _make(folder: Path) -> None:
    """Make the reserve, with a bar."""
    from corallum.actions.demo import make_demo  # noqa: PLC0415  slow to import

    print(
        "Making an invented reserve. Nothing in it exists; its pictures are drawings.", flush=True
    )
    with progress_bar("invented reserve") as step:
        make_demo(folder, datetime.now().astimezone(), progress=step).close()
    print(f"Made in {folder}.", flush=True)
