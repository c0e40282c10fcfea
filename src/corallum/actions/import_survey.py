"""Take a survey in out of an archive: all of it, or every fault of it at once.

Events keep the ids that they have there, so that the same survey is known when it comes a
second time. People and sites are found by their names; sites that are not here are added.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

import numpy as np

from corallum.actions.slates import resolver_of, slate_faults
from corallum.actions.survey_plans import check_effort
from corallum.actions.unit_of_work import Unit, check_line, unit_of_work
from corallum.errors import Fault, InputError, UnknownNameError
from corallum.exchange.sheet import shown
from corallum.exchange.survey_archive.bounds import impossible_numbers
from corallum.exchange.survey_archive.read import ArchivedSlate, ArchivedSurvey, read_survey_archive
from corallum.records.programme import Person, Role, Site
from corallum.records.survey import SCATTERS, Decision, Slate, SurveyPlan
from corallum.records.survey_checks import RULES
from corallum.records.survey_json import plan_to_text
from corallum.reference.genera import REGIONS
from corallum.reference.said import SaidResolver
from corallum.store import people as store
from corallum.store import schema, surveys
from corallum.store.history import Act, add_row, write_entry
from corallum.store.programme import Programme

__all__ = ["ArchiveFound", "ImportSurvey", "import_survey", "look_at_survey"]

_MOST_FAULTS = 100
_IMPORT = "import archive"


@dataclass(frozen=True, slots=True)
class ImportSurvey:
    """An archive to take in.

    Parameters
    ----------
    path : Path
        The zip.
    name : str
        Of the new survey.
    people : mapping of str to str
        What somebody of the archive is called here, where that differs.
    """

    path: Path
    name: str
    people: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ArchiveFound:
    """What an archive holds.

    Parameters
    ----------
    survey : ArchivedSurvey
        As read.
    name : str
        That the survey gets here.
    new_sites : tuple of str
        Names of sites that are not here yet.
    """

    survey: ArchivedSurvey
    name: str
    new_sites: tuple[str, ...]

    @property
    def lines(self) -> int:
        """Lines on all slates."""
        return sum(len(slate.lines) for slate in self.survey.slates.values())


def look_at_survey(
    programme: Programme, command: ImportSurvey, today: dt.date | None = None
) -> ArchiveFound:
    """Read an archive, and check it against the programme; nothing is written.

    Raises
    ------
    InputError
        With every fault of it at once.
    """
    name = check_line(command.name, "name")
    found = read_survey_archive(command.path)
    check = _Check(programme, command, found)
    faults = list(check.faults(name, today))
    if faults:
        more = len(faults) - _MOST_FAULTS
        rest = [Fault(str(command.path), "", "no faults", f"{more} more", "Mend these first.")]
        raise InputError(faults[:_MOST_FAULTS] + (rest if more > 0 else []))
    new = tuple(
        sorted(one.name for one in found.sites.values() if one.name.casefold() not in check.sites)
    )
    return ArchiveFound(found, name, new)


class _Check:
    """Finds what in an archive does not fit the programme."""

    def __init__(self, programme: Programme, command: ImportSurvey, found: ArchivedSurvey) -> None:
        self.file, self.command, self.found = str(command.path), command, found
        self.resolver: SaidResolver = resolver_of(programme)
        with programme.read() as connection:
            self.events = {one.id: one for one in store.all_events(connection, None, None)}
            self.people = {one.name: one for one in store.all_people(connection)}
            self.sites: dict[str, Site] = {
                one.name.casefold(): one for one in store.all_sites(connection)
            }
        self.site_ids = {one.id for one in self.sites.values()}

    def faults(self, name: str, today: dt.date | None) -> Iterator[Fault]:
        """Yield every fault."""
        known = [id_ for id_ in (self.found.id, *self.found.transects) if id_ in self.events]
        if known:
            kept = self.events[known[0]].name
            told = f"one that is here already, as {kept!r}"
            yield self._fault("", "a survey that is not here yet", told, "It need not come again.")
            return
        taken = {one.name.casefold() for one in self.events.values() if one.kind == "survey"}
        if name.casefold() in taken:
            yield self._fault("name", "a name of its own", shown(name), "Choose another name.")
        yield from self._people()
        yield from self._sites()
        yield from self._plan()
        for slate in self.found.slates.values():
            yield from self._slate(slate, today)
        yield from self._labels()
        yield from self._decided()

    def _fault(self, place: str, expected: str, found: str, remedy: str) -> Fault:
        return Fault(self.file, place, expected, found, remedy)

    def _people(self) -> Iterator[Fault]:
        """Find people that nobody here is."""
        found = self.found
        wanted = {one.observer for one in found.slates.values()}
        wanted |= {one.person for one in found.readings} | {one.person for one in found.answers}
        wanted |= {one.asked_of for one in found.draws if one.asked_of is not None}
        wanted |= set(found.plan.observers) if found.plan is not None else set()
        here = ", ".join(sorted(self.people)[:20])
        for one in sorted(wanted):
            if self.command.people.get(one, one) not in self.people:
                remedy = f"Add them, or say who it is: --person {shown(one + '=NAME')}."
                yield self._fault("people", f"one of {here}", shown(one), remedy)

    def _sites(self) -> Iterator[Fault]:
        """Find sites that can't be added."""
        names: set[str] = set()
        for site in self.found.sites.values():
            place = f"site {shown(site.name)}"
            if site.name.casefold() in names:
                yield self._fault(place, "a name of its own", "it again", "Mend the archive.")
            names.add(site.name.casefold())
            if site.name.casefold() in self.sites:
                continue
            if site.id in self.site_ids or not _is_id(site.id):
                told = shown(site.id)
                remedy = "Export it again, or rename the site here."
                yield self._fault(place, "an id that no other site has", told, remedy)
            if site.region not in REGIONS:
                expected = f"one of {', '.join(REGIONS)}"
                yield self._fault(place, expected, shown(site.region), "Mend its region.")
            if not (abs(site.latitude or 0) <= 90 and abs(site.longitude or 0) <= 180):
                told = f"{site.latitude} and {site.longitude}"
                yield self._fault(place, "degrees north and east", told, "Mend them.")

    def _plan(self) -> Iterator[Fault]:
        """Find what no plan can hold."""
        plan, found = self.found.plan, self.found
        if plan is None:
            yield self._fault("plan", "a plan", "none", "Export it again.")
            return
        for one in check_effort(plan.method, plan.effort):
            yield replace(one, where=self.file)
        planned = [site for stratum in plan.strata for site in stratum.sites]
        visited = {one.site for one in found.visits.values()}
        if len(set(planned)) != len(planned) or not visited <= set(planned) <= found.sites.keys():
            expected = "each site of the archive in one stratum"
            yield self._fault("plan", expected, "other sites", "Export it again.")
        fits = 0 <= plan.second_share <= 1 and plan.scatter in SCATTERS
        if not fits or not all(one.area > 0 for one in plan.strata):
            expected = "a share from 0 to 1, areas above 0, and a way to scatter points"
            yield self._fault("plan", expected, "others", "Export it again.")
        events = (found.id, *found.visits, *found.transects)
        for id_ in [one for one in events if not _is_id(one)][:5]:
            yield self._fault("event", "an id of 12 signs", shown(id_), "Export it again.")

    def _slate(self, slate: ArchivedSlate, today: dt.date | None) -> Iterator[Fault]:
        """Find depths, efforts and days that can't be, and a slate that is there twice."""
        plan = self.found.plan
        if plan is not None and slate.method is not plan.method:
            told = slate.method.value
            yield self._fault(f"row {slate.row}", plan.method.value, told, "Mend its method.")
            return
        for one in slate_faults(slate.method, slate.effort, slate.depth_m, slate.date, today):
            yield replace(one, where=self.file, place=f"row {slate.row}, {one.place}")
        for number, line in enumerate(slate.lines, start=1):
            for name, expected, told in impossible_numbers(line):
                place = f"{slate.id}, line {number}, {name}"
                yield self._fault(place, expected, told, "Mend it, or export it again.")

    def _labels(self) -> Iterator[Fault]:
        """Find names that mean nothing, or another thing, in the reference here."""
        said = {(line.label, line.kind) for one in self.found.slates.values() for line in one.lines}
        said |= {(one.label, one.kind) for one in self.found.readings}
        for label, kind in sorted(said):
            try:
                means = self.resolver.resolve(label)
                told = f"{shown(label)}, which is {means.label} here"
                good = (means.label, means.kind) == (label, kind)
            except UnknownNameError:
                told, good = shown(label), False
            if not good:
                remedy = "Bring the reference here up to date, or mend the archive."
                yield self._fault("names", f"a {kind} of the reference here", told, remedy)

    def _decided(self) -> Iterator[Fault]:
        """Find readings and decisions on lines that are not there."""
        found = self.found
        records = [(one.slate, one.line) for one in found.readings]
        records += [record for draw in found.draws for record in draw.records]
        records += [(one.slate, one.line) for one in found.answers if one.line is not None]
        for slate, line in dict.fromkeys(records):
            if not 1 <= line <= len(found.slates[slate].lines):
                remedy = "Export it again."
                yield self._fault(slate, "a line of the slate", f"line {line}", remedy)
        for one in found.answers:
            if one.rule not in RULES or one.decision not in set(Decision):
                told = shown(f"{one.rule}: {one.decision}")
                expected = "a check and a decision that are known"
                yield self._fault(one.slate, expected, told, "Mend it.")


