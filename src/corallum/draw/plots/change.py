"""What changed between two surveys: differences around 0, or the two surveys themselves."""

from __future__ import annotations

from collections.abc import Sequence

from corallum.draw.plots.intervals import Look, Pair, draw_intervals
from corallum.draw.plots.sheet import NARROW
from corallum.draw.plots.spans import BeforeAfter, Row, sound

__all__ = ["plot_before_after", "plot_changes"]


def plot_changes(
    rows: Sequence[Row], unit: str, width: int = NARROW, *, what: str = "Change"
) -> str:
    """Plot differences with their intervals around a line at 0.

    An interval that holds 0 leaves open whether there was any change.

    Parameters
    ----------
    rows : sequence of Row
        Later less earlier, uncorrected and corrected; at most 30 are drawn.
    unit : str
        Of all values, such as "percentage points of cover".
    width : int
        ``NARROW`` for a phone or ``WIDE``.
    what : str
        What is estimated, the head of the plot.

    Returns
    -------
    str
        One ``<svg>``.
    """
    title = f"{what}, {unit}" if unit else what
    pairs = [Pair(r.label, r.genus, sound(r.uncorrected), sound(r.corrected)) for r in rows]
    return draw_intervals(pairs, Look(title, "uncorrected", "corrected", change=True), width)


def plot_before_after(
    rows: Sequence[BeforeAfter],
    unit: str,
    width: int = NARROW,
    *,
    what: str = "Estimates",
    names: tuple[str, str] = ("before", "after"),
) -> str:
    """Plot the estimates of two surveys on one axis, before as open and after as filled squares.

    Two intervals that overlap may still differ: ``plot_changes`` shows the difference itself.

    Parameters
    ----------
    rows : sequence of BeforeAfter
        At most 30 are drawn.
    unit : str
        Of all values, such as "% cover".
    width : int
        ``NARROW`` for a phone or ``WIDE``.
    what : str
        What is estimated, the head of the plot.
    names : tuple of str
        What the two surveys are called, such as their years.

    Returns
    -------
    str
        One ``<svg>``.
    """
    title = f"{what}, {unit}" if unit else what
    pairs = [Pair(r.label, r.genus, sound(r.before), sound(r.after)) for r in rows]
    return draw_intervals(pairs, Look(title, *names, shape="square"), width)
