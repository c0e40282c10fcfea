"""Figures of a survey as the rows of its plots, and how groups and units are said.

Shared by all shells, so that a plot shows the same wherever it is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from corallum.actions.survey_changes import ChangeRow
from corallum.actions.survey_estimates import Span, SurveyRow
from corallum.draw import plots
from corallum.estimate.survey_table import ALL_CORAL

__all__ = [
    "change_rows",
    "estimate_rows",
    "group_label",
    "has_upper_end",
    "points_word",
    "unit_words",
]

_UNNAMED = "stony coral"
# An interval that ends this many times above its figure says nothing of its upper side.
_NO_END = 50.0
_FULL_COVER = 100.0


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
    high = min(span.high, _FULL_COVER) if unit == "%" and not change else span.high
    return plots.Span(span.value, span.low, high)


def has_upper_end(span: Span, unit: str) -> bool:
    """Whether the upper end of an interval says anything."""
    if not math.isfinite(span.high):
        return False
    if unit == "%" and span.high >= _FULL_COVER and span.value < _FULL_COVER / 2:
        return False
    return span.value <= 0 or span.high <= _NO_END * span.value


def unit_words(unit: str) -> str:
    """Say a unit in a heading."""
    return "% of the bottom" if unit == "%" else "colonies per m²"


def points_word(unit: str) -> str:
    """Say the unit of a change."""
    return "percentage points" if unit == "%" else "colonies per m²"


def group_label(group: str) -> str:
    """Say a group in a table."""
    if group == ALL_CORAL:
        return "All stony coral"
    return "stony coral, no genus said" if group == _UNNAMED else group.replace("_", " ")
