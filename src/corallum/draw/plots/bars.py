"""Bars from 0, a row each, with what each stands for beside it: odds, gains, shares.

A bar's length and the text at its end say the same; an interval, where there is one, is a
line over the bar's end. Nothing is told by colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from corallum.draw.plots.axes import Axis, known, lay_axis
from corallum.draw.plots.sheet import EDGE, NARROW, Sheet, empty_plot
from corallum.draw.plots.text import LINE, clean, shorten, wide

__all__ = ["MOST_BARS", "Bar", "plot_bars"]

MOST_BARS = 30  # more would be a table, not a picture
_HIGH, _THICK = 30.0, 16.0  # a row's height, and a bar's


@dataclass(frozen=True, slots=True)
class Bar:
    """One row of a plot of bars.

    Parameters
    ----------
    label : str
        What it stands for.
    value : float
        How long the bar is, in the plot's unit; not finite means that there is none.
    text : str
        The value as it is written at the end of the row.
    low, high : float
        Ends of its interval; not finite means that it has none.
    genus : bool
        Whether the label is a genus's name, which is written in italics.
    """

    label: str
    value: float
    text: str
    low: float = float("nan")
    high: float = float("nan")
    genus: bool = False


def plot_bars(
    bars: Sequence[Bar], width: int = NARROW, *, what: str, full: float | None = None
) -> str:
    """Plot one bar a row on an axis that begins at 0, or below where a bar does.

    Parameters
    ----------
    bars : sequence of Bar
        From top to bottom; those after the 30th are counted, not drawn.
    width : int
        ``NARROW`` for a phone or ``WIDE``.
    what : str
        What is plotted and its unit, the head of the plot.
    full : float or None
        What the axis reaches at least, such as 100 where shares are in percent.

    Returns
    -------
    str
        One ``<svg>``.
    """
    shown = [bar for bar in bars if known(bar.value) is not None]
    rest = len(shown) - MOST_BARS
    shown = shown[:MOST_BARS]
    if not shown:
        return empty_plot(what, width)
    sheet = Sheet(width)
    top = sheet.heading(what) + 6
    left = EDGE + min(max(wide(clean(bar.label)) for bar in shown), 0.42 * width) + 10
    right = width - EDGE - max(wide(clean(bar.text)) for bar in shown) - 10
    ends = [end for bar in shown for end in (bar.value, *_ends(bar))]
    axis = lay_axis([0.0, *ends, *([] if full is None else [full])], left, right)
    bottom = top + _HIGH * len(shown)
    for tick, (x, text) in zip(axis.ticks, axis.places(), strict=True):
        sheet.line((x, top), (x, bottom), "grid" if tick else "zero")
        sheet.text((x, bottom + LINE), text, "middle", "soft")
    for k, bar in enumerate(shown):
        _draw_bar(sheet, axis, bar, (left, top + k * _HIGH))
    bottom += LINE + 6
    told = [what, *(f"{bar.label} {bar.text}" for bar in shown)]
    if rest > 0:
        bottom += LINE
        told.append(f"{rest} more not drawn.")
        sheet.text((EDGE, bottom - 4), told[-1], kind="soft")
    return sheet.close(bottom, told)


def _ends(bar: Bar) -> tuple[float, ...]:
    """Return a bar's interval in order, or nothing where it has none."""
    low, high = known(bar.low), known(bar.high)
    return () if low is None or high is None else (min(low, high), max(low, high))


def _draw_bar(sheet: Sheet, axis: Axis, bar: Bar, place: tuple[float, float]) -> None:
    """Draw a row's label, bar, interval and text from the axis's left end and the row's top."""
    left, top = place
    middle = top + _HIGH / 2
    kind = "genus" if bar.genus else ""
    sheet.text((EDGE, middle + 4.5), shorten(bar.label, left - EDGE - 8), kind=kind)
    start, end = sorted((axis.at(0.0), axis.at(bar.value)))
    sheet.box(start, middle - _THICK / 2, (end - start, _THICK), "block")
    ends = _ends(bar)
    if ends:
        at = [axis.at(one) for one in ends]
        sheet.line((at[0], middle), (at[1], middle), "thin")
        for x in at:
            sheet.line((x, middle - 4), (x, middle + 4), "thin")
    sheet.text((sheet.width - EDGE, middle + 4.5), bar.text, "end")
