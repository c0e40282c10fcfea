"""Change between two surveys: a difference with its interval, said and corrected."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from corallum.actions.people import list_people
from corallum.actions.survey_corrections import errors_correction, readings_correction
from corallum.actions.survey_estimates import (
    Span,
    grouping_of,
    part,
    span_of,
)
from corallum.actions.survey_tables import SurveyData, survey_data
from corallum.errors import Fault, InputError
from corallum.estimate.change import impact_contrast_of_sites
from corallum.estimate.estimate import Estimate
from corallum.estimate.resampled_cover import Resampling
from corallum.estimate.survey_change import Draws, Moved, change_of_figures
from corallum.estimate.survey_figures import (
    Correction,
    NoCorrection,
    PlaceFigures,
    Wanted,
    figures_of,
)
from corallum.estimate.survey_match import align, pair_transects
from corallum.estimate.survey_table import Grouping, SurveyTable
from corallum.store.programme import Programme

__all__ = ["ChangeQuestion", "ChangeRow", "SurveyChange", "change_between"]

Progress = Callable[[float], None]
_FEWEST_SITES = 2


@dataclass(frozen=True, slots=True)
class ChangeQuestion:
    """What changed from one survey to another.

    Parameters
    ----------
    before, after : str
        Ids of the surveys.
    by : str
        genus or family.
    fall : float
        What counts as a decline, as a share of before.
    errors : bool
        Whether to correct by the observers' errors too.
    impact : tuple of str
        Ids of sites where something happened; the other sites are controls. Empty: no
        contrast.
    level : float
        Coverage of intervals.
    draws, seed : int
        Resamples, and the seed of all that is drawn.
    """

    before: str
    after: str
    by: str = "genus"
    fall: float = 0.2
    errors: bool = True
    impact: tuple[str, ...] = ()
    level: float = 0.95
    draws: int = 1000
    seed: int = 1


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """Change of one group over the whole survey.

    Parameters
    ----------
    group : str
        Genus or family.
    before, after : Span
        Best figures of both surveys: corrected where they could be.
    said, by_readings, by_errors : Span or None
        After less before, uncorrected and corrected.
    said_decline, readings_decline, errors_decline : float or None
        Probability of a fall by more than the threshold.
    """

    group: str
    before: Span
    after: Span
    said: Span
    by_readings: Span | None
    by_errors: Span | None
    said_decline: float
    readings_decline: float | None
    errors_decline: float | None

    @property
    def best(self) -> Span:
        """The corrected change where there is one, else what was said."""
        return self.by_readings or self.by_errors or self.said

    @property
    def decline(self) -> float:
        """Probability of a decline that goes with the best figure."""
        if self.readings_decline is not None:
            return self.readings_decline
        return self.said_decline if self.errors_decline is None else self.errors_decline


@dataclass(frozen=True, slots=True, eq=False)
class SurveyChange:
    """Change between two surveys.

    Parameters
    ----------
    before, after : SurveyData
        The two surveys.
    question : ChangeQuestion
        What was asked.
    rows : tuple of ChangeRow
        By group.
    paired : bool
        Whether the same transects were read in both.
    contrast : mapping of str to Span
        By group: how much more impact sites changed than controls; empty where not asked for.
    reasons : mapping of str to str
        Why there is no correction.
    notes : tuple of str
        What to know; that observers changed is among them.
    """

    before: SurveyData
    after: SurveyData
    question: ChangeQuestion
    rows: tuple[ChangeRow, ...]
    paired: bool
    contrast: Mapping[str, Span] = field(default_factory=dict)
    reasons: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def _both(programme: Programme, question: ChangeQuestion) -> tuple[SurveyData, SurveyData]:
    """Return the records of two surveys that can be compared."""
    if question.before == question.after:
        fault = Fault("before", "", "another survey", "the same survey twice", "Choose another.")
        raise InputError([fault])
    before, after = survey_data(programme, question.before), survey_data(programme, question.after)
    if before.unit != after.unit:
        fault = Fault("after", "", f"a survey in {before.unit}", after.unit, "Choose another.")
        raise InputError([fault])
    return before, after


def change_between(
    programme: Programme, question: ChangeQuestion, progress: Progress = lambda _: None
) -> SurveyChange:
    """Estimate what changed between two surveys.

    Raises
    ------
    InputError
        Where they are one and the same, where they tell different things, or where one holds
        nothing to estimate from.
    """
    before, after = _both(programme, question)
    tables, paired = _matched(before, after)
    groups = grouping_of(programme, tables[0], question.by)
    run = _Run(question, groups, tables, paired=paired, by_site=before.by_site and after.by_site)
    said = run.of((NoCorrection(), NoCorrection()))
    reasons: dict[str, str] = {}
    readings = errors = None
    pair = _readings(tables, question.seed, reasons)
    if pair is not None:
        readings = run.of(pair)
    progress(0.3)
    notes = [*before.notes, *after.notes]
    if question.errors:
        found = [
            errors_correction(programme, table, question.seed + i,
                              part(progress, 0.3 + 0.35 * i, 0.65 + 0.35 * i))
            for i, table in enumerate(tables)
        ]  # fmt: skip
        notes += list(dict.fromkeys(note for one in found for note in one.notes))
        if found[0].correction is not None and found[1].correction is not None:
            errors = run.of((found[0].correction, found[1].correction))
        else:
            reasons["errors"] = found[0].why or found[1].why
    progress(1.0)
    scale = 100.0 if tables[0].is_cover else 1.0
    return SurveyChange(
        before, after, question, _rows(groups, scale, said, readings, errors), paired,
        _contrast(run, question, readings or said, scale), reasons,
        (*notes, *_strata(before.table, after.table), *_observers(programme, before, after)),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Pair:
    """Figures of both surveys with one correction, and what moved."""

    before: PlaceFigures
    after: PlaceFigures
    moved: Moved
    corrections: tuple[Correction, Correction]

    def figures(self) -> tuple[Estimate, Estimate]:
        """Return the figures of both surveys."""
        return (
            self.before.corrected or self.before.uncorrected,
            self.after.corrected or self.after.uncorrected,
        )


class _Run:
    """Estimates both surveys with one correction after the other."""

    def __init__(
        self,
        question: ChangeQuestion,
        groups: Grouping,
        tables: tuple[SurveyTable, SurveyTable],
        *,
        paired: bool,
        by_site: bool,
    ) -> None:
        self.question, self.groups, self.tables = question, groups, tables
        self.paired, self.by_site = paired, by_site

    def of(self, corrections: tuple[Correction, Correction]) -> _Pair:
        """Estimate both, and what moved."""
        before, after = (self.figures(i, corrections[i], ("survey",))[0] for i in range(2))
        moved = change_of_figures(
            self._draws(before), self._draws(after), paired=self.paired,
            fall=self.question.fall, level=self.question.level,
        )  # fmt: skip
        return _Pair(before, after, moved, corrections)

    def figures(
        self, i: int, correction: Correction, levels: tuple[str, ...]
    ) -> list[PlaceFigures]:
        """Estimate one survey; the same transects are resampled alike in both."""
        question = self.question
        rng = np.random.default_rng([question.seed, 3 if self.paired else 3 + i])
        wanted = Wanted(levels, Resampling(question.draws, question.level), self.by_site)
        return figures_of(self.tables[i], self.groups, correction, rng, wanted)

    @staticmethod
    def _draws(figures: PlaceFigures) -> Draws:
        """Return the figures of one survey with their resamples."""
        found = figures.corrected or figures.uncorrected
        draws = figures.draws if figures.draws is not None else figures.uncorrected_draws
        if draws is None:
            remedy = "Read more transects."
            raise InputError([Fault("survey", "", "2 transects", "fewer", remedy)])
        return Draws(found.value, draws, figures.degrees)


def _matched(before: SurveyData, after: SurveyData) -> tuple[tuple[SurveyTable, SurveyTable], bool]:
    """Return tables of the same names, in the same order of transects if they are pairs."""
    first, second = align(before.table, after.table)
    planned = after.plan.same_transects and after.plan.follows == before.plan.survey
    if not planned:
        return (first, second), False
    found = pair_transects((first, before.transect_names), (second, after.transect_names))
    return ((first, second), False) if found is None else (found, True)


def _readings(
    tables: tuple[SurveyTable, SurveyTable], seed: int, reasons: dict[str, str]
) -> tuple[Correction, Correction] | None:
    """Return both surveys' corrections by second readings, or note why not."""
    found = [readings_correction(table, seed + i) for i, table in enumerate(tables)]
    if found[0][0] is None or found[1][0] is None:
        which = "The survey before: " if found[0][0] is None else "The survey after: "
        reasons["readings"] = which + (found[0][1] or found[1][1])
        return None
    return found[0][0], found[1][0]


