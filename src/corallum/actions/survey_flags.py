"""What looks wrong on a survey's slates, and who resolved it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from corallum.actions.programme_reference import programme_library
from corallum.actions.qualifications import survey_rights
from corallum.actions.unit_of_work import check_choice, check_notes, check_number, unit_of_work
from corallum.errors import Fault, InputError
from corallum.records.programme import Role
from corallum.records.survey import Decision, Flag, FlagAnswer, Slate
from corallum.records.survey_checks import RULES, Known
from corallum.records.survey_cross_checks import check_slates
from corallum.reference.ranges import genus_ranges
from corallum.reference.reference import Reference
from corallum.store import people as store
from corallum.store import schema, surveys
from corallum.store.history import add_row
from corallum.store.photo_rows import all_photos
from corallum.store.programme import Programme

__all__ = ["AnswerFlag", "FlagLine", "answer_flag", "flags_of_survey", "known_of"]

# The reference's ranges hold 95 % of colonies: what lies this much beyond is pointed out.
_WIDER, _LARGER = 1.5, 3.0


@dataclass(frozen=True, slots=True)
class AnswerFlag:
    """A decision on a flag: stands, or left_out."""

    slate: int
    line: int | None
    rule: str
    decision: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class FlagLine:
    """A flag, its slate, and the decision on it if there is one."""

    flag: Flag
    slate: Slate
    answer: FlagAnswer | None


def flags_of_survey(programme: Programme, survey: str) -> tuple[FlagLine, ...]:
    """Check a survey's slates; flags that wait come first."""
    with programme.read() as connection:
        slates = surveys.slates_of(connection, survey)
        answers = surveys.flag_answers_of(connection, survey)
    newest = {(one.slate, one.line, one.rule): one for one in answers}
    by_number = {slate.history: slate for slate in slates}
    found = [
        FlagLine(flag, by_number[flag.slate], newest.get((flag.slate, flag.line, flag.rule)))
        for flag in check_slates(slates, known_of(programme, survey, slates))
    ]
    return tuple(sorted(found, key=lambda one: one.answer is not None))


def known_of(programme: Programme, survey: str, slates: Sequence[Slate]) -> Known:
    """Return what the checks of a survey go by."""
    reference = programme_library(programme).reference
    with programme.read() as connection:
        plan = surveys.plan_of(connection, survey)
        sites = {one.id: one for one in store.all_sites(connection)}
        transects = surveys.transects_of(connection, survey)
        photos = frozenset(photo.sha256 for photo in all_photos(connection))
    return Known(
        plan,
        {one.id: one.site or "" for one in transects},
        {name: genus.regions for name, genus in reference.entries.genera.items()},
        _depths(reference),
        _sizes(reference),
        {id_: site.region for id_, site in sites.items()},
        _qualified(programme, slates, reference),
        photos,
    )


def _qualified(
    programme: Programme, slates: Sequence[Slate], reference: Reference
) -> dict[str, tuple[str, ...] | None]:
    """Return what each observer may record until the last of their own dives."""
    last: dict[str, dt.date] = {}
    for slate in slates:
        last[slate.observer] = max(slate.date, last.get(slate.observer, slate.date))
    region = programme.settings.regions[0]
    return {
        right.person: _may(right.genera, right.not_yet, reference)
        for day in sorted(set(last.values()))
        for right in survey_rights(programme, region, day)
        if last.get(right.person) == day
    }


def _may(
    genera: tuple[str, ...] | None, not_yet: tuple[str, ...], reference: Reference
) -> tuple[str, ...] | None:
    """Return the genera that somebody may record; None is all."""
    if genera is None and not not_yet:
        return None
    named = genera if genera is not None else tuple(reference.entries.genera)
    return tuple(one for one in named if one not in not_yet)


def _depths(reference: Reference) -> Mapping[str, tuple[float, float]]:
    """Return depths at which genera are no surprise, metres."""
    return {
        genus: (low / _WIDER, high * _WIDER)
        for genus, (low, high) in genus_ranges(reference, "depth_m").items()
    }


def _sizes(reference: Reference) -> Mapping[str, float]:
    """Return colony diameters that are no surprise, centimetres."""
    ranges = genus_ranges(reference, "colony_diameter_cm")
    return {genus: high * _LARGER for genus, (_, high) in ranges.items()}


def answer_flag(
    programme: Programme,
    command: AnswerFlag,
    now: dt.datetime,
    rng: np.random.Generator,  # noqa: ARG001  all actions are called alike
    person: str,
) -> FlagAnswer:
    """Decide on a flag; what is left out no longer counts in any figure.

    Raises
    ------
    InputError
        For a rule, line or decision that can't be, or a line left out without a reason.
    """
    number = check_number(command.slate, "slate")
    decision = check_choice(command.decision, "decision", tuple(one.value for one in Decision))
    rule = check_choice(command.rule, "rule", tuple(RULES))
    note = check_notes(command.note, "reason", empty=decision == Decision.STANDS)
    with unit_of_work(programme, person, now, Role.LEAD, "decide on flags") as unit:
        slate = surveys.slate_of(unit.connection, number)
        survey = surveys.survey_of_transect(unit.connection, slate.transect)
        line = command.line
        if line is not None and not 1 <= line <= len(slate.lines):
            expected = f"1 to {len(slate.lines)}"
            raise InputError([Fault("flag", "line", expected, str(line), "Look again.")])
        row = {"slate": number, "line": line, "rule": rule, "decision": decision, "note": note}
        add_row(unit.connection, unit.act, "answer flag", schema.flag_answer, row)
        surveys.rewrite_records(unit.connection, number)
        return surveys.flag_answers_of(unit.connection, survey)[-1]
