"""Results of a survey as the rows of its plots, each drawn for a phone and for a laptop."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import NamedTuple

from corallum.actions.result_words import group_label, has_upper_end, points_word, unit_words
from corallum.actions.survey_changes import ChangeRow
from corallum.actions.survey_details import SurveySizes
from corallum.actions.survey_diversity import SurveyDiversity
from corallum.actions.survey_effort import EffortAnswer
from corallum.actions.survey_estimates import Span, SurveyRow
from corallum.draw import plots
from corallum.records.programme import Site

__all__ = [
    "KINDS", "Layouts", "change_rows", "draw_change", "draw_curve", "draw_effort", "draw_pairs",
    "draw_parts", "draw_sites", "draw_sizes", "estimate_rows",
]  # fmt: skip

_NONE = float("nan")
# What is counted, by what the figures are of.
KINDS = {"genus": "genera", "family": "families", "form": "growth forms"}


class Layouts(NamedTuple):
    """One plot as two SVG texts; the page shows the one that fits."""

    narrow: str
    wide: str


def _both(draw: Callable[[int], str]) -> Layouts:
    """Draw a plot in both layouts."""
    return Layouts(draw(plots.NARROW), draw(plots.WIDE))


def estimate_rows(rows: Sequence[SurveyRow], unit: str, genera: Collection[str]) -> list[plots.Row]:
    """Return each group as it was said beside its corrected figure."""
    return [
        plots.Row(
            group_label(row.group), _span(row.said, unit),
            _span(row.by_readings or row.by_errors, unit), row.group in genera,
        )
        for row in rows
    ]  # fmt: skip


def change_rows(rows: Sequence[ChangeRow], unit: str, genera: Collection[str]) -> list[plots.Row]:
    """Return each group's change as it was said beside the corrected one."""
    return [
        plots.Row(
            group_label(row.group), _span(row.said, unit, change=True),
            _span(row.by_readings or row.by_errors, unit, change=True), row.group in genera,
        )
        for row in rows
    ]  # fmt: skip


def _span(span: Span | None, unit: str, *, change: bool = False) -> plots.Span | None:
    """Return a span to draw; one without an upper end is drawn without an interval.

    A bar to the edge of the sheet would stretch the axis until nothing else can be read.
    """
    if span is None:
        return None
    if not change and not has_upper_end(span, unit):
        return plots.Span(span.value)
    high = min(span.high, 100.0) if unit == "%" and not change else span.high
    return plots.Span(span.value, span.low, high)


def draw_pairs(rows: Sequence[SurveyRow], unit: str, genera: Collection[str]) -> Layouts:
    """Draw each group as it was said beside its corrected figure."""
    drawn = estimate_rows(rows, unit, genera)
    what = "Cover" if unit == "%" else "Density"
    return _both(lambda width: plots.plot_pairs(drawn, unit_words(unit), width, what=what))


def draw_change(rows: Sequence[ChangeRow], unit: str, genera: Collection[str]) -> Layouts:
    """Draw each group's change as it was said beside the corrected one."""
    drawn = change_rows(rows, unit, genera)
    what = "Change in cover" if unit == "%" else "Change in density"
    return _both(lambda width: plots.plot_changes(drawn, points_word(unit), width, what=what))


def draw_sites(
    sites: Sequence[Site],
    values: Mapping[str, float],
    strata: Mapping[str, str],
    unit: str,
    url: Callable[[str], str],
) -> Layouts:
    """Draw a map of sites, the mark of each as large as what was found there."""
    drawn = [
        plots.Site(
            one.name, one.latitude, one.longitude, values.get(one.id), strata.get(one.id, ""),
            url(one.id) if one.id in values else None,
        )
        for one in sites
    ]  # fmt: skip
    sign = "%" if unit == "%" else "per m²"
    return _both(
        lambda width: plots.plot_sites(drawn, width, unit=sign, what="Stony coral by site")
    )


def draw_curve(found: SurveyDiversity) -> Layouts:
    """Draw the genera expected in samples of other sizes."""
    curve = found.curve
    words = plots.Sampled("transects" if found.curve_of_transects else "records", KINDS[found.by])
    size, richness = curve.size.tolist(), curve.richness.tolist()
    none = [_NONE] * len(size)
    return _both(
        lambda width: plots.plot_curve(
            size, richness, none, none, float(found.observed[0]), width, words=words
        )
    )


def draw_sizes(found: SurveySizes) -> Layouts:
    """Draw the classes of size: by area where it is known, else as shares of the colonies."""
    classes = found.structure.classes
    shown, scale, unit = classes.density, 1.0, "colonies per m²"
    if shown is None:
        shown, scale, unit = classes.share, 100.0, "% of the colonies"
    most = math.inf if classes.density is not None else 100.0
    value, low, high = ((scale * part).tolist() for part in (shown.value, shown.low, shown.high))
    low = [max(end, 0.0) for end in low]
    high = [min(end, most) for end in high]
    edges = classes.edges_cm.tolist()
    return _both(lambda width: plots.plot_sizes(edges, value, low, high, width, unit=unit))


def draw_effort(answer: EffortAnswer, wanted: float | None) -> Layouts:
    """Draw how far off the figure may be against transects, a line for each way of working."""
    lines = [plots.EffortLine(one.label, one.x, one.y) for one in answer.lines]
    chosen = None
    if answer.transects is not None and wanted is not None:
        chosen = plots.Chosen(float(math.ceil(answer.transects)), wanted)
    unit = "percentage points" if answer.unit == "%" else "colonies per m²"
    words = plots.Efforts("transects", "half width of the interval", unit)
    return _both(lambda width: plots.plot_effort(lines, wanted, chosen, width, words=words))


def draw_parts(answer: EffortAnswer) -> Layouts:
    """Draw where the variance of the next survey would come from."""
    parts = [
        plots.Part("between transects", answer.parts.transects),
        plots.Part("points", answer.parts.points),
        plots.Part("observers", answer.parts.observers),
        plots.Part("names", answer.parts.identification),
    ]
    drawn = [one for one in parts if one.variance > 0]
    what = "Where its doubt comes from"
    return _both(lambda width: plots.plot_parts(drawn, width, what=what))
