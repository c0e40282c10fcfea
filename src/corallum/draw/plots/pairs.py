"""Estimates a genus as the observers said them beside those with their errors corrected.

It shows at a glance for which genera naming matters: where the filled mark stands away from
the open one. It does not test anything; overlapping intervals are no proof of no difference.
"""

from __future__ import annotations

from collections.abc import Sequence

from corallum.draw.plots.intervals import Look, Pair, draw_intervals
from corallum.draw.plots.sheet import NARROW
from corallum.draw.plots.spans import Row, sound

__all__ = ["plot_pairs"]


def plot_pairs(
    rows: Sequence[Row], unit: str, width: int = NARROW, *, what: str = "Estimates"
) -> str:
    """Plot each genus's two intervals, side by side on one axis.

    Parameters
    ----------
    rows : sequence of Row
        As they are to be read downwards; those after the 30th are counted, not drawn.
    unit : str
        Of all values, such as "% cover".
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
    return draw_intervals(pairs, Look(title, "uncorrected", "corrected"), width)
