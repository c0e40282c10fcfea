"""Run ``corallum measure`` over photos and show what each measured."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.progress import track

from corallum.actions.measurements import (
    PhotoMeasurement,
    list_photos,
    measure_photo,
    measurement_object,
    parse_region,
)
from corallum.errors import Fault, InputError
from corallum.measure.scale import Scale
from corallum.measure.surface import Refused

__all__ = ["measure_all"]


def measure_all(
    paths: Sequence[Path],
    scale: tuple[float, float],
    region: str | None,
    overlay: Path | None,
    as_json: bool,
) -> int:
    """Measure photos one by one and print each.

    Parameters
    ----------
    paths : sequence of Path
        Photos and folders.
    scale : tuple of float
        Millimetres to a pixel, and its relative standard uncertainty.
    region : str or None
        As written by the user.
    overlay : Path or None
        Picture, or folder for several photos.
    as_json : bool
        One JSON object per photo, else one line.

    Returns
    -------
    int
        0; 1 where some photos could not be read; 2 where none could.
    """
    millimetres = Scale(*scale)
    where = parse_region(region) if region else None
    photos = list_photos(paths)
    several = len(photos) > 1
    if overlay and several and not overlay.is_dir():
        remedy = "Make the folder first, or give one photo."
        found = "no such folder"
        raise InputError([Fault(str(overlay), "", "a folder, for several photos", found, remedy)])
    shown = track(
        photos, "Measuring", console=Console(stderr=True), disable=not (several and _is_seen())
    )
    good = bad = 0
    for path in shown:
        out = overlay / f"{path.stem}_measured.png" if overlay and overlay.is_dir() else overlay
        try:
            done = measure_photo(path, millimetres, where, out)
        except InputError as error:
            bad += 1
            print(error, file=sys.stderr)
            if as_json and several:
                print(json.dumps({"photo": str(path), "error": str(error)}), flush=True)
            continue
        good += 1
        print(json.dumps(measurement_object(done)) if as_json else _line(done), flush=True)
    return 0 if not bad else 1 if good else 2


def _is_seen() -> bool:
    """Whether a person watches the progress."""
    return sys.stderr.isatty()


def _line(done: PhotoMeasurement) -> str:
    """One photo in one line."""
    outcome = done.outcome
    if isinstance(outcome, Refused):
        return f"{done.path}: not measured: {outcome.reason}"
    named = (
        ("spacing", outcome.spacing),
        ("calice", outcome.calice_diameter),
        ("valley", outcome.valley_width),
    )
    parts = [
        f"{name} {size.value:.2f} mm ({size.low:.2f} to {size.high:.2f}, n {size.n})"
        for name, size in named
        if size
    ]
    note = f"; {outcome.note}" if outcome.note else ""
    return f"{done.path}: {', '.join(parts)}; quality {outcome.quality:.2f}{note}"
