"""What an archive says of a survey as a whole: its places, its people, and who may name what."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from corallum.actions.programme_reference import programme_library, reference_version
from corallum.actions.qualifications import list_tests, survey_rights
from corallum.exchange.archive.eml import Box, Dataset
from corallum.exchange.coordinates import CoordinateRule
from corallum.exchange.survey_archive.lines import Context, Taxon
from corallum.exchange.survey_archive.places import EventRows, Placed, place_site
from corallum.exchange.survey_archive.shape import PROTOCOLS
from corallum.records.benthos import GENUS, STONY_CORAL, UNIDENTIFIED
from corallum.records.programme import Event
from corallum.records.survey import Method, ReadingDraw, SurveyPlan
from corallum.reference.reference import Reference
from corallum.store import people as store
from corallum.store import survey_stream as stream
from corallum.store import surveys
from corallum.store.database import Connection
from corallum.store.programme import Programme

__all__ = ["SurveyAbout", "about_survey", "survey_dataset"]

_SEARCHED = (Method.BELT, Method.QUADRAT, Method.QUADRAT_COVER)
_GUARD = (
    "A text that a spreadsheet would take for a formula (it begins with =, +, -, @, a tab or a "
    "carriage return) has an apostrophe before it; so has one that begins with apostrophes and "
    "then such a sign. Take one apostrophe off to have it as it was written. Numbers are as "
    "they are."
)
_NO_ABSENCE = (
    "No absence is stated: beside a tape or a point nobody looks. That a genus was not met on a "
    "transect is no sign that it is not there."
)
_ABSENCE = (
    "A genus is stated as absent from an observation only where an area was searched by an "
    "observer who was qualified for it, everything could be read, and no coral was left without "
    "a name that it could have had."
)


@dataclass(frozen=True, slots=True)
class SurveyAbout:
    """What all parts of an archive share.

    Parameters
    ----------
    programme : str
        Its name.
    survey, plan : Event and SurveyPlan
        The survey.
    visits, transects : tuple of Event
        Of it.
    events : EventRows
        Makes their rows.
    context : Context
        What its slates share.
    spans : mapping of str to TransectSpan
        Days and depths of each transect that has a slate.
    gone : frozenset of int
        Slates that another mends.
    lines : int
        On all slates.
    taxa : tuple of (str, str)
        Rank and name of what was met.
    box : Box or None
        Of the positions as they are told.
    notes : tuple of str
        What to know.
    """

    programme: str
    survey: Event
    plan: SurveyPlan
    visits: tuple[Event, ...]
    transects: tuple[Event, ...]
    events: EventRows
    context: Context
    spans: Mapping[str, stream.TransectSpan]
    gone: frozenset[int]
    lines: int
    taxa: tuple[tuple[str, str], ...]
    box: Box | None
    absences: bool
    notes: tuple[str, ...] = field(default=())

    def event_rows(self) -> Iterator[list[str]]:
        """Yield the survey, each visit and its transects."""
        yield self.events.of_survey(self._days(self.transects))
        for visit in self.visits:
            inside = tuple(one for one in self.transects if one.parent == visit.id)
            yield self.events.of_visit(visit, self._days(inside))
            for one in inside:
                span = self.spans.get(one.id)
                depths = (None, None) if span is None else (span.shallowest_m, span.deepest_m)
                yield self.events.of_transect(one, self._days((one,)), depths)

    def _days(self, transects: tuple[Event, ...]) -> tuple[dt.date, dt.date] | None:
        """Return the first and the last day on some transects."""
        found = [self.spans[one.id] for one in transects if one.id in self.spans]
        if not found:
            return None
        return min(one.first for one in found), max(one.last for one in found)

    @property
    def days(self) -> tuple[dt.date, dt.date] | None:
        """The first and the last day of all."""
        return self._days(self.transects)


def about_survey(
    programme: Programme,
    connection: Connection,
    survey: str,
    rule: CoordinateRule,
    *,
    absences: bool,
) -> SurveyAbout:
    """Read what all parts of an archive share."""
    plan = surveys.plan_of(connection, survey)
    transects = surveys.transects_of(connection, survey)
    sites = {one.id: one for one in store.all_sites(connection)}
    people = {one.id: one.name for one in store.all_people(connection)}
    placed = {id_: place_site(site, rule) for id_, site in sites.items()}
    counts = stream.name_counts(connection, survey)
    reference = programme_library(programme).reference
    searched = {}
    if absences and plan.method in _SEARCHED:
        searched = _searched(programme, reference, stream.last_days(connection, survey))
    gone = stream.replaced_slates(connection, survey)
    draws = surveys.draws_of(connection, survey)
    context = Context(
        people, {one.id: placed[one.site or ""] for one in transects}, _taxa(reference, counts),
        f"Corallum reference {reference_version(programme)}", searched, rule.exact,
        _drawn(draws, gone),
    )  # fmt: skip
    event = store.event_of(connection, survey)
    visits = tuple(sorted(store.all_events(connection, "visit", survey), key=lambda v: v.name))
    used = {one.site or "" for one in visits}
    return SurveyAbout(
        programme.settings.name, event, plan, visits, transects,
        EventRows(event, plan, sites, people, rule, placed, draws), context,
        stream.transect_spans(connection, survey), gone, stream.count_lines(connection, survey),
        _met(context, counts), _box([placed[one] for one in sorted(used)]), absences,
    )  # fmt: skip


def _drawn(
    draws: tuple[ReadingDraw, ...], gone: frozenset[int]
) -> dict[int, list[tuple[int, int, int]]]:
    """Return line, draw and order of the drawn records by slate."""
    found: dict[int, list[tuple[int, int, int]]] = {}
    for draw in draws:
        for order, (slate, line) in enumerate(draw.records, start=1):
            if slate not in gone:
                found.setdefault(slate, []).append((line, draw.history, order))
    return found


def _taxa(reference: Reference, counts: Mapping[tuple[str, str], int]) -> Mapping[str, Taxon]:
    """Return rank, family and number of every name that may be written."""
    found = {
        name: Taxon("genus", genus.family, genus.aphia_id)
        for name, genus in reference.entries.genera.items()
    }
    for kind, label in counts:
        if kind == GENUS:
            found.setdefault(label, Taxon("genus"))
        elif kind == UNIDENTIFIED:
            order = label == STONY_CORAL
            found[label] = Taxon("order") if order else Taxon("family", label)
    return _Known(found)


class _Known(dict[str, Taxon]):
    """Names of the reference; another one, on a line that was left out, is taken for a genus."""

    def __missing__(self, name: str) -> Taxon:
        """Return what is known of a name that the reference has not."""
        if name == STONY_CORAL:
            return Taxon("order")
        return Taxon("family", name) if name.endswith("idae") else Taxon("genus")


def _met(context: Context, counts: Mapping[tuple[str, str], int]) -> tuple[tuple[str, str], ...]:
    """Return rank and name of the corals that were met."""
    found = {
        (context.taxa[label].rank, "Scleractinia" if label == STONY_CORAL else label)
        for kind, label in counts
        if kind in (GENUS, UNIDENTIFIED)
    }
    return tuple(sorted(found))


def _searched(
    programme: Programme, reference: Reference, last: Mapping[str, dt.date]
) -> dict[str, tuple[dt.date, frozenset[str]]]:
    """Return since when, and for which genera, each observer is qualified to their last day."""
    region = programme.settings.regions[0]
    genera = reference.entries.genera
    here = {name for name, genus in genera.items() if region in genus.regions}
    since: dict[str, dt.date] = {}
    for test in list_tests(programme):
        if test.outcome == "passed" and test.ended_at is not None:
            day = test.ended_at.date()
            since[test.person] = min(day, since.get(test.person, day))
    found = {}
    for day in sorted({last[one] for one in since if one in last}):
        for right in survey_rights(programme, region, day):
            if last.get(right.person) == day:
                named = here if right.genera is None else here & set(right.genera)
                found[right.person] = (since[right.person], frozenset(named - set(right.not_yet)))
    return found


def _box(placed: list[Placed]) -> Box | None:
    """Return what holds all positions that are told."""
    north = [float(one.position[0]) for one in placed if one.position[0]]
    east = [float(one.position[1]) for one in placed if one.position[1]]
    if not north:
        return None
    return Box(min(east), max(east), max(north), min(north))


def survey_dataset(
    about: SurveyAbout, creators: tuple[str, ...], licence: str, today: dt.date, *, invented: bool
) -> Dataset:
    """Describe a survey as a data set."""
    name, protocol = about.survey.name, PROTOCOLS[about.plan.method]
    sites = len({one.site for one in about.visits})
    abstract = (
        f"A survey of stony corals to genus, {name}, by {about.programme}: {protocol}, "
        f"{len(about.transects)} transects at {sites} sites, {about.lines} lines on slates."
    )
    absent = _ABSENCE if about.context.searched and about.absences else _NO_ABSENCE
    methods = (
        f"Sampling: {protocol}. Strata were sampled apart; the transect is the unit.",
        "Identification: by eye, to genus, by observers whose names stand with each record. A "
        "coral that could not be named stays distinct from no coral. A random share of the "
        "records was drawn to be read again, blind; both readings are given.",
        absent,
    )
    days = about.days or (None, None)
    said = "invented" in about.programme.casefold()
    return Dataset(
        f"corallum:{about.survey.id}", f"{name}, {about.programme}", abstract, about.programme,
        creators, today, licence, days[0], days[1], about.programme, about.box, about.taxa,
        methods, (_GUARD,), invented or said,
    )  # fmt: skip
