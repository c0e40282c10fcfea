"""How large the next survey should be, from one that is done: the trade between efforts."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import norm

from corallum.actions.observer_errors import confusions_of
from corallum.actions.programme_reference import programme_library
from corallum.actions.survey_corrections import readings_correction
from corallum.actions.survey_estimates import grouping_of
from corallum.actions.survey_tables import survey_data
from corallum.errors import Fault, InputError
from corallum.estimate.estimate import Floats
from corallum.estimate.power import detectable_difference
from corallum.estimate.resampled_cover import Resampling
from corallum.estimate.survey_figures import (
    Correction,
    NoCorrection,
    PlaceFigures,
    Wanted,
    figures_of,
)
from corallum.estimate.survey_table import ALL_CORAL, Grouping, SurveyTable
from corallum.estimate.survey_variance import (
    Effort,
    Spread,
    VarianceParts,
    split_variance,
    transects_for,
)
from corallum.records.survey import Method
from corallum.store.programme import Programme

__all__ = ["EffortAnswer", "EffortLine", "EffortQuestion", "plan_effort"]

_DRAWS, _SEED, _STEPS = 500, 5, 40
_MOST = 100_000


@dataclass(frozen=True, slots=True)
class EffortQuestion:
    """What the next survey is to reach.

    Parameters
    ----------
    pilot : str
        Id of a survey that is done.
    group : str
        Genus, family, or all stony coral.
    half_width : float or None
        Wanted half of the 95 % interval, in the unit of the figure (percent points).
    change : float or None
        Change that is to be seen with the chance ``power``, in the same unit.
    power : float
        Chance of seeing it.
    observers, second_readings : int
        Of the next survey; 0 is as in the pilot.
    points : int or None
        On each transect; None is as in the pilot.
    """

    pilot: str
    group: str = ALL_CORAL
    half_width: float | None = None
    change: float | None = None
    power: float = 0.8
    observers: int = 0
    second_readings: int = 0
    points: int | None = None


@dataclass(frozen=True, slots=True)
class EffortLine:
    """Half width of the interval by number of transects, for one plan."""

    label: str
    x: tuple[float, ...]
    y: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class EffortAnswer:
    """What the next survey takes.

    Parameters
    ----------
    unit : str
        Of the figure.
    value : float
        What the pilot found.
    parts : VarianceParts
        Variance of a survey as the plan is, in the unit squared.
    transects : float or None
        Needed; None where nothing was asked for, or no number will do.
    why : str
        Why no number of transects will do, or empty.
    half_width : float
        Of a survey as large as the pilot with the plan's other efforts.
    detectable : float
        Smallest change between two such surveys that is seen with the chance asked for.
    lines : tuple of EffortLine
        The trade: as planned, and with twice and half of each other effort.
    planned : Effort
        Transects of the pilot, and the other efforts as planned.
    notes : tuple of str
        What the parts could not be told from.
    """

    unit: str
    value: float
    parts: VarianceParts
    transects: float | None
    why: str
    half_width: float
    detectable: float
    lines: tuple[EffortLine, ...]
    planned: Effort
    notes: tuple[str, ...]


def plan_effort(programme: Programme, question: EffortQuestion) -> EffortAnswer:
    """Reckon the efforts of the next survey from a pilot.

    Raises
    ------
    InputError
        For a group that the pilot did not meet, or a wish that can't be.
    """
    _check(question)
    data = survey_data(programme, question.pilot)
    table = data.table
    groups = grouping_of(programme, table, "genus")
    if question.group not in groups.names:
        groups = grouping_of(programme, table, "family")
    if question.group not in groups.names:
        known = ", ".join(groups.names[:12])
        told = repr(question.group)[:60]
        raise InputError([Fault("plan", "group", f"one of {known}", told, "Mend it.")])
    f = groups.names.index(question.group)
    spread, pilot, value, notes = _spread(programme, table, groups, f, data.plan.method)
    planned = replace(
        pilot,
        points=float(question.points or pilot.points),
        observers=float(question.observers or pilot.observers),
        second_readings=float(question.second_readings or pilot.second_readings),
    )
    parts = split_variance(spread, planned)
    z = float(norm.ppf(0.975))
    transects, why = _needed(question, spread, planned)
    return EffortAnswer(
        data.unit, value, parts, transects, why, z * parts.se,
        detectable_difference(parts.se, parts.se, power=question.power),
        _lines(spread, planned, transects), planned, tuple(notes),
    )  # fmt: skip


def _check(question: EffortQuestion) -> None:
    """Refuse wishes that can't be."""
    faults = [
        Fault("plan", place, "a number above 0", f"{value:g}", "Mend it.")
        for place, value in (("half width", question.half_width), ("change", question.change))
        if value is not None and not 0 < value < math.inf
    ]
    if not 0.05 < question.power < 1:
        faults.append(Fault("plan", "power", ".05 to 1", f"{question.power:g}", "Give .8."))
    efforts = (question.observers, question.second_readings, question.points or 0)
    if min(efforts) < 0 or max(efforts) > _MOST:
        expected = f"0 to {_MOST}"
        faults.append(Fault("plan", "efforts", expected, str(efforts), "Mend them."))
    if faults:
        raise InputError(faults)


