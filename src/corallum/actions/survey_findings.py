"""All that a report of a survey rests on, found once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from corallum.actions.people import list_people
from corallum.actions.permits import list_permits
from corallum.actions.programme_reference import programme_library
from corallum.actions.qualifications import list_tests
from corallum.actions.reading_agreement import ReadingAgreement, reading_agreement
from corallum.actions.record_readings import ReadingState, reading_state
from corallum.actions.references import limits_of
from corallum.actions.result_words import genera_of
from corallum.actions.survey_changes import ChangeQuestion, SurveyChange, change_between
from corallum.actions.survey_details import SurveySizes, sizes_of
from corallum.actions.survey_diversity import SurveyDiversity, diversity_of
from corallum.actions.survey_estimates import (
    EstimateQuestion,
    SurveyEstimate,
    estimate_survey,
    part,
)
from corallum.actions.survey_flags import FlagLine, flags_of_survey
from corallum.actions.survey_plans import SurveyView, get_survey, list_surveys
from corallum.errors import CorallumError, Fault, InputError
from corallum.model.separability import Pair
from corallum.practice.kept import Qualification
from corallum.records.amounts import unit_of
from corallum.records.survey import Permit, Slate
from corallum.store.programme import Programme
from corallum.store.survey_vouchers import survey_vouchers

__all__ = ["SurveyFindings", "SurveyQuestion", "find_all"]

Progress = Callable[[float], None]
_PAIR_DRAWS = 200


@dataclass(frozen=True, slots=True)
class SurveyQuestion:
    """What a report of a survey is to say.

    Parameters
    ----------
    survey : str
        Id of the event.
    against : str or None
        Id of an earlier survey; None is the one that it follows, if there is one.
    by : str
        genus or family.
    fall : float
        What counts as a decline, as a share of before.
    errors : bool
        Whether to correct by the observers' errors too.
    draws, seed : int
        Resamples, and the seed of all that is drawn.
    """

    survey: str
    against: str | None = None
    by: str = "genus"
    fall: float = 0.2
    errors: bool = False
    draws: int = 1000
    seed: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class SurveyFindings:
    """All that is known of a survey.

    Parameters
    ----------
    question : SurveyQuestion
        What was asked.
    view : SurveyView
        Its plan, places, people and slates.
    estimate : SurveyEstimate or None
        Its figures; ``no_estimate`` says why there are none.
    change : SurveyChange or None
        Since an earlier survey; ``no_change`` says why there is none, where one was meant.
    names : tuple of (str, str)
        Of the earlier survey and of this one.
    agreement, state : ReadingAgreement or None, ReadingState
        Of the second readings.
    diversity, sizes : SurveyDiversity or None, SurveySizes or None
        Where there is anything to tell of them.
    flags : tuple of FlagLine
        Those that wait come first.
    pairs : tuple of Pair
        Genera of this survey that a look in the water can't tell apart.
    tests : tuple of Qualification
        Of all observers.
    permits, vouchers : tuple
        Permits of the programme, and samples of this survey: label, permit, kept by.
    people : mapping of str to str
        Names by id.
    """

    question: SurveyQuestion
    view: SurveyView
    estimate: SurveyEstimate | None
    no_estimate: str
    change: SurveyChange | None
    no_change: str
    names: tuple[str, str]
    agreement: ReadingAgreement | None
    state: ReadingState
    diversity: SurveyDiversity | None
    sizes: SurveySizes | None
    flags: tuple[FlagLine, ...]
    pairs: tuple[Pair, ...]
    tests: tuple[Qualification, ...]
    permits: tuple[Permit, ...]
    vouchers: tuple[tuple[str, str, str], ...]
    people: Mapping[str, str] = field(default_factory=dict)

    @property
    def slates(self) -> tuple[Slate, ...]:
        """Return all slates that stand."""
        return tuple(slate for found in self.view.slates.values() for slate in found)

    def place_of(self, transect: str) -> str:
        """Return the name of a transect with its site."""
        one = next(event for event in self.view.transects if event.id == transect)
        site = self.view.sites.get(one.site or "")
        return f"{site.name}, {one.name}" if site else one.name


def find_all(
    programme: Programme, question: SurveyQuestion, progress: Progress = lambda _: None
) -> SurveyFindings:
    """Find all that a report of a survey says.

    A survey of which nothing can be estimated has findings too.

    Raises
    ------
    InputError
        Where the survey to compare with is this one, or of another unit.
    NotFoundError
        Where there is no such survey.
    """
    view = get_survey(programme, question.survey)
    before, name = _before(programme, question, view)
    estimate, no_estimate = _estimate(programme, question, part(progress, 0, 0.5))
    change, no_change = None, ""
    if before is not None and estimate is not None:
        step = part(progress, 0.5, 0.75)
        change, no_change = _change(programme, question, before, step)
    state = reading_state(programme, question.survey)
    diversity = sizes = None
    pairs: tuple[Pair, ...] = ()
    if estimate is not None:
        diversity, sizes = _diversity(programme, question), _sizes(programme, question)
        pairs = _pairs(programme, question, estimate, part(progress, 0.75, 0.95))
    with programme.read() as connection:
        vouchers = survey_vouchers(connection, question.survey)
    found = SurveyFindings(
        question, view, estimate, no_estimate, change, no_change, (name, view.event.name),
        reading_agreement(programme, question.survey), state, diversity, sizes,
        flags_of_survey(programme, question.survey), pairs, list_tests(programme),
        list_permits(programme), vouchers,
        {one.id: one.name for one in list_people(programme)},
    )  # fmt: skip
    progress(1.0)
    return found


def _before(
    programme: Programme, question: SurveyQuestion, view: SurveyView
) -> tuple[str | None, str]:
    """Return the survey to compare with, by id and name; one that can't be is refused.

    A survey that it follows by plan counts only once it has slates.
    """
    cards = {card.event.id: card for card in list_surveys(programme)}
    if question.against is None:
        card = cards.get(view.plan.follows or "")
        if card is None or not card.done:
            return None, card.event.name if card else ""
        return card.event.id, card.event.name
    card = cards[question.against]
    if card.event.id == question.survey:
        fault = Fault("against", "", "another survey", "the same", "Name an earlier one.")
        raise InputError([fault])
    units = unit_of(card.plan.method), unit_of(view.plan.method)
    if units[0] != units[1]:
        expected, found = f"a survey in {units[1]}", f"one in {units[0]}"
        raise InputError([Fault("against", "", expected, found, "Name another.")])
    return card.event.id, card.event.name


def _estimate(
    programme: Programme, question: SurveyQuestion, progress: Progress
) -> tuple[SurveyEstimate | None, str]:
    """Estimate the survey, or say why that can't be."""
    asked = EstimateQuestion(
        question.survey, question.by, question.errors, draws=question.draws, seed=question.seed
    )
    try:
        return estimate_survey(programme, asked, progress), ""
    except InputError as error:
        return None, _why(error)


