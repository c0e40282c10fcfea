"""``corallum export tables``: everything that a programme holds as plain tables."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from corallum.cli.progress import progress_bar

__all__ = ["tables"]


def tables(
    folder: Annotated[Path, typer.Argument(help="Folder of the programme.")],
    out: Annotated[Path, typer.Option(help="New folder to write; or new zip, by its name.")],
    coordinates: Annotated[
        str,
        typer.Option(help="exact, withheld, or a step in degrees to round to, such as 0.01."),
    ] = "exact",
    people: Annotated[
        bool,
        typer.Option("--people", help="With names of people; else they stand as numbers."),
    ] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="Say what was written as one JSON object.")
    ] = False,
) -> None:
    """Write every kind of record as CSV, one row a record, with a dictionary of all columns.

    Example: corallum export tables my_reef --out my_reef_tables --people
    """
    from corallum.actions import export_tables as actions  # noqa: PLC0415  slow to start
    from corallum.actions.programmes import open_programme  # noqa: PLC0415
    from corallum.exchange.coordinates import parse_coordinate_rule  # noqa: PLC0415

    command = actions.ExportTables(out, parse_coordinate_rule(coordinates), people)
    programme = open_programme(folder)
    try:
        with progress_bar("writing tables") as progress:
            found = actions.export_tables(programme, command, progress)
    finally:
        programme.close()
    if as_json:
        print(json.dumps({"out": str(out), "rows": dict(found.rows),
                          "bring_back": list(found.bring_back)}))  # fmt: skip
        return
    total = sum(found.rows.values())
    print(f"{out}: {total:,} records in {len(found.rows)} tables, data-dictionary.csv, README.txt.")
    if found.bring_back:
        listed = ", ".join(found.bring_back)
        print(f"For corallum survey import: {listed}.")
