"""``corallum export ...``: what a programme holds, in the forms that others read.

Each form is a command of its own file, added at the end of this one.
"""

from __future__ import annotations

import typer

from corallum.cli.export_darwin_core import darwin_core
from corallum.cli.export_geojson import geojson
from corallum.cli.export_reference import nexus, sdd
from corallum.cli.export_tables import tables

__all__ = ["export"]

export = typer.Typer(
    help="Write what a programme holds in the forms that others read.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

# Commands stand in files of their own and are added here by name: darwin-core in
# export_darwin_core.py, geojson in export_geojson.py, tables in export_tables.py, sdd as well
# as nexus in export_reference.py.
export.command("darwin-core")(darwin_core)
export.command("sdd")(sdd)
export.command("nexus")(nexus)
export.command("geojson")(geojson)
export.command("tables")(tables)
