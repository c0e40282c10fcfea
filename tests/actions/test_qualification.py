"""Qualifications as people take them: begun by a lead, decided by answers, run out in time."""

from __future__ import annotations

from datetime import timedelta

import pytest

from corallum.actions.practice_answers import AnswerItem, answer_item, answers_of
from corallum.actions.practice_sets import MakeSet, list_sets, make_set
from corallum.actions.qualifications import (
    BeginTest,
    StopTest,
    begin_test,
    list_tests,
    plan_figures,
    repeats_of,
    standing,
    stop_test,
    survey_rights,
)
from corallum.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from corallum.observers.fixed_length import Aim
from corallum.observers.sequential import State
from corallum.practice.kept import Qualification
from corallum.store.verify import verify_folder
from invented import NOW, Team

REGION = "red_sea"
# A short test, so that few items are drawn: .95 passes and .60 fails, one error in five.
SHORT = Aim(0.95, 0.60, 0.2, 0.2)
# One of some dozens of items, as repeats come at every eighth.
LONGER = Aim(0.95, 0.75, 0.1, 0.1)


def begun(team: Team, days: int = 365, aim: Aim = SHORT, **about: object) -> Qualification:
    """A test of the first observer."""
    command = BeginTest(team.observer, aim=aim, days=days, **about)  # type: ignore[arg-type]
    return begin_test(team.programme, command, *team.by(team.lead))


def say(team: Team, test: Qualification, item: int, *, right: bool = True) -> None:
    """An answer of the observer: the truth, or that it is not in the reference."""
    found = standing(team.programme, test)[1].items[item]
    named = (found.genus,) if right else ()
    command = AnswerItem(test.practice_set, item, named, 0.9)
    answer_item(team.programme, command, *team.by())


def taken(team: Team, test: Qualification, *, right: bool = True) -> Qualification:
    """The test, answered in order until it is decided."""
    done = len(answers_of(team.programme, team.observer))
    for item in range(len(standing(team.programme, test)[1].items)):
        say(team, test, item, right=right)
        found = next(one for one in list_tests(team.programme, team.observer) if one.id == test.id)
        if found.outcome != "open":
            break
    assert len(answers_of(team.programme, team.observer)) == done + item + 1
    return found


def test_only_a_lead_begins_and_stops_tests(team: Team) -> None:
    """An observer may do neither."""
    with pytest.raises(NotAllowedError, match="may not begin qualifications"):
        begin_test(team.programme, BeginTest(team.observer, aim=SHORT), *team.by())
    test = begun(team)
    with pytest.raises(NotAllowedError, match="may not stop qualifications"):
        stop_test(team.programme, StopTest(test.id), *team.by())


def test_right_answers_pass_for_a_year(team: Team) -> None:
    """As many right answers in a row as the standing says pass it, until a day a year on."""
    test = begun(team)
    now, items = standing(team.programme, test)
    assert (now.state, now.n, test.outcome) == (State.GO_ON, 0, "open")
    assert len(items.items) == now.most_left
    done = taken(team, test)
    assert done.outcome == "passed"
    assert len(answers_of(team.programme, team.observer)) == now.right_to_pass
    assert done.expires_on == (NOW + timedelta(days=365)).date()
    assert standing(team.programme, done)[0].state is State.PASSED
    with pytest.raises(ConflictError, match="this test is over"):
        say(team, test, now.right_to_pass)
    until = NOW.date() + timedelta(days=365)
    (right,) = survey_rights(team.programme, REGION, until)
    assert (right.person, right.genera, right.until) == (team.observer, None, until)
    assert survey_rights(team.programme, REGION, until + timedelta(days=1)) == ()
    team.programme.close()
    assert verify_folder(team.programme.folder, lambda _: None).faults == []


def test_wrong_answers_fail(team: Team) -> None:
    """As many wrong answers in a row as the standing says fail it, and give no right."""
    test = begun(team)
    wrong = standing(team.programme, test)[0].wrong_to_fail
    done = taken(team, test, right=False)
    assert (done.outcome, done.expires_on) == ("failed", None)
    assert len(answers_of(team.programme, team.observer)) == wrong
    assert done.ended_at is not None
    assert survey_rights(team.programme, REGION, NOW.date()) == ()
    assert begun(team).outcome == "open"


