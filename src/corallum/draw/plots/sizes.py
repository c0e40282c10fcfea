"""Colonies by class of size, each class with its interval.

Every class is drawn equally wide, whatever its edges: they are chosen in ever longer steps,
as the trade does, and a class is read by its height, not by its area.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from corallum.draw.plots.axes import Axis, rise_axis
from corallum.draw.plots.sheet import EDGE, NARROW, Sheet, empty_plot
from corallum.draw.plots.spans import Span, ends, say, sound
from corallum.draw.plots.text import LINE, number, wide
from corallum.errors import Fault, InputError

__all__ = ["plot_sizes"]


def plot_sizes(
    edges_cm: Sequence[float],
    density: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
    width: int = NARROW,
    *,
    unit: str = "colonies per m²",
) -> str:
    """Plot a histogram of sizes with an interval to each class.

    Parameters
    ----------
    edges_cm : sequence of float
        Edges of the k classes in cm, (k + 1,), rising; the last may be infinite.
    density, low, high : sequence of float
        Of each class, (k,), its estimate and the ends of its interval; NaN is unknown.
    width : int
        ``NARROW`` for a phone or ``WIDE``.
    unit : str
        Of the density.

    Returns
    -------
    str
        One ``<svg>``.

    Raises
    ------
    InputError
        The columns don't fit one another, or the edges don't rise.
    """
    _check(edges_cm, density, low, high)
    title = f"Colonies by size, {unit}"
    classes = [sound(Span(*row)) for row in zip(density, low, high, strict=True)]
    values = [0.0]
    for span in classes:
        values += [span.value, *(ends(span) or ())] if span else []
    if not any(classes):
        return empty_plot(title, width, "No sizes measured yet.")
    sheet = Sheet(width)
    top = sheet.heading(title) + 12
    bottom = top + (200 if sheet.slim else 260)
    axis = rise_axis(values, bottom, top)
    left = EDGE + max(wide(text) for text in axis.texts) + 8
    sheet.rungs(axis, left, width - EDGE)
    step = (width - EDGE - 22 - left) / len(classes)
    for k, span in enumerate(classes):
        _draw_class(sheet, axis, span, (left + k * step, step))
    sheet.line((left, axis.at(0.0)), (width - EDGE, axis.at(0.0)), "axis")
    places = [left + k * step for k in range(len(edges_cm))]
    _draw_edges(sheet, list(map(_edge, edges_cm)), places, bottom)
    sheet.text((width - EDGE, bottom + 2 * LINE + 2), "size, cm", "end", "soft")
    told = [
        f"{_class(a, b)}: {say(span)}"
        for a, b, span in zip(edges_cm, edges_cm[1:], classes, strict=False)
    ]
    return sheet.close(bottom + 2 * LINE + 8, (title, *told))


def _check(edges_cm: Sequence[float], *columns: Sequence[float]) -> None:
    """Refuse columns of unequal length and edges that don't rise."""
    faults = []
    lengths = {len(column) for column in columns}
    fits = len(edges_cm) - 1 if len(edges_cm) else 0
    if lengths != {fits}:
        found = ", ".join(str(len(column)) for column in columns)
        faults.append(
            Fault("plot of sizes", "classes", f"{fits} in each column", found, "Give one a class.")
        )
    if not all(a < b for a, b in pairwise(edges_cm)):
        faults.append(
            Fault("plot of sizes", "edges_cm", "rising edges", "others", "Sort the edges.")
        )
    if faults:
        raise InputError(faults)


def _class(low: float, high: float) -> str:
    """Say a class."""
    upper = f"to {number(high)} cm" if math.isfinite(high) else "cm and more"
    return f"{number(low)} {upper}"


def _edge(value: float) -> str:
    """Say an edge in cm."""
    return number(value) if math.isfinite(value) else "∞"


def _draw_class(sheet: Sheet, axis: Axis, span: Span | None, place: tuple[float, float]) -> None:
    """Draw a class's bar and over it its interval; (left, width) is its place."""
    left, step = place
    middle = left + step / 2
    zero = axis.at(0.0)
    if span is None:
        sheet.text((middle, max(zero - 6, axis.end + 12)), "?", "middle", "soft")
        return
    y = axis.at(span.value)
    sheet.box(left + 1.5, min(y, zero), (step - 3, abs(zero - y)), "block")
    reach = ends(span)
    if reach:
        down, up = axis.at(reach[0]), axis.at(reach[1])
        cap = min(6.0, step / 4)
        sheet.line((middle, down), (middle, up), "zero")
        for y in (down, up):
            sheet.line((middle - cap, y), (middle + cap, y), "zero")


def _draw_edges(sheet: Sheet, texts: list[str], places: list[float], bottom: float) -> None:
    """Write the classes' edges below, as many as there is room for, the last one always."""
    taken = math.inf
    for text, x in reversed(list(zip(texts, places, strict=True))):
        sheet.line((x, bottom), (x, bottom + 4), "axis")
        half = wide(text) / 2
        if x + half + 6 <= taken and x - half >= 0:
            middle = min(x, sheet.width - 1 - half)
            sheet.text((middle, bottom + LINE), text, "middle", "soft")
            taken = middle - half
