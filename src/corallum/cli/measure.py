"""``corallum measure``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["measure"]


def measure(
    photos: Annotated[list[Path], typer.Argument(help="Photos, or folders of photos.")],
    mm_per_pixel: Annotated[
        float, typer.Option(help="Millimetres to a pixel of the upright photo.")
    ],
    scale_uncertainty: Annotated[
        float, typer.Option(min=0, max=0.5, help="Standard uncertainty of it, as a part of it.")
    ] = 0.0,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object per photo.")] = False,
    overlay: Annotated[
        Path | None,
        typer.Option(help="Picture to write what was found on; a folder for several photos."),
    ] = None,
    region: Annotated[
        str | None, typer.Option(help="Where to measure: left,top,right,bottom in pixels.")
    ] = None,
) -> None:
    """Measure spacing, calices or valleys on photos taken from straight above.

    Example: corallum measure photo.jpg --mm-per-pixel 0.05
    """
    from corallum.cli.measure_page import measure_all  # noqa: PLC0415  scipy is slow to start

    status = measure_all(photos, (mm_per_pixel, scale_uncertainty), region, overlay, as_json)
    raise typer.Exit(status)
