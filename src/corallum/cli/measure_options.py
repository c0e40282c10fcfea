"""What the options of ``corallum measure`` say, read and checked together."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from corallum.actions.measurements import Clicks, Region
from corallum.actions.scales import Kind, ScaleObject, Sight, find_scale
from corallum.errors import Fault, InputError
from corallum.measure.scale import MeasureError, Scale

__all__ = ["Asked", "read_clicks", "read_edits", "read_region", "read_sight"]

Floats = NDArray[np.float64]
_POINTS = 'Write x,y in pixels of the upright photo, such as "120,80 1120,95".'


@dataclass(frozen=True, slots=True)
class Asked:
    """The options as written."""

    mm_per_pixel: float | None = None
    scale_uncertainty: float = 0.0
    ruler: str | None = None
    disc: str | None = None
    rectangle: str | None = None
    size_mm: str | None = None
    size_error: float | None = None
    click_error: float = 2.0
    nearer: float = 0.0
    distance: float | None = None
    region: str | None = None
    calices: str | None = None
    valleys: str | None = None
    centres: str | None = None
    add: str | None = None
    remove: str | None = None
    overlay: Path | None = None
    as_json: bool = False
    report: bool = False


def _bad(option: str, expected: str, found: str, remedy: str) -> InputError:
    """Build an error about one option."""
    return InputError([Fault(option, "", expected, found, remedy)])


def read_sight(asked: Asked) -> Sight:
    """Find the scale that the options state.

    Raises
    ------
    InputError, MeasureError
        Where they state none, several, or one that can't be.
    """
    given = {
        f"--{name.replace('_', '-')}": getattr(asked, name)
        for name in ("mm_per_pixel", "ruler", "disc", "rectangle")
        if getattr(asked, name) is not None
    }
    if len(given) != 1:
        expected = "one of --mm-per-pixel, --ruler, --disc and --rectangle"
        remedy = "Without a scale there are no millimetres." if not given else "Keep one."
        raise _bad("the scale", expected, " and ".join(given) or "none", remedy)
    if bool(asked.nearer) != (asked.distance is not None):
        found = "--nearer alone" if asked.nearer else "--distance alone"
        remedy = "Give how much nearer the colony is, and how far the scale object, both in mm."
        raise _bad("--nearer", "--nearer with --distance", found, remedy)
    distance = math.inf if asked.distance is None else asked.distance
    if not (math.isfinite(asked.nearer) and distance > max(asked.nearer, 0)):
        found = f"{asked.nearer:g} and {distance:g}"
        remedy = "The colony must lie before the camera: give both in mm."
        raise _bad(
            "--nearer and --distance", "a distance above 0 and above what is nearer", found, remedy
        )
    (option,) = given
    try:
        stated = _object(option.removeprefix("--"), asked)
        return find_scale(stated, asked.nearer, distance)
    except MeasureError as error:
        raise MeasureError(f"{option}: {error}") from error


def _object(kind: str, asked: Asked) -> Scale | ScaleObject:
    """Scale or scale object of one option."""
    if asked.mm_per_pixel is not None:
        if asked.size_mm is not None:
            expected = "--size-mm with --ruler, --disc or --rectangle"
            raise _bad("--size-mm", expected, "--mm-per-pixel", "Leave one out.")
        return Scale(asked.mm_per_pixel, asked.scale_uncertainty)
    if asked.scale_uncertainty:
        remedy = "Use --size-error and --click-error."
        raise _bad("--scale-uncertainty", "--mm-per-pixel with it", f"--{kind}", remedy)
    wanted = 2 if kind == "rectangle" else 1
    shape = "width,height" if wanted == 2 else "one number"
    size = _numbers("--size-mm", asked.size_mm, f"{shape} in mm, of the {kind}")
    if len(size) != wanted or min(size) <= 0:
        remedy = f"Write {'100,50' if wanted == 2 else '100'}, for instance."
        raise _bad("--size-mm", f"{shape} above 0, in mm", repr(asked.size_mm), remedy)
    points = _points(f"--{kind}", getattr(asked, kind) or "")
    known: Kind = "ruler" if kind == "ruler" else "disc" if kind == "disc" else "rectangle"
    return ScaleObject(known, points, tuple(size), asked.size_error, asked.click_error)


def _numbers(option: str, text: str | None, expected: str) -> list[float]:
    """Read numbers separated by commas."""
    try:
        numbers = [float(part) for part in (text or "").split(",")]
    except ValueError:
        numbers = []
    if not numbers or not all(map(math.isfinite, numbers)):
        found = "none" if text is None else repr(text)
        raise _bad(option, expected, found, f"Give {option}.")
    return numbers


def _points(option: str, text: str) -> Floats:
    """Read points, separated by blanks or semicolons."""
    points = []
    for part in re.split(r"[\s;]+", text.strip()):
        try:
            x, y = (float(number) for number in part.split(","))
        except ValueError as error:
            raise _bad(option, "points x,y", repr(part), _POINTS) from error
        if not (math.isfinite(x) and math.isfinite(y)):
            raise _bad(option, "points of numbers", repr(part), _POINTS)
        points.append((x, y))
    return np.array(points, float).reshape(-1, 2)


def read_clicks(asked: Asked) -> Clicks | None:
    """Read what was clicked by hand; None where nothing was.

    Raises
    ------
    InputError
        Where the points are none, or ends come without their other ends.
    """
    if asked.calices is None and asked.valleys is None and asked.centres is None:
        return None
    ends = []
    for option, text in (("--calices", asked.calices), ("--valleys", asked.valleys)):
        points = np.zeros((0, 2)) if text is None else _points(option, text)
        if len(points) % 2:
            found = f"{len(points)} points"
            raise _bad(option, "two ends for each length", found, "Add the missing end.")
        ends.append(points.reshape(-1, 2, 2))
    centres = np.zeros((0, 2)) if asked.centres is None else _points("--centres", asked.centres)
    return Clicks(ends[0], ends[1], centres, asked.click_error)


def read_edits(asked: Asked, centres: Floats) -> tuple[Floats, Floats]:
    """Read the centres to add and those to remove.

    Parameters
    ----------
    asked : Asked
        The options.
    centres : ndarray, (n, 2)
        What was found, numbered from 1 in this order.

    Returns
    -------
    tuple of ndarray, (a, 2) and (r, 2)
        Places in pixels of the upright photo.

    Raises
    ------
    InputError
        Where there is no centre of a number.
    """
    add = np.zeros((0, 2)) if asked.add is None else _points("--add", asked.add)
    remove = []
    if asked.remove is not None and not asked.remove.strip():
        raise _bad("--remove", "numbers or points", "none", _POINTS)
    for part in re.split(r"[\s;]+", (asked.remove or "").strip()):
        if not part:
            continue
        if not part.isdecimal():
            remove.append(_points("--remove", part)[0])
            continue
        if not 1 <= int(part[:9]) <= len(centres):
            expected = f"a number from 1 to {len(centres)}" if len(centres) else "centres to remove"
            remedy = "Look up its number in the overlay."
            raise _bad("--remove", expected, part if len(centres) else "none", remedy)
        remove.append(centres[int(part) - 1])
    return add, np.array(remove, float).reshape(-1, 2)


def read_region(text: str | None) -> Region | None:
    """Read a region: left, top, right and bottom in pixels of the upright photo.

    Raises
    ------
    InputError
        Where it is not four numbers of a rectangle.
    """
    if text is None:
        return None
    try:
        x0, y0, x1, y1 = (float(part) for part in text.split(","))
    except ValueError:
        x0 = y0 = x1 = y1 = math.nan
    if not (all(map(math.isfinite, (x0, y0, x1, y1))) and 0 <= x0 < x1 and 0 <= y0 < y1):
        remedy = "Write left,top,right,bottom in pixels, such as 100,50,900,700."
        raise _bad("--region", "x0,y0,x1,y1", repr(text), remedy)
    return x0, y0, x1, y1
