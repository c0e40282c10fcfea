"""A survey's slates and second readings as one table to estimate from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from corallum.actions.record_readings import reading_state
from corallum.actions.unit_of_work import check_id
from corallum.errors import Fault, InputError
from corallum.estimate.estimate import Floats
from corallum.estimate.survey_table import SurveyTable
from corallum.estimate.survey_units import fewest_sites, site_effect
from corallum.records.amounts import COVER_METHODS, searched_of, unit_of
from corallum.records.benthos import GENUS, UNREADABLE, is_living_coral
from corallum.records.programme import Event
from corallum.records.survey import Effort, Method, SurveyPlan
from corallum.records.survey_json import effort_from_text
from corallum.store import people as store
from corallum.store import surveys
from corallum.store.programme import Programme
from corallum.store.survey_sums import LineSum, sum_by_transect

__all__ = ["NO_FORM", "SurveyData", "survey_data"]

NO_FORM, _NO_CORAL = "no form written", "not coral"
# Sites that make an interval this many times as wide are worth a word.
_ALIKE = 1.2
_LESS_UNREAD = (Method.LINE, Method.QUADRAT_COVER)


@dataclass(frozen=True, slots=True, eq=False)
class SurveyData:
    """A survey as a table, and what could not go into it.

    ``unit`` is "%" for cover or "colonies per m2"; ``notes`` are plain sentences;
    ``by_site`` is whether sites are the units of its figures.
    """

    plan: SurveyPlan
    table: SurveyTable
    unit: str
    notes: tuple[str, ...]
    site_names: Mapping[str, str] = field(default_factory=dict)
    transect_names: tuple[str, ...] = ()
    by_site: bool = False


def survey_data(programme: Programme, survey: str, *, by_form: bool = False) -> SurveyData:
    """Return a survey as a table.

    Raises
    ------
    InputError
        Where there is nothing to estimate from, with what to do.
    """
    check_id(survey, "survey")
    with programme.read() as connection:
        plan = surveys.plan_of(connection, survey)
        heads = list(surveys.slate_heads(connection, survey))
        sums = sum_by_transect(connection, survey, by_form=by_form)
        transects = {one.id: one for one in surveys.transects_of(connection, survey)}
        sites = {one.id: one.name for one in store.all_sites(connection)}
    readings = None if by_form else _pairs(programme, survey)
    efforts, observers = _efforts(heads)
    if by_form:
        sums = [_by_form(one) for one in sums]
    shape = _Shape(plan, transects, efforts, observers)
    table, notes = _table(shape, sums, readings or [], by_form=by_form)
    names = tuple(transects[one].name for one in table.transects)
    planned = len(transects) - len(table.transects)
    if planned:
        notes = (*notes, f"{planned} of {len(transects)} planned transects have no slate yet.")
    by_site, more = _units(plan, table)
    return SurveyData(plan, table, unit_of(plan.method), (*notes, *more), sites, names, by_site)


def _by_form(one: LineSum) -> LineSum:
    """Return a sum under the name of its form; what is no coral is one."""
    if is_living_coral(one.kind):
        return one._replace(label=one.label or NO_FORM)
    return one if one.kind == UNREADABLE else one._replace(label=_NO_CORAL)


def _units(plan: SurveyPlan, table: SurveyTable) -> tuple[bool, tuple[str, ...]]:
    """Whether sites are the units, and what is to be said of it."""
    several = len(np.unique(table.site)) < len(table.transects)
    if plan.sites_drawn:
        if fewest_sites(table) > 1:
            return True, ()
        return False, (
            "Sites were drawn, but a stratum has one only: transects are taken as the units, "
            "and intervals are too short for more than these sites.",
        )
    effect = site_effect(table, table.is_coral) if several else float("nan")
    if not effect > _ALIKE:
        return False, ()
    return False, (
        "Transects at one site are alike. These figures are of the sites that were visited; for "
        f"the whole of their strata the interval of all coral would be {effect:.1f} times as "
        "wide. Plan with sites drawn at random to have it so.",
    )


@dataclass(frozen=True, slots=True)
class _Shape:
    """Where and by whom slates were read."""

    plan: SurveyPlan
    transects: Mapping[str, Event]
    efforts: Mapping[str, Sequence[Effort]]
    observers: Mapping[str, str]


def _efforts(
    heads: Sequence[Mapping[str, object]],
) -> tuple[dict[str, list[Effort]], dict[str, str]]:
    """Efforts of each transect's slates, and who read it (first)."""
    efforts: dict[str, list[Effort]] = {}
    observers: dict[str, str] = {}
    for head in heads:
        transect = str(head["transect"])
        efforts.setdefault(transect, []).append(effort_from_text(str(head["effort"])))
        observers.setdefault(transect, str(head["observer"]))
    return efforts, observers


