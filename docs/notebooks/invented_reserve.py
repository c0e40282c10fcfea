# ruff: noqa: INP001  beside the notebooks that use it, not a package
"""A small programme to try notebooks on: reef, sites, people and records are all invented.

Two surveys of the same transects, before and after an invented storm that broke half of the
*Acropora*. Other observers came for the second, and they name other genera wrongly. As the
reef is invented, the truth is known, and a corrected figure can be held against it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from corallum.actions.people import AddPerson, add_person, list_people
from corallum.actions.places import AddSite, add_site
from corallum.actions.programmes import CreateProgramme, create_programme
from corallum.actions.record_readings import DrawReadings, ReadRecord, draw_readings, read_record
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_plans import PlanSurvey, SurveyView, plan_survey
from corallum.records.survey import Effort, Stratum
from corallum.store.programme import Programme

__all__ = ["AFTER", "BEFORE", "make_reserve"]

BEFORE, AFTER = "Spring (invented)", "Autumn (invented)"
NOW = dt.datetime(2026, 10, 10, 9, 30, tzinfo=dt.UTC)
DATES = {BEFORE: dt.date(2026, 3, 14), AFTER: dt.date(2026, 10, 8)}
TAPE_CM, RECORDS, FALL, READ_AGAIN = 2000, 50, 0.5, 0.3
SITES = ("North Ledge", "South Ledge", "Inner Flat", "Outer Flat")
REEF = {
    "Porites": 0.2, "Acropora": 0.2, "Favites": 0.12, "Goniastrea": 0.1, "Pocillopora": 0.08,
    "rock": 0.2, "sand": 0.1,
}  # fmt: skip
# What each observer takes for what, and how often.
MIX = {
    "Observer 1": {"Favites": ("Goniastrea", 0.4)},
    "Observer 2": {"Goniastrea": ("Favites", 0.5)},
}
Truth = dict[str, dict[str, float]]


def make_reserve(folder: str | Path) -> Truth:
    """Make the programme in a new folder.

    Parameters
    ----------
    folder : str or Path
        New or empty.

    Returns
    -------
    dict
        Name of the survey: what truly lay under its tapes, % of the reef by genus.
    """
    rng = np.random.default_rng(11)
    command = CreateProgramme("Invented reserve", ("red_sea",), "Lead")
    programme = create_programme(Path(folder), command, NOW, rng)
    try:
        with programme.together():
            return _fill(programme, rng)
    finally:
        programme.close()


def _fill(programme: Programme, rng: np.random.Generator) -> Truth:
    """Add people, sites and both surveys."""
    lead = list_people(programme)[0].id
    people = {"Lead": lead}
    for name in (*MIX, "Second reader"):
        people[name] = add_person(programme, AddPerson(name, "observer"), NOW, rng, lead).id
    sites = tuple(
        add_site(programme, AddSite(name, "red_sea"), NOW, rng, lead).id for name in SITES
    )
    strata = (Stratum("slope", 3, sites[:2]), Stratum("flat", 1, sites[2:]))
    effort = Effort(length_cm=TAPE_CM)
    plan = PlanSurvey(
        BEFORE, "line_intercept", strata, 2, effort, (people["Observer 1"],),
        date=DATES[BEFORE], note="Invented: neither the reef nor its observers exist.",
    )  # fmt: skip
    first = plan_survey(programme, plan, NOW, rng, lead)
    again = replace(
        plan, name=AFTER, observers=(people["Observer 2"],), date=DATES[AFTER],
        follows=first.event.id, same_transects=True,
    )  # fmt: skip
    second = plan_survey(programme, again, NOW, rng, lead)
    return {
        BEFORE: _read(programme, first, ("Observer 1", people), rng, fall=0.0),
        AFTER: _read(programme, second, ("Observer 2", people), rng, fall=FALL),
    }


def _read(
    programme: Programme,
    survey: SurveyView,
    by: tuple[str, Mapping[str, str]],
    rng: np.random.Generator,
    *,
    fall: float,
) -> dict[str, float]:
    """Write every slate and read a share again; return what truly lay there."""
    observer, people = by
    # The reef has a stream of its own: both surveys meet the same colonies.
    reef = np.random.default_rng(5)
    true: dict[tuple[int, int], str] = {}
    cover: dict[str, float] = dict.fromkeys(REEF, 0.0)
    areas = [one.area for one in survey.plan.strata]
    for transect in survey.transects:
        # Figures are of the whole reef: a transect stands for its part of its stratum's area.
        area = areas[survey.stratum_of(transect.site or "")]
        share = area / sum(areas) / (len(survey.transects) / len(areas))
        names = [str(one) for one in reef.choice(list(REEF), RECORDS, p=list(REEF.values()))]
        broken = reef.random(RECORDS) < fall
        names = ["rock" if gone and name == "Acropora" else name
                 for name, gone in zip(names, broken, strict=True)]  # fmt: skip
        ends = np.sort(reef.choice(np.arange(1, TAPE_CM), RECORDS - 1, replace=False))
        lengths = np.diff([0, *ends.tolist(), TAPE_CM])
        for name, length in zip(names, lengths.tolist(), strict=True):
            cover[name] += 100 * share * length / TAPE_CM
        said = _said(names, MIX[observer], rng)
        lines = zip([*ends.tolist(), TAPE_CM], said, strict=True)
        text = "\n".join(f"{end} {name}" for end, name in lines)
        command = WriteSlate(transect.id, text, date=survey.event.date, depth_m=6.0)
        slate = write_slate(programme, command, NOW, rng, people[observer])
        true |= {(slate.history, n): name for n, name in enumerate(names, start=1)}
    drawn = draw_readings(
        programme, DrawReadings(survey.event.id, READ_AGAIN), NOW, rng, people["Lead"]
    )
    for slate_, line in drawn.records:
        command_ = ReadRecord(slate_, line, true[slate_, line])
        read_record(programme, command_, NOW, rng, people["Second reader"])
    return cover


def _said(
    names: Sequence[str], mix: Mapping[str, tuple[str, float]], rng: np.random.Generator
) -> list[str]:
    """Return what an observer calls each."""
    return [mix[name][0] if name in mix and rng.random() < mix[name][1] else name for name in names]
