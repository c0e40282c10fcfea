"""Qualify: what a test tells, begin one, take it item by item, and its outcome."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import Response

from corallum.actions.people import list_people
from corallum.actions.practice_answers import course_of
from corallum.actions.practice_sets import get_set
from corallum.actions.qualification_steps import aim_of
from corallum.actions.qualifications import (
    BeginTest,
    PlanFigures,
    StopTest,
    begin_test,
    list_tests,
    plan_figures,
    standing,
    stop_test,
    survey_rights,
)
from corallum.errors import NotAllowedError, NotFoundError
from corallum.observers.fixed_length import Aim
from corallum.practice.kept import Qualification
from corallum.records.programme import Role
from corallum.web.forms import optional_number
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

Short = Annotated[str, Form(max_length=400)]
Asked = Annotated[str, Query(max_length=12)]


def _share(text: str, otherwise: float) -> float:
    """Read percent."""
    value = optional_number(text, "percent")
    return otherwise if value is None else value / 100


@router.get("/observers/tests")
def all_tests(visit: Visited, good: Asked = "", poor: Asked = "", error: Asked = "") -> Response:
    """Show how often a plan passes whom, the tests, and who may survey what."""
    rate = _share(error, 0.05)
    aim = Aim(_share(good, 0.9), _share(poor, 0.8), rate, rate)
    region = visit.programme.settings.regions[0]
    found = (one for one in list_people(visit.programme) if one.role.covers(Role.OBSERVER))
    people = sorted(found, key=lambda one: one.name)
    return visit.page(
        "tests.html",
        aim=aim, figures=plan_figures(aim), lines=plan_lines(plan_figures(aim)),
        people=people, names={one.id: one.name for one in people},
        tests=list_tests(visit.programme), today=visit.now.date(),
        rights=survey_rights(visit.programme, region, visit.now.date()),
        genera=visit.library.compiled.genera,
    )  # fmt: skip


def plan_lines(figures: PlanFigures) -> dict[str, str]:
    """Return the three curves of the chance to pass as points of a plot, 600 by 240."""
    curves = {
        "own": figures.curve.pass_chance.tolist(),
        "other": list(figures.fixed_passes),
        "third": list(figures.quiz_passes),
    }
    accuracies = figures.curve.accuracies.tolist()
    low, high = accuracies[0], accuracies[-1]
    return {
        name: " ".join(
            f"{60 + 520 * (p - low) / (high - low):.1f},{20 + 200 * (1 - chance):.1f}"
            for p, chance in zip(accuracies, curve, strict=True)
        )
        for name, curve in curves.items()
    }


@router.post("/observers/tests")
def begin(
    visit: Visited,
    person: Short = "",
    genera: Short = "",
    good: Short = "",
    poor: Short = "",
    error: Short = "",
) -> Response:
    """Begin a test."""
    names = tuple(one.strip() for one in genera.split(",") if one.strip())
    rate = _share(error, 0.05)
    aim = Aim(_share(good, 0.9), _share(poor, 0.8), rate, rate)
    made = visit.do(begin_test, BeginTest(person, "", names, aim))
    return visit.go(f"/observers/tests/{made.practice_set}")


def _test_of(visit: Visit, set_id: str) -> Qualification:
    """Return the test that a set belongs to, to its person or a lead."""
    get_set(visit.programme, set_id)
    found = next((one for one in list_tests(visit.programme) if one.practice_set == set_id), None)
    if found is None:
        raise NotFoundError("test", set_id)
    if found.person != visit.person.id and not visit.may("lead"):
        raise NotAllowedError(visit.person.role, "see the tests of others", Role.LEAD)
    return found


@router.get("/observers/tests/{set_id}")
def one_test(visit: Visited, set_id: str) -> Response:
    """Show how a test stands, and its next item to the one who takes it."""
    test = _test_of(visit, set_id)
    now, found = standing(visit.programme, test)
    course = course_of(visit.programme, set_id, test.person)
    return visit.page(
        "test.html",
        test=test, standing=now, set=found, course=course, aim=aim_of(test),
        name={one.id: one.name for one in list_people(visit.programme)}[test.person],
    )  # fmt: skip


@router.post("/observers/tests/{set_id}/stop")
def stop(visit: Visited, set_id: str) -> Response:
    """Break a test off."""
    visit.do(stop_test, StopTest(_test_of(visit, set_id).id))
    return visit.go("/observers/tests")
