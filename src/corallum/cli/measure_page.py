"""Run ``corallum measure`` over photos and show what each measured."""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from rich.console import Console
from rich.progress import Progress

from corallum.actions.measurements import (
    Clicks,
    PhotoMeasurement,
    Region,
    evidence_object,
    list_photos,
    measure_by_hand,
    measure_photo,
    measurement_object,
    revise_centres,
    sizes_of,
)
from corallum.actions.overlays import draw_over
from corallum.actions.scales import Sight
from corallum.cli.measure_options import Asked, read_clicks, read_edits, read_region, read_sight
from corallum.errors import CorallumError, Fault, InputError
from corallum.measure.surface import Interval, Refused
from corallum.store.overlay import need_overlay_place

__all__ = ["measure_all"]


def measure_all(paths: Sequence[Path], asked: Asked) -> int:
    """Measure photos one by one and print each.

    Parameters
    ----------
    paths : sequence of Path
        Photos and folders.
    asked : Asked
        The options.

    Returns
    -------
    int
        0; 1 where some photos could not be measured; 2 where none could.
    """
    sight, region, clicks = read_sight(asked), read_region(asked.region), read_clicks(asked)
    photos = list_photos(paths)
    _need_one_way(asked, photos)
    overlays = _overlays(asked.overlay, photos)
    several = len(photos) > 1
    good = 0
    for path, out in zip(_with_progress(photos), overlays, strict=True):
        try:
            done = _measured(path, asked, (sight, region, clicks))
            if out is not None:
                draw_over(done, out)
        except CorallumError as error:
            said = str(error).replace(str(path), _name(path))
            said = said if _name(path) in said else f"{_name(path)}: {said}"
            print(said, file=sys.stderr)
            if several and (asked.as_json or asked.report):
                print(json.dumps({"photo": str(path), "error": said}), flush=True)
            continue
        good += 1
        _show(done, asked, several)
    return 0 if good == len(photos) else 1 if good else 2


def _need_one_way(asked: Asked, photos: Sequence[Path]) -> None:
    """Refuse options that exclude each other."""
    by_hand = [o for o in ("calices", "valleys", "centres") if getattr(asked, o) is not None]
    edits = [o for o in ("add", "remove") if getattr(asked, o) is not None]
    pairs = [
        (by_hand, edits, "Edit what the program found, or click all by hand."),
        (by_hand, ["region"] if asked.region else [], "Clicks say where to measure already."),
        (["json"] if asked.as_json else [], ["report"] if asked.report else [], "Keep one."),
    ]
    for one, other, remedy in pairs:
        if one and other:
            found = f"--{one[0]} and --{other[0]}"
            raise InputError([Fault("the options", "", "one of two", found, remedy)])
    if (by_hand or edits) and len(photos) > 1:
        option = f"--{(by_hand or edits)[0]}"
        remedy = "Points belong to one photo: measure it by itself."
        raise InputError([Fault(option, "", "one photo", f"{len(photos)}", remedy)])


def _overlays(overlay: Path | None, photos: Sequence[Path]) -> list[Path | None]:
    """Where the overlay of each photo goes, none over a photo or another file."""
    if overlay is None:
        return [None] * len(photos)
    if not overlay.is_dir() and len(photos) > 1:
        remedy = "Make the folder first, or give one photo."
        expected = "a folder, for several photos"
        raise InputError([Fault(f"--overlay {overlay}", "", expected, "no such folder", remedy)])
    outs: list[Path | None] = []
    for path in photos:
        out = overlay
        if overlay.is_dir():
            names = [f"{path.stem}_measured.png", f"{path.name}_measured.png"]
            names += [f"{path.name}_measured_{k}.png" for k in range(2, len(photos) + 2)]
            out = next(overlay / name for name in names if overlay / name not in outs)
        need_overlay_place(out, photos)
        outs.append(out)
    return outs


def _with_progress(photos: Sequence[Path]) -> Iterator[Path]:
    """Show progress on standard error where there are several photos and somebody looks."""
    if len(photos) < 2 or not sys.stderr.isatty():
        yield from photos
        return
    # Standard output goes through the bar only where both are the same terminal: what is
    # piped on must not land on standard error.
    shared = sys.stdout.isatty()
    with Progress(console=Console(stderr=True), transient=True, redirect_stdout=shared) as bar:
        yield from bar.track(photos, description="Measuring")


def _measured(
    path: Path, asked: Asked, read: tuple[Sight, Region | None, Clicks | None]
) -> PhotoMeasurement:
    """Measure one photo as the options say."""
    sight, region, clicks = read
    if clicks is not None:
        return measure_by_hand(path, sight, clicks)
    done = measure_photo(path, sight, region)
    if asked.add is None and asked.remove is None:
        return done
    add, remove = read_edits(asked, done.centres)
    return revise_centres(done, add, remove)


def _show(done: PhotoMeasurement, asked: Asked, several: bool) -> None:
    """Print one photo."""
    if asked.as_json:
        print(json.dumps(measurement_object(done)), flush=True)
    elif asked.report:
        if isinstance(done.outcome, Refused):
            print(f"{_name(done.path)}: not measured: {done.outcome.reason}", file=sys.stderr)
        print(json.dumps(evidence_object(done)), flush=True)
    else:
        print("\n".join(_lines(done)) + "\n" * several, flush=True)


def _lines(done: PhotoMeasurement) -> list[str]:
    """One photo for people."""
    outcome, scale = done.outcome, done.sight.scale
    lines = [_name(done.path)]
    if isinstance(outcome, Refused):
        lines.append(f"  not measured: {outcome.reason}")
    else:
        lines += [_size_line(name, size, done.marking) for name, size in sizes_of(outcome)]
        if done.method == "program":
            lines.append(f"  quality          {outcome.quality:.2f} that these are the units")
    known = f", known to {100 * scale.relative:.2g} %" if scale.relative else ""
    lines.append(f"  scale            {scale.mm_per_pixel:.4g} mm to a pixel{known}")
    plane = done.sight.plane
    if plane is not None:
        exact = "0 mm: four corners always fit; the middles of the sides would tell"
        lines.append(
            f"  residual         {exact if plane.n == 4 else f'{plane.residual_mm:.2g} mm'}"
        )
    note = None if isinstance(outcome, Refused) else outcome.note
    lines += [f"  note: {text}" for text in (note, *done.warnings) if text]
    return lines


def _name(path: Path) -> str:
    """A path on one line."""
    return "".join(c if c.isprintable() else "?" for c in str(path))


def _size_line(name: str, size: Interval, marking: Mapping[str, float]) -> str:
    """One size with its interval."""
    spread = f", sd {size.sd:.2g}" if math.isfinite(size.sd) else ""
    u = marking.get(name.replace(" ", "_"))
    clicks = f"; of clicks and scale {u:.2g}" if u is not None else ""
    return (
        f"  {name:<16} {size.value:.3g} mm, 95 % interval {size.low:.3g} to {size.high:.3g} "
        f"(n {size.n}{spread}{clicks})"
    )
