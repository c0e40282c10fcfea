"""Plots of a survey's results: numbers and texts in, one SVG text out.

Every plot comes in two layouts, ``NARROW`` for a phone and ``WIDE``. Its colours and fonts
are the page's; ``standalone`` gives it its own, to print or to keep.
"""

from __future__ import annotations

from corallum.draw.plots.bars import Bar, plot_bars
from corallum.draw.plots.change import plot_before_after, plot_changes
from corallum.draw.plots.curve import Sampled, plot_curve
from corallum.draw.plots.effort import Chosen, EffortLine, Efforts, plot_effort
from corallum.draw.plots.pairs import plot_pairs
from corallum.draw.plots.parts import Part, plot_parts
from corallum.draw.plots.sheet import NARROW, WIDE, spoken, standalone
from corallum.draw.plots.singles import plot_singles
from corallum.draw.plots.sites import Site, plot_sites
from corallum.draw.plots.sizes import plot_sizes
from corallum.draw.plots.spans import BeforeAfter, Row, Single, Span

__all__ = [
    "NARROW",
    "WIDE",
    "Bar",
    "BeforeAfter",
    "Chosen",
    "EffortLine",
    "Efforts",
    "Part",
    "Row",
    "Sampled",
    "Single",
    "Site",
    "Span",
    "plot_bars",
    "plot_before_after",
    "plot_changes",
    "plot_curve",
    "plot_effort",
    "plot_pairs",
    "plot_parts",
    "plot_singles",
    "plot_sites",
    "plot_sizes",
    "spoken",
    "standalone",
]
