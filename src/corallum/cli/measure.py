"""``corallum measure``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["measure"]


def measure(  # noqa: PLR0913, PLR0917  each option is an argument to the parser
    photos: Annotated[list[Path], typer.Argument(help="Photos, or folders of photos.")],
    mm_per_pixel: Annotated[
        float | None, typer.Option(help="Millimetres to a pixel of the upright photo.")
    ] = None,
    scale_uncertainty: Annotated[
        float, typer.Option(min=0, max=0.5, help="Standard uncertainty of it, as a part of it.")
    ] = 0.0,
    ruler: Annotated[
        str | None, typer.Option(help='Two points on a ruler, "x,y x,y" in pixels.')
    ] = None,
    disc: Annotated[
        str | None,
        typer.Option(help="Three or more points round a coin or disc; six tell a tilt."),
    ] = None,
    rectangle: Annotated[
        str | None,
        typer.Option(
            help="Four corners of a rectangle in order, and the middles of its sides if "
            "you like: the photo is straightened."
        ),
    ] = None,
    size_mm: Annotated[
        str | None,
        typer.Option(help="Length of the ruler, diameter of the disc, or width,height."),
    ] = None,
    size_error: Annotated[
        float | None,
        typer.Option(min=0, help="Standard uncertainty of that in mm; .5, for a disc .05."),
    ] = None,
    click_error: Annotated[
        float, typer.Option(min=0, max=1000, help="Standard uncertainty of a click in pixels.")
    ] = 2.0,
    nearer: Annotated[
        float,
        typer.Option(help="How much nearer to the camera the colony is than the scale, in mm."),
    ] = 0.0,
    distance: Annotated[
        float | None, typer.Option(help="From the camera to the scale, in mm; with --nearer.")
    ] = None,
    region: Annotated[
        str | None, typer.Option(help="Where to measure: left,top,right,bottom in pixels.")
    ] = None,
    calices: Annotated[
        str | None, typer.Option(help="By hand: both ends of each diameter, one after the other.")
    ] = None,
    valleys: Annotated[
        str | None, typer.Option(help="By hand: both ends across each valley.")
    ] = None,
    centres: Annotated[
        str | None, typer.Option(help="By hand: all centres of a patch, or two neighbours.")
    ] = None,
    add: Annotated[str | None, typer.Option(help="Centres that were missed.")] = None,
    remove: Annotated[
        str | None, typer.Option(help="Centres that are none: numbers in the overlay, or points.")
    ] = None,
    overlay: Annotated[
        Path | None,
        typer.Option(help="Picture to write what was found on; a folder for several photos."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object per photo.")] = False,
    report: Annotated[
        bool, typer.Option("--report", help="The sizes as colonies for corallum determine.")
    ] = False,
) -> None:
    """Measure spacing, calices or valleys on photos taken from straight above.

    Example: corallum measure photo.jpg --ruler "120,80 1120,95" --size-mm 50
    """
    from corallum.cli.measure_options import Asked  # noqa: PLC0415  scipy is slow to start
    from corallum.cli.measure_page import measure_all  # noqa: PLC0415  scipy is slow to start

    asked = Asked(
        mm_per_pixel, scale_uncertainty, ruler, disc, rectangle, size_mm, size_error, click_error,
        nearer, distance, region, calices, valleys, centres, add, remove, overlay, as_json, report,
    )  # fmt: skip
    raise typer.Exit(measure_all(photos, asked))
