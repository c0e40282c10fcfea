"""One estimate a row with its interval, such as how often each genus is named right."""

from __future__ import annotations

from collections.abc import Sequence

from corallum.draw.plots.intervals import Look, Pair, draw_intervals
from corallum.draw.plots.sheet import NARROW
from corallum.draw.plots.spans import Single, sound

__all__ = ["plot_singles"]


def plot_singles(
    rows: Sequence[Single], unit: str, width: int = NARROW, *, what: str = "Estimates"
) -> str:
    """Plot one estimate a row with its interval.

    Parameters
    ----------
    rows : sequence of Single
        At most 30 are drawn.
    unit : str
        Of all values, such as "% of colonies".
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
    pairs = [Pair(row.label, row.genus, None, sound(row.span)) for row in rows]
    return draw_intervals(pairs, Look(title, "", "estimate"), width)