def test_a_pass_runs_out_when_the_lead_says(team: Team) -> None:
    """A test for thirty days and two genera allows those genera for thirty days."""
    genera = ("Favites", "Porites")
    test = begun(team, 30, genera=genera)
    assert {item.genus for item in standing(team.programme, test)[1].items} <= set(genera)
    done = taken(team, test)
    assert done.expires_on == NOW.date() + timedelta(days=30)
    (right,) = survey_rights(team.programme, REGION, NOW.date())
    assert right.genera == genera


def test_one_test_at_a_time_and_none_after_its_end(team: Team) -> None:
    """A second test waits for the first, which a lead may break off; then it is over."""
    test = begun(team)
    with pytest.raises(ConflictError, match="has a test open already"):
        begun(team)
    say(team, test, 0)
    stopped = stop_test(team.programme, StopTest(test.id), *team.by(team.lead))
    assert (stopped.outcome, stopped.expires_on) == ("stopped", None)
    for again in (
        lambda: stop_test(team.programme, StopTest(test.id), *team.by(team.lead)),
        lambda: say(team, test, 1),
    ):
        with pytest.raises(ConflictError, match="is over"):
            again()
    assert begun(team).outcome == "open"
    assert [one.outcome for one in list_tests(team.programme, team.observer)] == ["open", "stopped"]
    assert list_tests(team.programme, team.second) == ()


def test_tests_are_no_practice_sets(team: Team) -> None:
    """The items of a test are not in the list of sets."""
    begun(team)
    assert list_sets(team.programme) == ()


def test_tests_that_can_not_be(team: Team) -> None:
    """Unknown people, regions and genera are refused; nothing is begun."""
    by = team.by(team.lead)
    with pytest.raises(NotFoundError):
        begin_test(team.programme, BeginTest("0" * 12, aim=SHORT), *by)
    for region, genera in (("mars", ()), (REGION, ("Coralia",))):
        command = BeginTest(team.observer, region, genera, SHORT)
        with pytest.raises(InputError):
            begin_test(team.programme, command, *by)
    with pytest.raises(NotFoundError):
        stop_test(team.programme, StopTest("0" * 12), *by)
    assert list_tests(team.programme) == ()


def test_colonies_seen_days_ago_come_again_and_do_not_count(team: Team) -> None:
    """Repeats stand among the items, are left out of the standing, and measure steadiness."""
    command = MakeSet("First", size=8, described=1.0)
    first = make_set(team.programme, command, *team.by())
    for i, item in enumerate(first.items):
        answer_item(team.programme, AnswerItem(first.id, i, (item.genus,), 0.9), *team.by())
    # The clock of the programme goes on by two days.
    team.ticks += 2 * 24 * 3600
    test = begun(team, aim=LONGER)
    before, found = standing(team.programme, test)
    again = [i for i, item in enumerate(found.items) if item.why == "repeat"]
    assert again
    assert len(found.items) == before.most_left + len(again)
    seen = {(item.genus, item.seed) for item in first.items}
    for i, item in enumerate(found.items):
        assert ((item.genus, item.seed) in seen) == (i in again)
    say(team, test, again[0], right=False)
    assert standing(team.programme, test)[0] == before
    fresh = next(i for i in range(len(found.items)) if i not in again)
    say(team, test, fresh)
    now = standing(team.programme, test)[0]
    assert (now.n, now.right) == (1, 1)
    found_again = repeats_of(team.programme, team.observer)
    assert found_again is not None
    assert (found_again.n, found_again.same, found_again.too_soon) == (1, 0, 0)
    assert repeats_of(team.programme, team.second) is None


def test_a_short_quiz_is_shown_beside_the_plan() -> None:
    """Twenty items with seventeen right pass an observer of .80 in 41 of 100, of .90 in 87."""
    figures = plan_figures(Aim())
    passes = dict(zip(figures.curve.accuracies.tolist(), figures.quiz_passes, strict=True))
    # Exact binomial tail sums, as any statistics program gives them.
    assert passes[0.8] == pytest.approx(0.411, abs=5e-4)
    assert passes[0.9] == pytest.approx(0.867, abs=5e-4)
    kept = dict(zip(figures.curve.accuracies.tolist(), figures.curve.pass_chance, strict=True))
    assert kept[0.8] <= 0.05
    assert kept[0.9] >= 0.95
