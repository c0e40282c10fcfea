"""Surveys of the invented reserve: two rounds of the same transects, and photo points begun.

Between the rounds an invented storm broke branching corals, and other observers came,
who mix up other genera. Second readings tell the truth, and so the correction can be seen
to work. Photos of lines are drawings by the program.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from corallum.actions.demo_recipe import InventedSurveys
from corallum.actions.photo_points import AddFrame, NamePoint, add_frame, name_point
from corallum.actions.places import list_sites
from corallum.actions.record_readings import DrawReadings, ReadRecord, draw_readings, read_record
from corallum.actions.slates import WriteSlate, resolver_of, write_slate
from corallum.actions.survey_flags import AnswerFlag, answer_flag, flags_of_survey
from corallum.actions.survey_plans import PlanSurvey, SurveyView, plan_survey
from corallum.estimate.estimate import Floats
from corallum.records.survey import Effort, Line, Stratum
from corallum.reference.said import SaidResolver
from corallum.store.programme import Programme

__all__ = ["InventedReef", "invent_surveys"]

_DAYS_AGO = {"before": 380, "after": 15}
_NAMES = {"before": "Before the storm (invented)", "after": "After the storm (invented)"}
_PHOTO_NAME = "Photo points, begun (invented)"
# How alike transects of a site are, and how long an intercept is (cm).
_ALIKE, _MEAN_CM = 25.0, 14.0
# One line in so many could not be named by its observer; second readers err so often.
_UNNAMED, _READER_ERRS = 0.02, 0.03
_FRAMES, _POINTS, _NAMED = 3, 10, 12


@dataclass(frozen=True, slots=True)
class InventedReef:
    """What the surveys are invented from.

    ``photos`` are the hashes of drawings by genus, used up as they are given out;
    ``frames`` are the bytes of some.
    """

    programme: Programme
    people: Mapping[str, str]
    recipe: InventedSurveys
    photos: Mapping[str, list[str]]
    frames: Sequence[bytes]


def invent_surveys(reef: InventedReef, now: dt.datetime, rng: np.random.Generator) -> None:
    """Plan, read, check and read again both surveys, and begin the third."""
    before = _survey(reef, "before", now, rng, None)
    _survey(reef, "after", now, rng, before)
    if reef.frames:
        _photo_points(reef, now, rng)


def _plan(reef: InventedReef, name: str, method: str, effort: Effort) -> PlanSurvey:
    """Return the plan that all three share."""
    sites = {site.name: site.id for site in list_sites(reef.programme)}
    strata = tuple(
        Stratum(stratum, area, tuple(sites[one] for one in names))
        for stratum, area, names in reef.recipe.strata
    )
    note = "Invented: neither the reef nor its observers exist."
    return PlanSurvey(
        name, method, strata, reef.recipe.transects, effort,
        second_share=reef.recipe.second_share, note=note,
    )  # fmt: skip


def _survey(
    reef: InventedReef,
    when: str,
    now: dt.datetime,
    rng: np.random.Generator,
    before: SurveyView | None,
) -> SurveyView:
    """Make one survey of line intercepts."""
    lead = reef.people["Lead"]
    names = reef.recipe.read[when]
    at = now - dt.timedelta(days=_DAYS_AGO[when])
    plan = replace(
        _plan(reef, _NAMES[when], "line_intercept", Effort(length_cm=reef.recipe.tape_cm)),
        observers=tuple(reef.people[name] for name in names), date=at.date(),
        follows=None if before is None else before.event.id, same_transects=before is not None,
    )  # fmt: skip
    view = plan_survey(reef.programme, plan, at - dt.timedelta(days=5), rng, lead)
    truth: dict[tuple[int, int], str] = {}
    # The transects of both surveys are the same: drawn from a stream of their own.
    reefs = np.random.default_rng(71)
    for i, transect in enumerate(view.transects):
        name = names[i % len(names)]
        cover = _cover(reef.recipe, reefs, fallen=when == "after")
        lines, true = _read(reef, name, cover, rng)
        depth = float(rng.integers(3, 12))
        command = WriteSlate(transect.id, lines, None, at.date(), depth)
        slate = write_slate(
            reef.programme, command, at + dt.timedelta(hours=2, minutes=i), rng, reef.people[name]
        )
        truth |= {(slate.history, k): genus for k, genus in enumerate(true, start=1)}
    later = at + dt.timedelta(days=1)
    _decide_on_flags(reef, view.event.id, later, rng, every=when == "before")
    draw = draw_readings(reef.programme, DrawReadings(view.event.id), later, rng, lead)
    _read_again(reef, draw.records, truth, later, rng)
    return view


def _cover(recipe: InventedSurveys, rng: np.random.Generator, *, fallen: bool) -> dict[str, float]:
    """Cover of one transect; what fell is rock and turf algae now."""
    shares = np.array(list(recipe.cover.values()))
    found = dict(zip(recipe.cover, rng.dirichlet(_ALIKE * shares / shares.sum()), strict=True))
    if fallen:
        for genus, fall in recipe.fall.items():
            lost = float(found[genus]) * fall
            found[genus] -= lost
            found["rock"] += lost / 2
            found["turf algae"] += lost / 2
    return {name: float(share) for name, share in found.items()}


def _read(
    reef: InventedReef, observer: str, cover: Mapping[str, float], rng: np.random.Generator
) -> tuple[tuple[Line, ...], list[str]]:
    """Lay the tape, and say what the observer says of each intercept."""
    resolver = resolver_of(reef.programme)
    names = list(cover)
    chances: Floats = np.array(list(cover.values()))
    chances /= chances.sum()
    lines: list[Line] = []
    true: list[str] = []
    at = 0.0
    while at < reef.recipe.tape_cm:
        end = min(at + 3 + round(float(rng.exponential(_MEAN_CM))), reef.recipe.tape_cm)
        genus = names[int(rng.choice(len(names), p=chances))]
        said = _said(reef.recipe, observer, genus, resolver, rng)
        meant = resolver.resolve(said)
        # Each drawing belongs to one line only, as each photo does.
        photos = reef.photos.get(genus)
        photo = photos.pop() if photos else None
        # A colony is at least as wide as what the tape crosses of it.
        wide = round(end - at + float(rng.exponential(8.0))) if genus in resolver.genera else None
        lines.append(
            Line(said, meant.label, meant.kind, from_cm=at, to_cm=end, diameter_cm=wide,
                 photo=photo)
        )  # fmt: skip
        true.append(genus)
        at = end
    return tuple(lines), true


def _said(
    recipe: InventedSurveys,
    observer: str,
    genus: str,
    resolver: SaidResolver,
    rng: np.random.Generator,
) -> str:
    """Return what an observer calls something."""
    if genus in resolver.genera and rng.random() < _UNNAMED:
        return "stony coral"
    left = rng.random()
    for other, share in recipe.mix.get(observer, {}).get(genus, {}).items():
        left -= share
        if left < 0:
            return other
    return genus


def _decide_on_flags(
    reef: InventedReef, survey: str, at: dt.datetime, rng: np.random.Generator, *, every: bool
) -> None:
    """Let the lead decide on the flags of a survey, or on a few of them."""
    lead = reef.people["Lead"]
    waiting = [one.flag for one in flags_of_survey(reef.programme, survey) if one.answer is None]
    for flag in waiting if every else waiting[:3]:
        command = AnswerFlag(
            flag.slate, flag.line, flag.rule, "stands", "Invented: looked at, it stands."
        )
        answer_flag(reef.programme, command, at, rng, lead)


def _read_again(
    reef: InventedReef,
    records: Sequence[tuple[int, int]],
    truth: Mapping[tuple[int, int], str],
    at: dt.datetime,
    rng: np.random.Generator,
) -> None:
    """Let the second reader read the records that were drawn."""
    reader = reef.people["Second reader"]
    genera = [name for name in reef.recipe.cover if name[0].isupper()]
    for i, (slate, line) in enumerate(records):
        said = truth[slate, line]
        if said in genera and rng.random() < _READER_ERRS:
            said = genera[int(rng.integers(len(genera)))]
        command = ReadRecord(slate, line, said)
        read_record(reef.programme, command, at + dt.timedelta(seconds=20 * i), rng, reader)


def _photo_points(reef: InventedReef, now: dt.datetime, rng: np.random.Generator) -> None:
    """Begin a survey of photo points: a few frames, some points named."""
    lead, observer = reef.people["Lead"], reef.people["Observer 1"]
    plan = _plan(reef, _PHOTO_NAME, "photo_points", Effort(frames=_FRAMES, points=_POINTS))
    view = plan_survey(reef.programme, plan, now - dt.timedelta(days=3), rng, lead)
    transect = view.transects[0].id
    at = now - dt.timedelta(days=1)
    for data in reef.frames[:_FRAMES]:
        add_frame(reef.programme, AddFrame(transect, data), at, rng, observer)
    for i in range(min(_NAMED, _POINTS * len(reef.frames[:_FRAMES]))):
        said = "Porites" if i % 3 else "rock"
        command = NamePoint(transect, 1 + i // _POINTS, 1 + i % _POINTS, said)
        name_point(reef.programme, command, at + dt.timedelta(seconds=9 * i), rng, observer)
