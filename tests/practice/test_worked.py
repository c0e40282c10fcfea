"""A worked answer: what speaks for the truth, which look went astray, what was worth more."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from corallum.model.errors import Observer
from corallum.practice.item import Item, PracticeAnswer
from corallum.practice.making import Maker
from corallum.practice.worked import Worked, work_through
from corallum.records.colony import Colony, Report, SizeReport, StateReport
from support import compiled, determiner

REGION = "red_sea"
SHOWN: dict[str, str | float] = {
    "growth_form": "massive", "corallite_arrangement": "plocoid", "calice_diameter_mm": 9.0,
    "columella": "spongy", "septal_teeth": "fine", "tissue": "thin", "living_colour": "brown",
    "groove_between": "present", "budding": "intracalicular",
}  # fmt: skip


@cache
def item() -> Item:
    """A colony of Dipsastraea with all that it shows."""
    known = {id_: compiled().characters[compiled().character_index[id_]] for id_ in SHOWN}
    shown = {
        id_: value if not isinstance(value, str) or value in known[id_].states
        else known[id_].states[0]
        for id_, value in SHOWN.items()
    }  # fmt: skip
    best = Maker(compiled(), REGION).best(shown)
    return Item("described", "Dipsastraea", "", REGION, 1, shown=shown, best=best)


def worked(genera: tuple[str, ...] = ("Favites",), **said: Report | str) -> Worked:
    """An answer worked through, with the errors of an unknown observer."""
    reports: dict[str, Report] = {
        id_: StateReport((value,)) if isinstance(value, str) else value
        for id_, value in said.items()
    }
    answer = PracticeAnswer(genera, 0.8, reports)
    return work_through(determiner(Observer.EXACT), determiner(), item(), answer)


def decibans(reports: dict[str, Report], a: str, b: str) -> float:
    """Log odds of two genera after some reports."""
    genus = determiner().posterior([Colony("c", reports, REGION)]).genus[0]
    first, second = (genus[compiled().genera.index(one)] for one in (a, b))
    return float(10 * np.log10(first / second))


def test_a_misjudged_wall_is_found_with_what_mending_restores() -> None:
    """The wall is named, as said and as it was, with the odds that the truth lost by it."""
    found = worked(corallite_arrangement="cerioid", growth_form="massive")
    assert [(one.character, one.said, one.true) for one in found.astray] == [
        ("corallite_arrangement", "cerioid", "plocoid")
    ]
    growth = StateReport(("massive",))
    said: dict[str, Report] = {"corallite_arrangement": StateReport(("cerioid",))}
    mended: dict[str, Report] = {"corallite_arrangement": StateReport(("plocoid",))}
    restored = decibans({**mended, "growth_form": growth}, "Dipsastraea", "Favites") - decibans(
        {**said, "growth_form": growth}, "Dipsastraea", "Favites"
    )
    assert found.astray[0].decibans == pytest.approx(restored, abs=1e-9)
    assert found.astray[0].decibans > 3


def test_what_went_astray_comes_by_its_cost() -> None:
    """Several misjudged looks are listed, the most costly first."""
    found = worked(
        corallite_arrangement="cerioid", calice_diameter_mm=SizeReport(4.0), tissue="fleshy"
    )
    assert {one.character for one in found.astray} == {
        "corallite_arrangement", "calice_diameter_mm", "tissue",
    }  # fmt: skip
    costs = [one.decibans for one in found.astray]
    assert costs == sorted(costs, reverse=True)


@pytest.mark.parametrize(
    ("report", "astray"),
    [
        pytest.param(SizeReport(9.0), False, id="as it was"),
        pytest.param(SizeReport(11.0), False, id="a little too wide"),
        pytest.param(SizeReport(11.5), True, id="too wide by more than a quarter"),
        pytest.param(SizeReport(6.0), True, id="too narrow"),
        pytest.param(StateReport(("not_applicable",)), True, id="not applicable"),
    ],
)
def test_a_width_is_wrong_beyond_a_quarter(report: Report, astray: bool) -> None:
    """A width within a quarter of the true one is right; that it does not apply is wrong."""
    assert bool(worked(calice_diameter_mm=report).astray) is astray


def test_a_set_that_holds_the_truth_is_right() -> None:
    """Who could not choose between the true wall and another went not astray."""
    assert worked(corallite_arrangement=StateReport(("cerioid", "plocoid"))).astray == ()
    assert worked(corallite_arrangement=StateReport(("cerioid", "meandroid"))).astray


def test_what_was_not_looked_at_is_not_misjudged() -> None:
    """Saying that one did not look is no wrong look."""
    assert worked(tissue="not_looked_at").astray == ()


def test_a_view_is_held_against_its_character() -> None:
    """A wall said to be shared, where it is not, is a misjudged wall."""
    found = worked(shared_wall="yes")
    assert [one.true for one in found.astray] == ["plocoid"]
    assert worked(shared_wall="no").astray == ()


def test_more_looks_are_quick_shown_and_not_reported() -> None:
    """What was worth another look takes ten seconds at most, and the item shows it."""
    found = worked(growth_form="massive", living_colour=str(item().shown["living_colour"]))
    assert 1 <= len(found.more) <= 3
    for look in found.more:
        assert look.seconds <= 10
        assert look.character in item().shown
        assert look.character not in {"growth_form", "living_colour"}
        assert look.gain_bits > 0
    gains = [look.gain_bits for look in found.more]
    assert gains == sorted(gains, reverse=True)


def test_what_decides_is_sorted_and_speaks_for_the_truth() -> None:
    """At most three blocks, all for the truth, the weightiest first."""
    found = worked()
    weights = [entry.value for entry in found.decides]
    assert 1 <= len(weights) <= 3
    assert weights == sorted(weights, reverse=True)
    assert min(weights) > 0
    assert all(entry.character in item().shown for entry in found.decides)


def test_the_truth_is_told_from_the_wrong_genus_named() -> None:
    """The nearest is what was named wrongly, else the next best."""
    assert worked(("Porites",)).nearest == "Porites"
    right = worked(("Dipsastraea",))
    others = {genus: chance for genus, chance in item().best.items() if genus != "Dipsastraea"}
    assert right.nearest == max(others, key=lambda genus: others[genus])


def test_without_a_report_nothing_is_made_of_it() -> None:
    """Who only named a genus is shown the best alone."""
    found = worked()
    assert found.said_by_report == ()
    assert found.astray == ()
    assert found.best[0] == pytest.approx((next(iter(item().best)), max(item().best.values())))


def test_what_was_told_is_part_of_the_report() -> None:
    """Looks told in words count with what was reported, and are no look to take."""
    told = replace(item(), told=("growth_form", "columella"))
    said: dict[str, Report] = {"corallite_arrangement": StateReport(("cerioid",))}
    answer = PracticeAnswer(("Favites",), 0.8, said)
    found = work_through(determiner(Observer.EXACT), determiner(), told, answer)
    both = {id_: StateReport((str(told.shown[id_]),)) for id_ in told.told}
    genus = determiner().posterior([Colony("c", {**both, **said}, REGION)]).genus[0]
    names = (*compiled().genera, None)
    assert found.said_by_report[0][1] == pytest.approx(float(genus.max()), abs=1e-12)
    assert found.said_by_report[0][0] == names[int(genus.argmax())]
    assert {look.character for look in found.more}.isdisjoint(told.told)


def test_what_the_report_says_is_the_models_answer_to_it() -> None:
    """Genera of one in a hundred or more, as the model has them for the observer's errors."""
    found = worked(corallite_arrangement="cerioid")
    reports: dict[str, Report] = {"corallite_arrangement": StateReport(("cerioid",))}
    genus = determiner().posterior([Colony("c", reports, REGION)]).genus[0]
    names = (*compiled().genera, None)
    for name, chance in found.said_by_report:
        assert chance == pytest.approx(float(genus[names.index(name)]), abs=1e-12)
    assert len(found.said_by_report) == 5
