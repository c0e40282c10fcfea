"""Genera expected in samples of other sizes: rarefied below the sample, extrapolated above."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from corallum.draw.plots.axes import Axis, known, lay_axis, rise_axis
from corallum.draw.plots.sheet import EDGE, NARROW, Sheet, empty_plot
from corallum.draw.plots.spans import Span, ends, say, sound
from corallum.draw.plots.text import LINE, clean, number, wide
from corallum.errors import Fault, InputError

__all__ = ["Sampled", "plot_curve"]


@dataclass(frozen=True, slots=True)
class Sampled:
    """What a curve counts: units of the sample, and kinds found in them."""

    units: str = "colonies"
    kinds: str = "genera"


@dataclass(frozen=True, slots=True)
class _Point:
    """A size and what is expected in a sample of it."""

    size: float
    span: Span


def plot_curve(  # noqa: PLR0913 - the four columns of a table, the point and the look
    sizes: Sequence[float],
    richness: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
    observed_at: float,
    width: int = NARROW,
    *,
    words: Sampled = Sampled(),
) -> str:
    """Plot richness against size of sample: full to the sample itself, dashed beyond it.

    Parameters
    ----------
    sizes : sequence of float
        Sizes of samples, (n,), 0 or more.
    richness, low, high : sequence of float
        Expected at each size, (n,), with the ends of its interval; the picture ends at 0.
    observed_at : float
        Size of the sample that was taken; NaN where none is to be marked.
    width : int
        ``NARROW`` for a phone or ``WIDE``.
    words : Sampled
        What is counted, and in what.

    Returns
    -------
    str
        One ``<svg>``.

    Raises
    ------
    InputError
        The columns are not equally long.
    """
    lengths = {len(column) for column in (sizes, richness, low, high)}
    if len(lengths) > 1:
        raise InputError(
            [
                Fault(
                    "plot of a curve", "", "equal columns", f"{sorted(lengths)}", "Give one a size."
                )
            ]
        )
    title = f"{clean(words.kinds).capitalize()} expected, by {clean(words.units)} looked at"
    points = _points(sizes, zip(richness, low, high, strict=True))
    if not points:
        return empty_plot(title, width, "No sample yet.")
    sample = known(observed_at)
    if sample is not None and not points[0].size <= sample <= points[-1].size:
        sample = None
    sheet = Sheet(width)
    top = _draw_head(sheet, title, points, (sample, words)) + 10
    bottom = top + (210 if sheet.slim else 280)
    rise = rise_axis([0.0, *(max(0.0, v) for v in _values(points))], bottom, top)
    left = EDGE + max(wide(text) for text in rise.texts) + 8
    run = lay_axis([0.0, *(p.size for p in points)], left - 4, width - EDGE, 7)
    _draw_ground(sheet, run, rise)
    _draw_curve(sheet, points, (run, rise), sample)
    sheet.text((width - EDGE, bottom + 2 * LINE + 2), clean(words.units), "end", "soft")
    return sheet.close(bottom + 2 * LINE + 8, _told(title, points, sample, words))


def _points(sizes: Sequence[float], rows: zip[tuple[float, float, float]]) -> list[_Point]:
    """Return the points that can be drawn, by size."""
    points = []
    for size, row in zip(sizes, rows, strict=True):
        span, at = sound(Span(*row)), known(size)
        if span is not None and at is not None and at >= 0:
            points.append(_Point(at, span))
    return sorted(points, key=lambda p: p.size)


def _values(points: Sequence[_Point]) -> list[float]:
    """Return all heights that the axis must hold."""
    return [v for p in points for v in (p.span.value, *(ends(p.span) or ()))]


def _at(points: Sequence[_Point], size: float) -> float:
    """Return the curve's height at a size that it holds, straight from point to point."""
    for a, b in pairwise(points):
        if a.size <= size <= b.size and a.size < b.size:
            share = (size - a.size) / (b.size - a.size)
            return a.span.value + share * (b.span.value - a.span.value)
    return points[0].span.value


def _draw_head(
    sheet: Sheet, title: str, points: Sequence[_Point], told: tuple[float | None, Sampled]
) -> float:
    """Write the title and the key; return where they end."""
    sample, words = told
    top = sheet.heading(title)
    items = []
    if sample is not None:
        items.append(("/full", _found(points, sample, words)))
    if sample is None or points[-1].size > sample:
        items.append(
            ("curve dash1", "extrapolated") if sample is not None else ("curve", "expected")
        )
    if any(ends(p.span) for p in points):
        items.append(("band", "interval"))
    return sheet.key(items, top)


def _draw_ground(sheet: Sheet, run: Axis, rise: Axis) -> None:
    """Draw both axes."""
    sheet.rungs(rise, run.start, run.end)
    for x, text in run.places():
        sheet.line((x, rise.start), (x, rise.start + 4), "axis")
        sheet.text((x, rise.start + LINE + 2), text, "middle", "soft")
    sheet.line((run.start, rise.start), (run.end, rise.start), "axis")


def _draw_curve(
    sheet: Sheet, points: Sequence[_Point], axes: tuple[Axis, Axis], sample: float | None
) -> None:
    """Draw the band, the curve in its two parts, and the sample itself."""
    run, rise = axes
    held = [(p.size, ends(p.span)) for p in points]
    under = [(run.at(x), rise.at(e[0])) for x, e in held if e]
    over = [(run.at(x), rise.at(e[1])) for x, e in held if e]
    if len(under) > 1:
        sheet.path(under + over[::-1], "band", closed=True)
    line = [(run.at(p.size), rise.at(p.span.value)) for p in points]
    if sample is None:
        sheet.path(line, "curve")
        if len(line) == 1:
            sheet.shape(line[0], 5.5, "open")
        return
    here = (run.at(sample), rise.at(_at(points, sample)))
    before = [at for p, at in zip(points, line, strict=True) if p.size < sample]
    after = [at for p, at in zip(points, line, strict=True) if p.size > sample]
    if before:
        sheet.path([*before, here], "curve")
    if after:
        sheet.path([here, *after], "curve dash1")
    sheet.shape(here, 6.0, "full")


def _found(points: Sequence[_Point], sample: float, words: Sampled) -> str:
    """Say what the sample itself held."""
    kinds = number(_at(points, sample))
    return f"this sample: {number(sample)} {words.units}, {kinds} {words.kinds}"


def _told(title: str, points: Sequence[_Point], sample: float | None, words: Sampled) -> list[str]:
    """Return what the plot tells: the sample, the first and the last point."""
    told = [title]
    if sample is not None:
        told.append(_found(points, sample, words))
    ends_of = (points[0], points[-1])
    return told + [f"{say(p.span)} in {number(p.size)} {words.units}" for p in ends_of]
