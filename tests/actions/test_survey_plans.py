"""A plan lays out strata, visits and transects at once, and refuses what can't be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import count

import pytest

from corallum.actions.survey_plans import (
    ChangePlan,
    PlanSurvey,
    change_plan,
    find_survey,
    get_survey,
    list_surveys,
    plan_survey,
)
from corallum.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from corallum.records.survey import Effort, Stratum
from corallum.store.verify import verify_folder
from invented import Team
from invented_surveys import EFFORTS, Made, add_sites, laid_out

NUMBERS = count(1)
HOSTILE = ("", "  ", "a\nb", "a\x00b", "x" * 1000, "\u202eabc")


@pytest.fixture(scope="module")
def team(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """One programme for all tests here; each plans surveys of its own."""
    found = Team(tmp_path_factory.mktemp("reserve") / "programme")
    yield found
    found.programme.close()


def command(team: Team, **about: object) -> PlanSurvey:
    """A plan that can be, with some of it altered."""
    sites = add_sites(team, 3)
    strata = (Stratum("flat", 2.0, sites[:2]), Stratum("slope", 1.0, sites[2:]))
    plan = PlanSurvey(f"Plan {next(NUMBERS)}", "line_intercept", strata, 3, Effort(length_cm=2000))
    return replace(plan, **about)  # type: ignore[arg-type]


def plan(team: Team, **about: object) -> Made:
    """A survey planned so."""
    return Made(team, plan_survey(team.programme, command(team, **about), *team.by(team.lead)))


def refused(team: Team, **about: object) -> list[str]:
    """What a plan is refused for; nothing of it is written."""
    before = list_surveys(team.programme)
    with pytest.raises(InputError) as caught:
        plan(team, **about)
    assert list_surveys(team.programme) == before
    return [str(fault) for fault in caught.value.faults]


def test_all_transects_are_laid_out(team: Team) -> None:
    """Each site of each stratum has as many transects as planned, under the same survey."""
    view = plan(team, date=date(2026, 3, 1)).view
    # Sites stand in the order of the plan.
    assert [(one.site, one.name) for one in view.transects] == [
        (site, f"T{i}") for stratum in view.plan.strata for site in stratum.sites for i in (1, 2, 3)
    ]
    assert {one.date for one in view.transects} == {date(2026, 3, 1)}
    assert [view.stratum_of(site) for one in view.plan.strata for site in one.sites] == [0, 0, 1]
    assert view.slates == {}


@pytest.mark.parametrize("method", EFFORTS)
def test_every_method_can_be_planned(team: Team, method: str) -> None:
    """A plan comes back as it was made, for each method."""
    made = laid_out(team, "", method, second_share=0.25, scatter="grid", note="by boat")
    kept = get_survey(team.programme, made.id).plan
    assert (kept.method, kept.effort) == (method, EFFORTS[method])
    assert (kept.second_share, kept.scatter, kept.note) == (0.25, "grid", "by boat")
    assert kept.observers == (team.observer,)


@pytest.mark.parametrize("method", EFFORTS)
def test_no_method_goes_without_its_effort(team: Team, method: str) -> None:
    """A plan without what makes its amounts a figure is refused, naming each."""
    needed = {
        "line_intercept": {"length cm"}, "point_intercept": {"points"},
        "photo_points": {"frames", "points"}, "belt": {"length cm", "width cm"},
        "quadrat": {"frames", "frame area m2"}, "quadrat_cover": {"frames"},
    }[method]  # fmt: skip
    found = refused(team, method=method, effort=Effort())
    assert {line.split(", ")[1].split(":")[0] for line in found} == needed


def test_faults_of_a_plan_come_all_at_once(team: Team) -> None:
    """Transects, effort, areas, empty strata and sites in two strata are told together."""
    one, two, three = add_sites(team, 3)
    strata = (
        Stratum("a", -1.0, (one, two)), Stratum("A", math.nan, (two, "nowhere")),
        Stratum("c", 1.0, ()), Stratum("d", math.inf, (three,)),
    )  # fmt: skip
    found = "\n".join(refused(team, strata=strata, transects_per_site=0, effort=Effort(-1.0)))
    for text in (
        "transects a site: expected 1 to 200, found 0", "length cm: expected a number above 0",
        "stratum a, area", "stratum A, area", "stratum d, area",
        "stratum c: expected at least one site", "sites of the programme, found nowhere",
        "expected a name of its own, found it twice", "one stratum for each site, found 2 of them",
    ):  # fmt: skip
        assert text in found


@pytest.mark.parametrize("value", [0.0, -5.0, math.nan, math.inf, 1e300])
def test_an_effort_is_a_number_above_nought(team: Team, value: float) -> None:
    """A tape of no, negative, endless or impossible length is refused."""
    assert len(refused(team, effort=Effort(length_cm=value))) == 1


@pytest.mark.parametrize(
    "about",
    [{"strata": ()}, {"method": "guess"}, {"scatter": "heaps"}, {"second_share": 1.5},
     {"second_share": math.nan}],
)  # fmt: skip
def test_what_no_plan_can_be(team: Team, about: dict[str, object]) -> None:
    """No strata, an unknown method or scatter, and a share above 1 are each one fault."""
    assert len(refused(team, **about)) == 1


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_is_one_short_line(team: Team, name: str) -> None:
    """Blank, long or unprintable names of surveys and strata are refused, each in one line."""
    sites = add_sites(team, 1)
    odd = (Stratum(name, 0.0, (*sites, name)),)
    for found in (
        refused(team, name=name), refused(team, strata=(Stratum(name, 1.0, sites),)),
        refused(team, strata=odd),
    ):  # fmt: skip
        assert all(len(line.splitlines()) == 1 and line.isprintable() for line in found)
        assert all(len(line) < 300 for line in found)


def test_two_surveys_can_not_share_a_name(team: Team) -> None:
    """A name counts as the same in any case."""
    made = plan(team, name="Spring")
    with pytest.raises(ConflictError, match="there is a survey 'SPRING' already"):
        plan(team, name="SPRING")
    for name in ("Spring", "sPRING", made.id):
        assert find_survey(team.programme, name) == made.id
    with pytest.raises(InputError, match=r"expected one of .*Spring.*, found 'Autumn'"):
        find_survey(team.programme, "Autumn")


def test_only_a_lead_plans(team: Team) -> None:
    """Observers and readers may not, nor may they change a plan."""
    wanted = command(team)
    made = plan(team)
    before = list_surveys(team.programme)
    for person in (team.observer, team.reader):
        with pytest.raises(NotAllowedError):
            plan_survey(team.programme, wanted, *team.by(person))
        with pytest.raises(NotAllowedError):
            change_plan(team.programme, ChangePlan(made.id, note="x"), *team.by(person))
    assert list_surveys(team.programme) == before


@pytest.mark.parametrize("id_", ["", "nobody", "../x", "0" * 32, None, 7])
def test_ids_that_can_not_be(team: Team, id_: object) -> None:
    """A survey, observer or survey before that is not there is said to be so."""
    before = list_surveys(team.programme)
    with pytest.raises((InputError, NotFoundError)):
        get_survey(team.programme, id_)  # type: ignore[arg-type]
    with pytest.raises((InputError, NotFoundError)):
        plan(team, observers=(id_,))
    if id_ is not None:
        with pytest.raises((InputError, NotFoundError)):
            plan(team, follows=id_)
    assert list_surveys(team.programme) == before


def test_the_same_transects_are_laid_again(team: Team) -> None:
    """A survey of pairs has the transects of the one before, however many were planned."""
    first = plan(team)
    second = plan(team, follows=first.id, same_transects=True, transects_per_site=1)
    assert [(one.site, one.name) for one in second.view.transects] == [
        (one.site, one.name) for one in first.view.transects
    ]
    alone = plan(team, same_transects=True)
    assert not alone.view.plan.same_transects


def test_a_plan_is_changed_and_the_history_keeps_both(team: Team) -> None:
    """Observers, share and note change one by one; the programme stays sound."""
    made = plan(team, note="first")
    command = ChangePlan(made.id, observers=(team.observer, team.second))
    changed = change_plan(team.programme, command, *team.by(team.lead)).plan
    assert (changed.observers, changed.note) == ((team.observer, team.second), "first")
    changed = change_plan(
        team.programme, ChangePlan(made.id, second_share=0.0, note=""), *team.by(team.lead)
    ).plan
    assert (changed.second_share, changed.note) == (0.0, "")
    assert changed.observers == (team.observer, team.second)
    assert changed.effort == made.view.plan.effort
    with pytest.raises(InputError):
        change_plan(team.programme, ChangePlan(made.id, second_share=2.0), *team.by(team.lead))
    assert verify_folder(team.programme.folder, lambda _: None).faults == []


def test_a_list_counts_transects_with_slates(team: Team) -> None:
    """A card says how many of the planned transects have a slate."""
    made = plan(team)
    made.write(made.view.transects[0].id, ["sand"], "2000 sand")
    (card,) = (one for one in list_surveys(team.programme) if one.event.id == made.id)
    assert (card.transects, card.done) == (9, 1)
