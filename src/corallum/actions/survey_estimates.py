"""What a survey says about the reef: said and corrected side by side, and what that means."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from corallum.actions.programme_reference import programme_library
from corallum.actions.survey_corrections import (
    ErrorsFound,
    errors_correction,
    readings_correction,
)
from corallum.actions.survey_tables import SurveyData, survey_data
from corallum.actions.unit_of_work import check_choice
from corallum.estimate.estimate import Estimate
from corallum.estimate.resampled_cover import Resampling
from corallum.estimate.survey_figures import (
    LEVELS,
    Correction,
    NoCorrection,
    PlaceFigures,
    Wanted,
    figures_of,
)
from corallum.estimate.survey_table import Grouping, SurveyTable, group_labels
from corallum.store.programme import Programme

__all__ = [
    "BY",
    "EstimateQuestion",
    "Span",
    "SurveyEstimate",
    "SurveyRow",
    "estimate_survey",
    "grouping_of",
    "part",
    "span_of",
]

BY = ("genus", "family", "form")
_FEW_READINGS = 10
_NAMES_ONLY = "Second readings and observers' errors are of names, not of growth forms."


@dataclass(frozen=True, slots=True)
class EstimateQuestion:
    """What to estimate of a survey.

    Parameters
    ----------
    survey : str
        Id of the event.
    by : str
        genus, family or form.
    errors : bool
        Whether to correct by the observers' errors too, which takes longer.
    levels : tuple of str
        Some of survey, stratum and site.
    level : float
        Coverage of intervals, 0 to 1.
    draws : int
        Resamples.
    seed : int
        Of all that is drawn: the same seed gives the same figures.
    """

    survey: str
    by: str = "genus"
    errors: bool = True
    levels: tuple[str, ...] = LEVELS
    level: float = 0.95
    draws: int = 1000
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Span:
    """A figure and its interval; NaN where there is none."""

    value: float
    low: float
    high: float
    se: float


@dataclass(frozen=True, slots=True)
class SurveyRow:
    """Figures of one group at one place.

    Parameters
    ----------
    level, place, name : str
        survey, stratum or site; its id or name; and what to call it.
    group : str
        Genus, family or form.
    lines, transects : int
        Records and transects behind it.
    said : Span
        Uncorrected.
    by_readings, by_errors : Span or None
        Corrected by second readings, and by the observers' errors too.
    readings_share, errors_share : float or None
        Share of the corrected figure's variance that names cause.
    """

    level: str
    place: str
    name: str
    group: str
    lines: int
    transects: int
    said: Span
    by_readings: Span | None
    by_errors: Span | None
    readings_share: float | None
    errors_share: float | None

    @property
    def best(self) -> Span:
        """The corrected figure where there is one, else what was said."""
        return self.by_readings or self.by_errors or self.said


@dataclass(frozen=True, slots=True, eq=False)
class SurveyEstimate:
    """Figures of a survey.

    Parameters
    ----------
    data : SurveyData
        What they rest on.
    question : EstimateQuestion
        What was asked.
    rows : tuple of SurveyRow
        By place, then group; groups that were never met are left out.
    reasons : mapping of str to str
        Why there is no correction by "readings" or by "errors".
    notes : tuple of str
        What to know when reading them.
    """

    data: SurveyData
    question: EstimateQuestion
    rows: tuple[SurveyRow, ...]
    reasons: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    def of(self, level: str, place: str | None = None) -> tuple[SurveyRow, ...]:
        """Return the rows of a level, or of one place of it."""
        return tuple(row for row in self.rows if row.level == level and place in (None, row.place))


Progress = Callable[[float], None]


def grouping_of(programme: Programme, table: SurveyTable, by: str) -> Grouping:
    """Return the groups that figures are given of."""
    check_choice(by, "by", BY)
    if by != "family":
        return group_labels(table.labels, table.is_coral, {})
    genera = programme_library(programme).reference.entries.genera
    families = {name: genus.family for name, genus in genera.items() if genus.family}
    return group_labels(table.labels, table.is_coral, families)


def estimate_survey(
    programme: Programme, question: EstimateQuestion, progress: Progress = lambda _: None
) -> SurveyEstimate:
    """Estimate a survey.

    Raises
    ------
    InputError
        Where there is nothing to estimate from.
    """
    data = survey_data(programme, question.survey, by_form=question.by == "form")
    table = data.table
    groups = grouping_of(programme, table, question.by)
    readings, errors = None, ErrorsFound(None, _NAMES_ONLY)
    why = _NAMES_ONLY
    if question.by != "form":
        readings, why = readings_correction(table, question.seed)
        errors = ErrorsFound(None, "Not asked for.")
        if question.errors:
            errors = errors_correction(programme, table, question.seed, part(progress, 0, 0.6))
    reasons = {"readings": why, "errors": errors.why}
    step = part(progress, 0.6, 0.9)
    first = _figures(data, groups, readings or NoCorrection(), question, step)
    second: list[PlaceFigures | None] = [None] * len(first)
    if errors.correction is not None:
        second = [*_figures(data, groups, errors.correction, question, part(progress, 0.9, 1))]
    rows = [
        row
        for one, other in zip(first, second, strict=True)
        for row in _rows(data, groups, one, other)
    ]
    progress(1.0)
    notes = (*data.notes, *errors.notes, *_few(table))
    given = {way: reason for way, reason in reasons.items() if reason}
    return SurveyEstimate(data, question, tuple(rows), given, notes)


def part(progress: Progress, start: float, end: float) -> Progress:
    """Return what is told the share done of one part of the work."""
    return lambda share: progress(start + (end - start) * share)


def _few(table: SurveyTable) -> tuple[str, ...]:
    """Name genera whose correction rests on few second readings."""
    read = table.readings.sum(axis=(0, 2))
    said = table.lines.sum(axis=0)
    few = [
        name
        for name, n, all_ in zip(table.labels, read, said, strict=True)
        if table.n_read_again and all_ > n and n < _FEW_READINGS and all_ > 0
    ]
    if not few:
        return ()
    names = ", ".join(few[:12]) + (f" and {len(few) - 12} more" if len(few) > 12 else "")
    return (f"Fewer than {_FEW_READINGS} second readings of {names}: their corrected intervals "
            "may be too short.",)  # fmt: skip


def _figures(
    data: SurveyData,
    groups: Grouping,
    correction: Correction,
    question: EstimateQuestion,
    progress: Progress,
) -> list[PlaceFigures]:
    """Estimate all places with one correction; each correction meets the same transects."""
    rng = np.random.default_rng([question.seed, 3])
    resampling = Resampling(question.draws, question.level)
    wanted = Wanted(question.levels, resampling, data.by_site)
    return figures_of(data.table, groups, correction, rng, wanted, progress)


def _rows(
    data: SurveyData, groups: Grouping, one: PlaceFigures, other: PlaceFigures | None
) -> list[SurveyRow]:
    """Turn the figures of one place into rows."""
    scale = 100.0 if data.table.is_cover else 1.0
    name = data.site_names.get(one.place, one.place)
    rows = []
    for f, group in enumerate(groups.names):
        said = span_of(one.uncorrected, f, scale)
        true = span_of(one.corrected, f, scale) if one.corrected else None
        errors = span_of(other.corrected, f, scale) if other and other.corrected else None
        if not any(span is not None and span.value > 0 for span in (said, true, errors)):
            continue
        rows.append(
            SurveyRow(
                one.level, one.place, name, group, int(one.lines[f]), one.transects, said, true,
                errors, _share(one, f), _share(other, f),
            )
        )  # fmt: skip
    return rows


def span_of(found: Estimate, f: int, scale: float) -> Span:
    """Return one figure of an estimate."""
    parts = (found.value, found.low, found.high, found.se)
    return Span(*(float(part[f]) * scale for part in parts))


def _share(figures: PlaceFigures | None, f: int) -> float | None:
    """Share of the variance that names cause."""
    if figures is None or figures.identification is None:
        return None
    return float(figures.identification[f])
