"""Figures of surveys as CSV for a spreadsheet, numbers in full."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

import numpy as np

from corallum.actions.survey_changes import ChangeRow, SurveyChange
from corallum.actions.survey_estimates import Span, SurveyEstimate

__all__ = ["change_csv", "estimate_csv"]


def estimate_csv(found: SurveyEstimate) -> str:
    """Write the figures of a survey as CSV, one group of one place a row."""
    header = ["level", "place", "group", "records", "transects", "unit"]
    for kind in ("said", "by_readings", "by_errors"):
        header += [kind, f"{kind}_low", f"{kind}_high", f"{kind}_se"]
    header += ["readings_share_of_variance", "errors_share_of_variance"]
    rows = [
        [row.level, row.name, row.group, row.lines, row.transects, found.data.unit,
         *_span(row.said), *_span(row.by_readings), *_span(row.by_errors),
         _number(row.readings_share), _number(row.errors_share)]
        for row in found.rows
    ]  # fmt: skip
    return _csv(header, rows)


def change_csv(found: SurveyChange) -> str:
    """Write change between two surveys as CSV, one group a row."""
    header = ["group", "unit", "before", "after"]
    for kind in ("said", "by_readings", "by_errors"):
        header += [f"{kind}_change", f"{kind}_low", f"{kind}_high", f"{kind}_se",
                   f"{kind}_chance_of_decline"]  # fmt: skip
    header += ["same_transects", "impact_less_control", "contrast_low", "contrast_high",
               "contrast_se"]  # fmt: skip
    rows = [
        [*_change_row(row, found.before.unit), "yes" if found.paired else "no",
         *_span(found.contrast.get(row.group))]
        for row in found.rows
    ]  # fmt: skip
    return _csv(header, rows)


def _change_row(row: ChangeRow, unit: str) -> list[object]:
    """One row of change."""
    return [
        row.group, unit, _number(row.before.value), _number(row.after.value),
        *_span(row.said), _number(row.said_decline), *_span(row.by_readings),
        _number(row.readings_decline), *_span(row.by_errors), _number(row.errors_decline),
    ]  # fmt: skip


def _span(span: Span | None) -> list[str]:
    """Figure, ends and standard error; blank where there is none."""
    if span is None:
        return [""] * 4
    return [_number(one) for one in (span.value, span.low, span.high, span.se)]


def _number(value: float | None) -> str:
    """Write a number in full, blank where there is none."""
    return "" if value is None or not np.isfinite(value) else f"{value:.10g}"


def _csv(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Write rows; a text that a spreadsheet would take for a formula is quoted against it."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([_plain(cell) for cell in row] for row in rows)
    return stream.getvalue()


def _plain(cell: object) -> object:
    """Return a cell that no spreadsheet runs."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t") and not _is_number(cell):
        return f"'{cell}"
    return cell


def _is_number(text: str) -> bool:
    """Whether a text is a number."""
    try:
        float(text)
    except ValueError:
        return False
    return True