def _is_id(text: str) -> bool:
    """Whether a text can be an id here."""
    return len(text) == 12 and text.isascii() and text.isalnum() and text == text.lower()


def import_survey(
    programme: Programme,
    command: ImportSurvey,
    now: dt.datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> ArchiveFound:
    """Write a survey out of an archive, or nothing of it.

    Second readings and decisions on flags are written in the name of who made them; that
    they came in an archive, and who took it in, stands before them in the history.

    Raises
    ------
    InputError
        With every fault of it at once; nothing was written.
    """
    with unit_of_work(programme, person, now, Role.LEAD, "import surveys") as unit:
        found = look_at_survey(programme, command, now.date())
        detail = {"file": command.path.name, "sha256": _hash(command.path), "survey": found.name}
        write_entry(unit.connection, unit.act, _IMPORT, detail)
        _Writer(unit, command, found).write()
    return found


def _hash(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


class _Writer:
    """Writes a survey that has been checked."""

    def __init__(self, unit: Unit, command: ImportSurvey, found: ArchiveFound) -> None:
        self.unit, self.command, self.found = unit, command, found
        self.survey = found.survey
        people = {one.name: one for one in store.all_people(unit.connection)}
        self._people: dict[str, Person] = people
        self.sites = {one.name.casefold(): one.id for one in store.all_sites(unit.connection)}
        self.slates: dict[str, int] = {}
        self._to = unit.connection, unit.act

    def write(self) -> None:
        """Write everything, in the order in which it hangs together."""
        self._sites()
        self._events()
        for one in self.survey.slates.values():
            self.slates[one.id] = self._slate(one)
        self._draws()
        self._readings()
        self._answers()

    def person(self, name: str) -> str:
        """Return the id of somebody of the archive."""
        return self._people[self.command.people.get(name, name)].id

    def site(self, id_: str) -> str:
        """Return the id here of a site of the archive."""
        return self.sites[self.survey.sites[id_].name.casefold()]

    def _sites(self) -> None:
        """Add the sites that are not here."""
        for one in self.survey.sites.values():
            if one.name.casefold() in self.sites:
                continue
            store.insert_keyed(*self._to, "add site", schema.site, asdict(one))
            self.sites[one.name.casefold()] = one.id

    def _events(self) -> None:
        """Add the survey, its plan, visits and transects."""
        survey = self.survey
        self._event(survey.id, "survey", (None, None), (self.found.name, survey.date, survey.note))
        row = {"id": survey.id, "plan": plan_to_text(self._plan())}
        store.insert_keyed(*self._to, "plan survey", schema.survey_plan, row)
        for kind, events in (("visit", survey.visits), ("transect", survey.transects)):
            for one in events.values():
                inside = (one.parent, self.site(one.site))
                self._event(one.id, kind, inside, (one.name, one.date, one.note))

    def _event(
        self,
        id_: str,
        kind: str,
        inside: tuple[str | None, str | None],
        about: tuple[str, dt.date | None, str],
    ) -> None:
        """Add one event."""
        row = {
            "id": id_, "kind": kind, "parent": inside[0], "site": inside[1], "name": about[0],
            "date": None if about[1] is None else about[1].isoformat(), "note": about[2],
        }  # fmt: skip
        store.insert_keyed(*self._to, "add event", schema.event, row)

    def _plan(self) -> SurveyPlan:
        """Return the plan with the ids of this programme."""
        plan = self.survey.plan
        if plan is None:  # pragma: no cover  refused before
            raise InputError([])
        known = plan.follows in surveys.plans(self.unit.connection)
        return replace(
            plan,
            strata=tuple(
                replace(one, sites=tuple(map(self.site, one.sites))) for one in plan.strata
            ),
            observers=tuple(map(self.person, plan.observers)),
            follows=plan.follows if known else None,
            same_transects=plan.same_transects and known,
        )

    def _slate(self, one: ArchivedSlate) -> int:
        """Write a slate; return its entry."""
        slate = Slate(
            0, one.transect, one.method, self.person(one.observer), one.date, one.depth_m,
            one.effort, one.lines, None, one.source, one.note,
            self.unit.person.id, self.unit.act.now,
        )  # fmt: skip
        return surveys.insert_slate(self.unit.connection, self.unit.act, self.survey.id, slate)

    def _draws(self) -> None:
        """Write which records were drawn to be read again."""
        for one in self.survey.draws:
            records = [[self.slates[slate], line] for slate, line in one.records]
            row = {
                "survey": self.survey.id, "share": one.share,
                "asked_of": None if one.asked_of is None else self.person(one.asked_of),
                "records": json.dumps(records), "strata": json.dumps(dict(one.strata)),
            }  # fmt: skip
            add_row(self.unit.connection, self.unit.act, "draw readings", schema.reading_draw, row)

    def _readings(self) -> None:
        """Write second readings in the name of who read."""
        for one in self.survey.readings:
            row = {"slate": self.slates[one.slate], "line": one.line, "said": one.said,
                   "label": one.label, "kind": one.kind, "note": one.note}  # fmt: skip
            act = Act(self.person(one.person), self.unit.act.now)
            add_row(self.unit.connection, act, "read record", schema.record_reading, row)

    def _answers(self) -> None:
        """Write decisions on flags in the name of who decided."""
        touched = set()
        for one in self.survey.answers:
            slate = self.slates[one.slate]
            row = {"slate": slate, "line": one.line, "rule": one.rule,
                   "decision": one.decision, "note": one.note}  # fmt: skip
            act = Act(self.person(one.person), self.unit.act.now)
            add_row(self.unit.connection, act, "answer flag", schema.flag_answer, row)
            touched.add(slate)
        for slate in sorted(touched):
            surveys.rewrite_records(self.unit.connection, slate)