def _change(
    programme: Programme, question: SurveyQuestion, before: str, progress: Progress
) -> tuple[SurveyChange | None, str]:
    """Estimate the change, or say why that can't be."""
    asked = ChangeQuestion(
        before, question.survey, question.by, question.fall, question.errors,
        draws=question.draws, seed=question.seed,
    )  # fmt: skip
    try:
        return change_between(programme, asked, progress), ""
    except InputError as error:
        return None, _why(error)


def _why(error: CorallumError) -> str:
    """Say in a sentence what was missing."""
    if isinstance(error, InputError) and error.faults:
        one = error.faults[0]
        return f"It takes {one.expected}, and there are {one.found}. {one.remedy}"
    return str(error)


def _diversity(programme: Programme, question: SurveyQuestion) -> SurveyDiversity | None:
    """Reckon richness and diversity, where anything was met."""
    try:
        return diversity_of(programme, question.survey, question.by)
    except InputError:
        return None


def _sizes(programme: Programme, question: SurveyQuestion) -> SurveySizes | None:
    """Describe the sizes of colonies, where diameters were written."""
    try:
        return sizes_of(programme, question.survey)
    except InputError:
        return None


def _pairs(
    programme: Programme, question: SurveyQuestion, estimate: SurveyEstimate, progress: Progress
) -> tuple[Pair, ...]:
    """Find the pairs of genera met here that a look in the water can't tell apart."""
    met = genera_of(estimate.data.table)
    if len(met) < 2:
        return ()
    library = programme_library(programme)
    rng = np.random.default_rng(question.seed)
    region = programme.settings.regions[0]
    pairs = limits_of(library, region, rng, draws=_PAIR_DRAWS, progress=progress, among=met)
    return tuple(one for one in pairs if one.in_water < library.compiled.settings.separable)