def _rows(
    groups: Grouping, scale: float, said: _Pair, readings: _Pair | None, errors: _Pair | None
) -> tuple[ChangeRow, ...]:
    """Turn figures into rows."""
    best = readings or errors or said
    before, after = best.figures()
    rows = []
    for f, group in enumerate(groups.names):
        if not any(one.value[f] > 0 for one in (before, after, *said.figures())):
            continue
        rows.append(
            ChangeRow(
                group, span_of(before, f, scale), span_of(after, f, scale),
                span_of(said.moved.difference, f, scale), _moved(readings, f, scale),
                _moved(errors, f, scale), float(said.moved.decline_chance[f]),
                _decline(readings, f), _decline(errors, f),
            )
        )  # fmt: skip
    return tuple(rows)


def _moved(pair: _Pair | None, f: int, scale: float) -> Span | None:
    return None if pair is None else span_of(pair.moved.difference, f, scale)


def _decline(pair: _Pair | None, f: int) -> float | None:
    return None if pair is None else float(pair.moved.decline_chance[f])


def _contrast(run: _Run, question: ChangeQuestion, best: _Pair, scale: float) -> dict[str, Span]:
    """Return how much more impact sites changed than controls, sites being the units."""
    if not question.impact:
        return {}
    known = set(run.tables[0].sites) & set(run.tables[1].sites)
    wrong = [site for site in question.impact if site not in known]
    if wrong:
        raise InputError([Fault("impact", "", "sites of both surveys", ", ".join(wrong), "Mend.")])
    values = [
        {
            one.place: (one.corrected or one.uncorrected).value
            for one in run.figures(i, best.corrections[i], ("site",))
        }
        for i in range(2)
    ]
    both = [site for site in values[0] if site in values[1]]
    impact = [site for site in both if site in question.impact]
    control = [site for site in both if site not in question.impact]
    if min(len(impact), len(control)) < _FEWEST_SITES:
        told = f"{len(impact)} and {len(control)}"
        remedy = "Choose other sites, or none for no contrast."
        expected = "2 impact sites and 2 others, read in both surveys"
        raise InputError([Fault("change", "impact", expected, told, remedy)])
    found = impact_contrast_of_sites(
        (np.array([values[0][s] for s in control]), np.array([values[1][s] for s in control])),
        (np.array([values[0][s] for s in impact]), np.array([values[1][s] for s in impact])),
        question.level,
    )
    return {group: span_of(found, f, scale) for f, group in enumerate(run.groups.names)}


