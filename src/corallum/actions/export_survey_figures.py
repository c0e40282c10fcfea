"""Figures of a survey as measurements of it: cover or density, and how often a name holds."""

from __future__ import annotations

import math
from collections.abc import Iterator

from corallum.actions.survey_estimates import (
    EstimateQuestion,
    Span,
    SurveyEstimate,
    estimate_survey,
)
from corallum.errors import InputError
from corallum.exchange.archive.text_table import cell
from corallum.exchange.survey_archive.shape import UNITS
from corallum.observers.intervals import wilson_interval
from corallum.store.programme import Programme

__all__ = ["figure_rows"]


def figure_rows(programme: Programme, survey: str) -> tuple[list[list[str]], tuple[str, ...]]:
    """Return figures as rows of measurements, and why there are none.

    Parameters
    ----------
    programme : Programme
        With the survey.
    survey : str
        Id of the event.
    """
    try:
        found = estimate_survey(programme, EstimateQuestion(survey, levels=("survey",)))
    except InputError as error:
        return [], (f"No figures were written: {error}",)
    return [*_estimates(survey, found), *_confirmed(survey, found)], found.notes


def _estimates(survey: str, found: SurveyEstimate) -> Iterator[list[str]]:
    """Yield cover or density of each group, as said and corrected."""
    what = "cover" if found.data.unit == "%" else "density"
    for row in found.of("survey"):
        for kind, words, span in (
            ("said", "as said", row.said),
            ("readings", "corrected by second readings", row.by_readings),
            ("errors", "corrected by the observers' errors", row.by_errors),
        ):
            if span is not None:
                yield [
                    survey, f"{survey}:{what}:{kind}:{row.group}", "", "",
                    f"{what} of {row.group}, {words}", *_figure(span, found.data.unit),
                ]  # fmt: skip


def _figure(span: Span, unit: str) -> list[str]:
    """Return value, unit, interval and method of a figure."""
    interval = ""
    if math.isfinite(span.low) and math.isfinite(span.high):
        interval = f"95 % interval {span.low:.6g} to {span.high:.6g}"
    return [
        cell(float(f"{span.value:.10g}")), unit, UNITS.get(unit, ""), interval,
        "design-based estimate, transects as units", "", "", "",
    ]  # fmt: skip


def _confirmed(survey: str, found: SurveyEstimate) -> Iterator[list[str]]:
    """Yield, of each genus, the share of its records that a blind second reading confirmed.

    It is the probability that a record of that name holds, as far as the second reader is right;
    with Wilson's interval, records taken as independent.
    """
    table = found.data.table
    read = table.readings.sum(axis=0)
    for k, name in enumerate(table.labels):
        n, same = int(read[k].sum()), int(read[k, k])
        if not (n and table.is_genus[k]):
            continue
        held = wilson_interval(same, n)
        yield [
            survey, f"{survey}:probability:{name}", "", "",
            f"identification probability of records named {name}", cell(round(same / n, 6)),
            "1", UNITS["1"], f"95 % interval {held.low:.4g} to {held.high:.4g}",
            f"share confirmed by a blind second reading, {n} records read", "", "", "",
        ]  # fmt: skip
