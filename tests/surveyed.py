"""Invented surveys for tests of results: two on the same photo transects, and a belt.

In each photo survey stratum "shallow" (area 3) has two sites and "deep" (area 1) two, each
site two transects of one photo with ten points. So cover is counted by hand: the mean of a
stratum's transects, weighted 3 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from corallum.actions.photo_points import AddFrame, add_frame
from corallum.actions.places import AddSite, add_site
from corallum.actions.record_readings import (
    DrawReadings,
    ReadRecord,
    draw_readings,
    read_record,
)
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_plans import PlanSurvey, SurveyView, get_survey, plan_survey
from corallum.records.survey import Effort, Line, Stratum
from invented import Team, picture

__all__ = ["AFTER", "BEFORE", "BELT", "FORMULA", "Surveyed", "make_surveys"]

# Points named (Porites, Favites) of ten; the others are sand. By transect: four of the
# shallow stratum, then four of the deep one.
BEFORE = [(4, 2), (5, 1), (3, 3), (4, 2), (2, 1), (1, 2), (2, 0), (3, 1)]
AFTER = [(3, 2), (3, 1), (1, 2), (2, 3), (2, 1), (1, 1), (1, 1), (3, 2)]
# Diameters in cm by transect of the belt.
BELT = ["porites 3\nporites 12\nfavites 30", "porites 4\nacropora 22", "acropora 50\nfavites 9"]
# A name that a spreadsheet would run, and a page that doesn't escape would too.
FORMULA = '=1+1 <b>"reef"</b>'


@dataclass
class Surveyed:
    """A programme with surveys; ids of the events, and the sites by name."""

    team: Team
    before: str
    after: str
    belt: str
    empty: str
    sites: dict[str, str]


def make_surveys(folder: Path, *, readings: bool = True) -> Surveyed:
    """Make the programme; with every record of both photo surveys read again, or none."""
    team = Team(folder)
    names = (FORMULA, "Site B", "Site C", "Site D")
    sites = {}
    for i, name in enumerate(names):
        place = (None, None) if i == 3 else (0.1 * i, 35 + 0.1 * i)
        made = add_site(team.programme, AddSite(name, "red_sea", *place), *team.by())
        sites[name] = made.id
    ids = list(sites.values())
    strata = (Stratum("shallow", 3, tuple(ids[:2])), Stratum("deep", 1, tuple(ids[2:])))
    before = _photo_survey(team, "Reef 2025", strata, None)
    _write(team, before, BEFORE, readings=readings)
    after = _photo_survey(team, "Reef 2026", strata, before.event.id)
    _write(team, after, AFTER, readings=readings)
    belt = _belt(team, ids)
    empty = _photo_survey(team, "Reef 2027", strata, None)
    return Surveyed(team, before.event.id, after.event.id, belt, empty.event.id, sites)


def _photo_survey(
    team: Team, name: str, strata: tuple[Stratum, ...], follows: str | None
) -> SurveyView:
    effort = Effort(frames=1, points=10)
    plan = PlanSurvey(
        name, "photo_points", strata, 2, effort, (team.observer,), follows=follows,
        same_transects=follows is not None,
    )  # fmt: skip
    return plan_survey(team.programme, plan, *team.by(team.lead))


def _write(team: Team, view: SurveyView, counts: list[tuple[int, int]], *, readings: bool) -> None:
    """Write a slate for each transect, stratum by stratum; one Favites in four was no Favites."""
    sites = [site for stratum in view.plan.strata for site in stratum.sites]
    order = sorted(view.transects, key=lambda one: (sites.index(one.site or ""), one.name))
    for k, (transect, (porites, favites)) in enumerate(zip(order, counts, strict=True)):
        seed = k + (100 if view.plan.follows else 1)
        photo = add_frame(
            team.programme, AddFrame(transect.id, picture(seed)), *team.by()
        ).photo  # fmt: skip
        said = ["Porites"] * porites + ["Favites"] * favites
        said += ["sand"] * (10 - len(said))
        kinds = {"sand": "other"}
        lines = tuple(
            Line(name, name, kinds.get(name, "genus"), frame=1, point=i + 1, x=0.5, y=0.5,
                 photo=photo)
            for i, name in enumerate(said)
        )  # fmt: skip
        write_slate(team.programme, WriteSlate(transect.id, lines, depth_m=5.0), *team.by())
    if readings:
        _read_again(team, view.event.id)


def _read_again(team: Team, survey: str) -> None:
    drawn = draw_readings(team.programme, DrawReadings(survey, 1.0), *team.by(team.lead))
    met = 0
    labels = _labels(team, survey)
    for slate, line in drawn.records:
        true = labels[slate, line]
        if true == "Favites":
            met += 1
            true = "Dipsastraea" if met % 4 == 0 else true
        read_record(team.programme, ReadRecord(slate, line, true), *team.by(team.second))


def _labels(team: Team, survey: str) -> dict[tuple[int, int], str]:
    slates = get_survey(team.programme, survey).slates.values()
    return {
        (slate.history, n): line.label
        for of_transect in slates
        for slate in of_transect
        for n, line in enumerate(slate.lines, start=1)
    }


def _belt(team: Team, sites: list[str]) -> str:
    effort = Effort(length_cm=1000, width_cm=100)
    strata = (Stratum("all", 1, (sites[1],)),)
    plan = PlanSurvey("Belts 2026", "belt", strata, 3, effort, (team.observer,))
    view = plan_survey(team.programme, plan, *team.by(team.lead))
    for transect, text in zip(view.transects, BELT, strict=True):
        write_slate(team.programme, WriteSlate(transect.id, text, depth_m=4.0), *team.by())
    return view.event.id