def _pairs(programme: Programme, survey: str) -> list[tuple[str, str, str, str]]:
    """Transect, label said, label and kind found, of each record read again."""
    state = reading_state(programme, survey)
    with programme.read() as connection:
        slates = {slate.history: slate for slate in surveys.slates_of(connection, survey)}
    return [
        (slates[slate].transect, state.lines[slate, line].label, one.label, one.kind)
        for (slate, line), one in state.readings.items()
        if one.kind != UNREADABLE
    ]


def _table(
    shape: _Shape,
    sums: Sequence[LineSum],
    pairs: Sequence[tuple[str, str, str, str]],
    *,
    by_form: bool,
) -> tuple[SurveyTable, tuple[str, ...]]:
    """Lay sums and readings out as arrays."""
    kinds = {one.label: one.kind for one in sums}
    for _, _, label, kind in pairs:
        kinds.setdefault(label, kind)
    labels = sorted(label for label, kind in kinds.items() if kind != UNREADABLE)
    column = {label: k for k, label in enumerate(labels)}
    names = [t for t in shape.transects if t in shape.efforts]
    row = {name: t for t, name in enumerate(names)}
    met, lines = np.zeros((2, len(names), len(labels)))
    read, unread = np.zeros((2, len(names)))
    for one in sums:
        t = row[one.transect]
        if one.kind == UNREADABLE:
            unread[t] += one.amount
            continue
        met[t, column[one.label]] += one.amount
        lines[t, column[one.label]] += one.lines
        read[t] += one.amount
    readings = np.zeros((len(names), len(labels), len(labels)))
    for transect, said, true, _ in pairs:
        if transect in row and said in column:
            readings[row[transect], column[said], column[true]] += 1
    coral = np.array([is_living_coral(kinds[label]) for label in labels], np.bool_)
    genus = np.array([kinds[label] == GENUS and not by_form for label in labels], np.bool_)
    searched = _searched(shape, names, read, unread)
    return _kept(shape, names, (tuple(labels), coral, genus), (met, lines, searched, readings))


def _searched(shape: _Shape, names: Sequence[str], read: Floats, unread: Floats) -> Floats:
    """What was searched on each transect, over all its slates."""
    method = shape.plan.method
    found = np.zeros(len(names))
    for t, name in enumerate(names):
        efforts = shape.efforts[name]
        if method in (Method.POINTS, Method.PHOTO):
            found[t] = read[t]
            continue
        parts = [searched_of(method, one, read=0, unread=0) for one in efforts]
        found[t] = sum(parts) - (unread[t] if method in _LESS_UNREAD else 0.0)
    return found


def _kept(
    shape: _Shape,
    names: Sequence[str],
    about: tuple[tuple[str, ...], np.ndarray, np.ndarray],
    arrays: tuple[Floats, Floats, Floats, Floats],
) -> tuple[SurveyTable, tuple[str, ...]]:
    """Leave out transects without effort and strata of one transect, and say so."""
    met, lines, searched, readings = arrays
    strata = shape.plan.strata
    sites = [site for one in strata for site in one.sites]
    site = np.array([sites.index(shape.transects[name].site or "") for name in names], np.int64)
    of = [i for i, one in enumerate(strata) for _ in one.sites]
    stratum = np.array([of[i] for i in site.tolist()], np.int64)
    people = sorted(set(shape.observers.values()))
    observer = np.array([people.index(shape.observers[name]) for name in names], np.int64)
    whole = SurveyTable(
        about[0], about[1], about[2], tuple(names), tuple(sites),
        tuple(one.name for one in strata), tuple(people), site, stratum, observer,
        np.array([one.area for one in strata], np.float64), met, lines, searched, readings,
        shape.plan.method in COVER_METHODS,
    )  # fmt: skip
    keep = searched > 0
    notes = [f"{n} transects without length, area or readable points are left out."
             for n in [int((~keep).sum())] if n]  # fmt: skip
    counts = np.bincount(stratum[keep], minlength=len(strata))
    for i in np.flatnonzero(counts < 2).tolist():
        keep &= stratum != i
        notes.append(
            f"Stratum {strata[i].name} has {counts[i]} transects: at least 2 are needed, so it "
            "is left out, and the figures are of the other strata only."
        )
    if not keep.any():
        remedy = "Write or import slates first; a figure takes 2 transects in a stratum."
        raise InputError([Fault("survey", "", "2 transects with slates", "fewer", remedy)])
    weight = np.where(counts < 2, 0.0, whole.weight)
    return replace(whole.at(keep), weight=weight), tuple(notes)
