"""Two estimates a row on one axis, each with its interval: the body of four plots.

The first of a row is drawn open with a thin line, the second filled with a thick one just
below it, so that the two are told apart without colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from corallum.draw.plots.axes import Axis, lay_axis
from corallum.draw.plots.sheet import EDGE, Sheet, empty_plot
from corallum.draw.plots.spans import Span, ends, say
from corallum.draw.plots.text import LINE, clean, shorten, wide

__all__ = ["MOST_ROWS", "Look", "Pair", "draw_intervals"]

MOST_ROWS = 30  # more would be a table, not a picture
_MANY = 8  # from here on the axis is written above the rows as well
_HIGH = 34.0  # a row's height


@dataclass(frozen=True, slots=True)
class Pair:
    """A row as it is drawn: sound spans only."""

    label: str
    genus: bool
    first: Span | None
    second: Span | None


@dataclass(frozen=True, slots=True)
class Look:
    """What a plot of intervals is called and how its marks look; no ``first`` is one a row."""

    title: str
    first: str
    second: str
    shape: str = "circle"
    change: bool = False


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where the rows stand: the labels' room, whether they are above, the axis."""

    left: float
    right: float
    above: bool
    axis: Axis

    @property
    def high(self) -> float:
        return _HIGH + (LINE if self.above else 0.0)


def draw_intervals(pairs: Sequence[Pair], look: Look, width: int) -> str:
    """Draw rows of two estimates each on one axis with a line at 0."""
    shown = list(pairs[:MOST_ROWS])
    if not any(pair.first or pair.second for pair in shown):
        return empty_plot(look.title, width, "No estimates yet.")
    sheet = Sheet(width)
    top = sheet.heading(look.title)
    if look.first:
        items = [(f"thin/open {look.shape}", look.first), (f"thick/full {look.shape}", look.second)]
        top = sheet.key(items, top)
    frame = _lay(shown, width)
    many = len(shown) > _MANY
    top += LINE + 2 if many or look.change else 6
    bottom = top + frame.high * len(shown)
    _draw_axis(sheet, frame, (top, bottom), len(shown))
    if look.change and not many:
        _draw_ways(sheet, frame, top - 6)
    for k, pair in enumerate(shown):
        _draw_row(sheet, frame, pair, (top + k * frame.high, look))
    bottom += LINE + 4
    if look.change and many:
        bottom += LINE
        _draw_ways(sheet, frame, bottom - 6)
    if len(pairs) > MOST_ROWS:
        bottom += LINE
        sheet.text((EDGE, bottom - 4), _rest(pairs), kind="soft")
    return sheet.close(bottom, _told(pairs, look))


def _lay(pairs: Sequence[Pair], width: int) -> _Frame:
    """Find room for labels beside the rows or, where they are too wide for that, above."""
    most = 0.37 * width
    widest = max(wide(clean(pair.label)) for pair in pairs)
    above = widest > most and width < 500
    left = EDGE if above else EDGE + min(widest, most) + 10
    values = [0.0]
    for span in (s for pair in pairs for s in (pair.first, pair.second) if s):
        values += [span.value, *(ends(span) or ())]
    # A mark at the end of the axis reaches past it.
    return _Frame(left, width - EDGE, above, lay_axis(values, left + 4, width - EDGE - 4))


def _draw_axis(sheet: Sheet, frame: _Frame, span: tuple[float, float], rows: int) -> None:
    """Draw the ticks' lines and texts, below the rows and for many rows above them too."""
    top, bottom = span
    # Where labels stand above their rows, no line runs through them.
    breaks = range(rows) if frame.above else range(1)
    high = frame.high if frame.above else bottom - top
    skip = LINE + 2 if frame.above else 0.0
    for tick, (x, text) in zip(frame.axis.ticks, frame.axis.places(), strict=True):
        kind = "grid" if tick else "zero"
        for k in breaks:
            sheet.line((x, top + k * high + skip), (x, top + (k + 1) * high), kind)
        sheet.text((x, bottom + LINE), text, "middle", "soft")
        if rows > _MANY:
            sheet.text((x, top - 6), text, "middle", "soft")


def _draw_ways(sheet: Sheet, frame: _Frame, y: float) -> None:
    """Say to either side of 0 which way a change goes, where there is room."""
    zero = frame.axis.at(0.0)
    if zero - frame.left >= wide("← less") + 8:
        sheet.text((zero - 8, y), "← less", "end", "soft")
    if frame.right - zero >= wide("more →") + 8:
        sheet.text((zero + 8, y), "more →", "start", "soft")


def _draw_row(sheet: Sheet, frame: _Frame, pair: Pair, placed: tuple[float, Look]) -> None:
    """Draw a row's label, its intervals and their estimates, from a height."""
    top, look = placed
    apart = 6.5 if look.first else 0.0
    kind = "genus" if pair.genus else ""
    middle = top + frame.high - _HIGH / 2
    sheet.line((EDGE, top), (frame.right, top), "grid")
    if frame.above:
        sheet.text((EDGE, top + LINE - 2), shorten(pair.label, frame.right - EDGE), kind=kind)
    else:
        sheet.text((EDGE, middle + 4.5), shorten(pair.label, frame.left - EDGE - 10), kind=kind)
    if not pair.first and not pair.second:
        x = (frame.axis.start + frame.axis.end) / 2
        sheet.text((x, middle + 4.5), "no estimate", "middle", "soft")
    for span, y, line, mark in (
        (pair.first, middle - apart, "thin", "open"),
        (pair.second, middle + apart, "thick", "full"),
    ):
        if span:
            _draw_span(sheet, frame.axis, (span, y), f"{line}/{mark} {look.shape}")


def _draw_span(sheet: Sheet, axis: Axis, placed: tuple[Span, float], look: str) -> None:
    """Draw an interval and its estimate at a height."""
    span, y = placed
    line, _, mark = look.partition("/")
    reach = ends(span)
    if reach:
        sheet.line((axis.at(reach[0]), y), (axis.at(reach[1]), y), line)
    sheet.shape((axis.at(span.value), y), 5.0, mark)


def _rest(pairs: Sequence[Pair]) -> str:
    """Say how many rows are not drawn."""
    return f"{len(pairs) - MOST_ROWS} more not drawn."


def _told(pairs: Sequence[Pair], look: Look) -> list[str]:
    """Return what the plot tells, row by row."""
    told = [look.title]
    for pair in pairs[:MOST_ROWS]:
        first, second = (say(s, sign=look.change) for s in (pair.first, pair.second))
        both = f"{look.first} {first}, {look.second} {second}"
        told.append(f"{pair.label}: {both if look.first else second}")
    return told + ([_rest(pairs)] if len(pairs) > MOST_ROWS else [])
