"""What more work buys: how far off an estimate may be, by how much is surveyed.

Each line is one way of working, named at its end and told apart by its dashes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from corallum.draw.plots.axes import Axis, known, lay_axis, rise_axis
from corallum.draw.plots.labels import spread
from corallum.draw.plots.sheet import EDGE, NARROW, Sheet, empty_plot
from corallum.draw.plots.text import LINE, clean, number, shorten, wide, wrap

__all__ = ["Chosen", "EffortLine", "Efforts", "plot_effort"]

_MOST = 6
_NEXT = 15.0  # between the two lines of a name


@dataclass(frozen=True, slots=True)
class EffortLine:
    """A way of working.

    Parameters
    ----------
    label : str
        Such as "50 points a frame".
    effort : tuple of float
        Amounts of work, (n,), above 0.
    half_width : tuple of float
        Of the interval, or the standard error, at each, (n,), 0 or more. What is
        not finite or below leaves its point out.
    """

    label: str
    effort: tuple[float, ...]
    half_width: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Chosen:
    """The plan that was chosen: its work and how far off it may be."""

    effort: float
    half_width: float


@dataclass(frozen=True, slots=True)
class Efforts:
    """What the axes count and in what unit."""

    effort: str = "transects"
    half_width: str = "half width of the interval"
    unit: str = ""


@dataclass(frozen=True, slots=True)
class _Line:
    """A line as it is drawn: points in order of the work."""

    label: str
    points: list[tuple[float, float]]


def plot_effort(
    lines: Sequence[EffortLine],
    wanted: float | None = None,
    chosen: Chosen | None = None,
    width: int = NARROW,
    *,
    words: Efforts = Efforts(),
) -> str:
    """Plot how far off estimates may be against work, a line for each way of working.

    Parameters
    ----------
    lines : sequence of EffortLine
        At most 6 are drawn; more can't be told apart.
    wanted : float or None
        The half width to be reached, a line across.
    chosen : Chosen or None
        The plan chosen, marked.
    width : int
        ``NARROW`` for a phone or ``WIDE``.
    words : Efforts
        What the axes count.

    Returns
    -------
    str
        One ``<svg>``.
    """
    unit = f", {clean(words.unit)}" if words.unit else ""
    title = f"{clean(words.half_width).capitalize()}{unit}, by {clean(words.effort)}"
    drawn = [line for line in map(_line, lines[:_MOST]) if line.points]
    if not drawn:
        return empty_plot(title, width, "No plans to compare yet.")
    goal = wanted if wanted is not None and _sound(wanted) else None
    plan = None
    if chosen and (known(chosen.effort) or 0) > 0 and _sound(chosen.half_width):
        plan = (chosen.effort, chosen.half_width)
    sheet = Sheet(width)
    top = sheet.heading(title)
    if plan:
        text = f"chosen: {number(plan[0])} {words.effort}, ±{number(plan[1])} {words.unit}"
        top = sheet.key([("/full diamond", text)], top)
    axes = _axes(drawn, (goal, plan), (top + 14, sheet))
    _draw(sheet, drawn, axes, goal)
    if plan:
        sheet.shape((axes[0].at(plan[0]), axes[1].at(plan[1])), 6.5, "full diamond")
    bottom = axes[1].start + 2 * LINE + 2
    sheet.text((axes[0].end, bottom), shorten(words.effort, 150), "end", "soft")
    if len(lines) > _MOST:
        bottom += LINE
        sheet.text((EDGE, bottom), f"{len(lines) - _MOST} more not drawn.", kind="soft")
    return sheet.close(bottom + 6, _told(title, drawn, (goal, plan), words))


def _line(line: EffortLine) -> _Line:
    """Return a line's points that can be drawn, by work."""
    pairs = zip(line.effort, line.half_width, strict=False)
    good = [(x, y) for x, y in pairs if (known(x) or 0) > 0 and _sound(y)]
    return _Line(line.label, sorted(good))


def _sound(half_width: float) -> bool:
    """Return whether a half width can be drawn."""
    return known(half_width) is not None and half_width >= 0


def _axes(
    lines: Sequence[_Line],
    extras: tuple[float | None, tuple[float, float] | None],
    place: tuple[float, Sheet],
) -> tuple[Axis, Axis]:
    """Lay both axes beside the room that the lines' names need."""
    goal, plan = extras
    top, sheet = place
    xs = [x for line in lines for x, _ in line.points] + ([plan[0]] if plan else [])
    ys = [y for line in lines for _, y in line.points] + ([plan[1]] if plan else [])
    rise = rise_axis(
        [0.0, *ys, *([goal] if goal is not None else [])], *_height(sheet, top, len(lines))
    )
    left = EDGE + max(wide(text) for text in rise.texts) + 8
    names = max(wide(name) for name in (*(clean(line.label) for line in lines), _goal(goal)))
    room = min(names, 0.38 * sheet.width)
    run = lay_axis(xs, left - 4, sheet.width - EDGE - room - 22, 7)
    return run, rise


def _height(sheet: Sheet, top: float, lines: int) -> tuple[float, float]:
    """Return where an upright axis begins and ends; all names have room beside it."""
    names = (lines + 1) * (2 * _NEXT + 4)
    return top + max(210.0 if sheet.slim else 280.0, names), top


def _goal(goal: float | None) -> str:
    """Say what is to be reached."""
    return "" if goal is None else f"wanted: {number(goal)}"


def _draw(
    sheet: Sheet, lines: Sequence[_Line], axes: tuple[Axis, Axis], goal: float | None
) -> None:
    """Draw the ground, the lines, the line across, and the names at their ends."""
    run, rise = axes
    sheet.rungs(rise, run.start, run.end)
    for x, text in run.places():
        sheet.line((x, rise.start), (x, rise.start + 4), "axis")
        sheet.text((x, rise.start + LINE + 2), text, "middle", "soft")
    sheet.line((run.start, rise.start), (run.end, rise.start), "axis")
    named = []
    for k, line in enumerate(lines):
        points = [(run.at(x), rise.at(y)) for x, y in line.points]
        sheet.path(points, f"curve dash{k}")
        if len(points) == 1:
            sheet.shape(points[0], 4.5, "open")
        named.append((points[-1], line.label))
    if goal is not None:
        y = rise.at(goal)
        sheet.line((run.start, y), (run.end, y), "wanted")
        named.append(((run.end, y), _goal(goal)))
    x = run.end + 20
    written = [wrap(label, sheet.width - EDGE - x, 2) for _, label in named]
    sizes = [_NEXT * len(lines) + 4 for lines in written]
    rows = spread([at[1] for at, _ in named], sizes, rise.end, rise.start)
    for (at, _), lines_of, row in zip(named, written, rows, strict=True):
        sheet.path([(at[0] + 3, at[1]), (x - 4, row)], "lead")
        for k, text in enumerate(lines_of):
            sheet.text((x, row + 4.5 + _NEXT * (k - (len(lines_of) - 1) / 2)), text)


def _told(
    title: str,
    lines: Sequence[_Line],
    extras: tuple[float | None, tuple[float, float] | None],
    words: Efforts,
) -> list[str]:
    """Return what the plot tells: each line's ends, what is wanted and what was chosen."""
    goal, plan = extras
    told = [title]
    for line in lines:
        (x0, y0), (x1, y1) = line.points[0], line.points[-1]
        told.append(
            f"{line.label}: {number(y0)} at {number(x0)}, {number(y1)} at {number(x1)} "
            f"{words.effort}"
        )
    told.append(_goal(goal))
    if plan:
        told.append(f"chosen: {number(plan[1])} at {number(plan[0])} {words.effort}")
    return told
