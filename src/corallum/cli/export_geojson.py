"""``corallum export geojson``: the places of a programme for a map."""

from __future__ import annotations

import json
import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from corallum.actions.export_places import PlacesFound

__all__ = ["geojson"]

_MOST_MB = 20


class KindChoice(StrEnum):
    """What may be put on a map."""

    SITE = "site"
    TRANSECT = "transect"
    STRATUM = "stratum"
    COLONY = "colony"


def geojson(
    folder: Annotated[Path, typer.Argument(help="Folder of the programme.")],
    out: Annotated[Path, typer.Option(help="New file to write; - for standard output.")],
    coordinates: Annotated[
        str,
        typer.Option(help="exact, withheld, or a step in degrees to round to, such as 0.01."),
    ] = "exact",
    kind: Annotated[
        list[KindChoice] | None, typer.Option(help="Only these; once for each. All by default.")
    ] = None,
    ends: Annotated[
        Path | None,
        typer.Option(
            help="CSV with survey, site, transect, from_latitude, from_longitude, to_latitude "
            "and to_longitude, so that transects are lines; - for standard input."
        ),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Say what was written as one JSON object.")
    ] = False,
) -> None:
    """Write sites, transects, strata and colonies for a map, as GeoJSON.

    Example: corallum export geojson my_reef --out my_reef.geojson --coordinates 0.01
    """
    from corallum.actions import export_places as actions  # noqa: PLC0415  slow to start
    from corallum.actions.programmes import open_programme  # noqa: PLC0415
    from corallum.exchange.coordinates import parse_coordinate_rule  # noqa: PLC0415
    from corallum.exchange.text_file import read_text, write_text  # noqa: PLC0415
    from corallum.exchange.transect_ends import read_transect_ends  # noqa: PLC0415

    rule = parse_coordinate_rule(coordinates)
    kinds = tuple(one.value for one in kind) if kind else actions.KINDS
    given, name = ("", "") if ends is None else read_text(str(ends), sys.stdin.buffer, _MOST_MB)
    laid = read_transect_ends(given, name) if ends is not None else ()
    programme = open_programme(folder)
    try:
        found = actions.export_places(programme, actions.ExportPlaces(rule, kinds, laid, name))
    finally:
        programme.close()
    if str(out) == "-":
        print(found.text, end="")
        return
    write_text(out, found.text)
    print(json.dumps(_object(found, out)) if as_json else _sentence(found, out))


def _object(found: PlacesFound, out: Path) -> dict[str, object]:
    """Say what was written, for machines."""
    return {"file": str(out), "placed": dict(found.placed), "without_position":
            dict(found.unplaced)}  # fmt: skip


def _sentence(found: PlacesFound, out: Path) -> str:
    """Say what was written, for people."""
    words = {"site": "sites", "transect": "transects", "stratum": "strata", "colony": "colonies"}
    parts = []
    for kind, placed in found.placed.items():
        without = found.unplaced[kind]
        more = f" ({without} without a position)" if without else ""
        parts.append(f"{placed + without} {words[kind]}{more}")
    return f"{out}: {', '.join(parts)}."