def _spread(
    programme: Programme, table: SurveyTable, groups: Grouping, f: int, method: Method
) -> tuple[Spread, Effort, float, list[str]]:
    """Take the variance of one figure apart, in its unit squared."""
    scale = 100.0 if table.is_cover else 1.0
    notes: list[str] = []
    n = len(table.transects)
    plain = _whole(table, groups, NoCorrection())
    value = float(plain.uncorrected.value[f])
    each = float(plain.uncorrected.se[f] ** 2) * n
    points = float(table.searched.mean()) if method in (Method.POINTS, Method.PHOTO) else 1.0
    within = value * (1 - value) if method in (Method.POINTS, Method.PHOTO) else 0.0
    if method in (Method.POINTS, Method.PHOTO):
        notes.append("Points count as independent within a transect; clustered ones tell less.")
    readings, names = max(table.n_read_again, 1), 0.0
    correction, why = readings_correction(table, _SEED)
    if correction is None:
        notes.append(f"The part of names is not known: {why}")
    else:
        found = _whole(table, groups, correction)
        if found.corrected is not None and found.identification is not None:
            names = float(found.identification[f] * found.corrected.se[f] ** 2) * readings
    between = _between_observers(programme, table, groups.matrix[:, f])
    if len(table.observers) < 2:
        notes.append("One observer read the pilot: how far observers differ is not known.")
    spread = Spread(
        max(each - within / points, 0.0) * scale**2, within * scale**2, between * scale**2,
        names * scale**2,
    )  # fmt: skip
    effort = Effort(float(n), points, float(len(table.observers)), float(readings))
    return spread, effort, value * scale, notes


def _whole(table: SurveyTable, groups: Grouping, correction: Correction) -> PlaceFigures:
    """Estimate the survey as one."""
    wanted = Wanted(("survey",), Resampling(_DRAWS))
    rng = np.random.default_rng(_SEED)
    return figures_of(table, groups, correction, rng, wanted)[0]


def _between_observers(
    programme: Programme,
    table: SurveyTable,
    members: Floats,
) -> float:
    """Variance between observers in what they would make of the same reef, in the figure's unit.

    From what practice tells of each one's mix-ups, over the genera as they were said.
    """
    compiled = programme_library(programme).compiled
    named = [
        k for k in np.flatnonzero(table.is_genus).tolist() if table.labels[k] in compiled.genera
    ]
    if len(table.observers) < 2 or not named:
        return 0.0
    index = [compiled.genera.index(table.labels[k]) for k in named]
    share = (table.met.sum(axis=0) / table.searched.sum())[named]
    own = members[named] > 0
    said = []
    for one in confusions_of(programme, programme.settings.regions[0], table.observers):
        rows = one.counts[index] / one.counts[index].sum(axis=1, keepdims=True)
        said.append(float(share @ rows[:, index][:, own].sum(axis=1)))
    # Coral stays coral, whatever it is called: only a part of all can be gained or lost.
    return 0.0 if own.all() else float(np.var(said, ddof=1))


def _needed(question: EffortQuestion, spread: Spread, planned: Effort) -> tuple[float | None, str]:
    """Return the transects needed, or why no number will do."""
    wishes = []
    if question.half_width is not None:
        wishes.append(question.half_width / float(norm.ppf(0.975)))
    if question.change is not None:
        wishes.append(question.change / detectable_difference(1.0, 1.0, power=question.power))
    if not wishes:
        return None, ""
    try:
        return transects_for(min(wishes), spread, planned), ""
    except InputError as error:
        return None, str(error)


def _lines(spread: Spread, planned: Effort, transects: float | None) -> tuple[EffortLine, ...]:
    """Draw half widths against transects, for the plan and with other efforts."""
    most = max(3 * planned.transects, 1.3 * (transects or 0.0), 12.0)
    x = np.unique(np.linspace(2, most, _STEPS).round())
    plans = {"as planned": planned}
    if spread.points > 0:
        plans["half the points"] = replace(planned, points=planned.points / 2)
        plans["twice the points"] = replace(planned, points=planned.points * 2)
    if spread.identification > 0:
        plans["twice the second readings"] = replace(
            planned, second_readings=planned.second_readings * 2
        )
    if spread.observers > 0:
        plans["twice the observers"] = replace(planned, observers=planned.observers * 2)
    z = float(norm.ppf(0.975))
    return tuple(
        EffortLine(
            label, tuple(x.tolist()),
            tuple(z * split_variance(spread, replace(plan, transects=n)).se for n in x.tolist()),
        )
        for label, plan in plans.items()
    )  # fmt: skip