def _strata(before: SurveyTable, after: SurveyTable) -> tuple[str, ...]:
    """Warn where the two surveys are of other parts of the reef, or weigh them otherwise."""
    first, second = (
        {name: area / table.weight.sum()
         for name, area in zip(table.strata, table.weight.tolist(), strict=True) if area > 0}
        for table in (before, after)
    )  # fmt: skip
    if set(first) != set(second):
        gone = ", ".join(sorted(set(first) - set(second))) or "none"
        new = ", ".join(sorted(set(second) - set(first))) or "none"
        return (
            f"The strata differ: {gone} only before, {new} only after. A difference between parts "
            "of the reef looks like change.",
        )
    if not np.allclose([first[name] for name in first], [second[name] for name in first]):
        return (
            "The areas of the strata differ between the surveys: a part of the reef that weighs "
            "more looks like change.",
        )
    return ()


def _observers(programme: Programme, before: SurveyData, after: SurveyData) -> tuple[str, ...]:
    """Warn where other people read the two surveys."""
    first, second = set(before.table.observers), set(after.table.observers)
    if first == second:
        return ()
    names = {one.id: one.name for one in list_people(programme)}
    gone = ", ".join(names[one] for one in sorted(first - second)) or "nobody"
    new = ", ".join(names[one] for one in sorted(second - first)) or "nobody"
    return (
        f"The observers changed: {gone} left, {new} came. A difference in what they see as which "
        "genus looks like change; compare the corrected figures.",
    )
