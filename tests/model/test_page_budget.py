"""What is asked of a field sheet: layouts, teams, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.errors import InputError
from corallum.model.errors import Observer, OwnErrors, state_errors
from corallum.model.page_budget import PageBudget, ask_page, team_errors
from corallum.model.page_choice import choose_page
from corallum.model.page_search import search_sheet
from small_page import GENERA, ask, trial
from support import compiled, library


def test_pages_lie_side_by_side_or_one_below_the_other() -> None:
    """Six pages of 10 x 4 hold 60 x 4, 30 x 8, 20 x 12 or 10 x 24; less where there is less."""
    budget = PageBudget(10, 4, 6)
    assert budget.shapes(100, 100) == ((10, 24), (20, 12), (30, 8), (60, 4))
    assert budget.shapes(15, 100) == ((10, 24), (15, 12))
    assert budget.shapes(5, 3) == ((5, 3),)


@pytest.mark.parametrize("region", ["red_sea", "atlantic"])
def test_a_region_has_the_genera_of_its_list(region: str) -> None:
    """Without names given, genera can have a row that list the region, with the prior's shares."""
    mix = ask_page(compiled(), Observer.UNKNOWN, region).mix
    entries = library().reference.entries.genera
    listed = [region in entries[name].regions for name in compiled().genera]
    assert (mix[:-1] > 0).tolist() == listed
    assert mix.sum() == pytest.approx(1)
    prior = compiled().priors[region]["mixed"]
    first, second = np.flatnonzero(listed)[:2]
    assert mix[first] / mix[second] == pytest.approx(prior[first] / prior[second])


def test_a_team_of_a_trained_and_a_new_observer_is_an_unknown_one() -> None:
    """The unknown observer is by definition half trained and half new, looks and sizes alike."""
    team = team_errors(compiled(), (Observer.TRAINED, Observer.NEW))
    for character in compiled().characters:
        if not character.is_size:
            expected = state_errors(character, Observer.UNKNOWN)
            np.testing.assert_allclose(state_errors(character, team), expected, atol=1e-15)
    method = compiled().methods["eye"]
    assert team.eye_bias == pytest.approx(sum(method.bias) / 2)
    each = [sd**2 + method.each_sd**2 for sd in method.observer_sd]
    between = (method.bias[0] - method.bias[1]) ** 2 / 4
    assert team.eye_sd == pytest.approx(np.sqrt(sum(each) / 2 + between))
    assert isinstance(team, OwnErrors)


@pytest.mark.parametrize(
    ("work", "fault"),
    [
        pytest.param(
            lambda: PageBudget(0, 4),
            "field sheet, rows: expected a whole number from 1, found 0. Give the page some room.",
            id="no rows",
        ),
        pytest.param(
            lambda: PageBudget(3, -1, 2),
            "field sheet, columns: expected a whole number from 1, found -1. "
            "Give the page some room.",
            id="columns below zero",
        ),
        pytest.param(
            lambda: PageBudget(3, 4, 1.5),  # type: ignore[arg-type]
            "field sheet, pages: expected a whole number from 1, found 1.5. "
            "Give the page some room.",
            id="half a page",
        ),
        pytest.param(
            lambda: ask_page(compiled(), Observer.UNKNOWN, "red_sea", genera=("Acrpora",)),
            "field sheet, genus: expected a genus of the reference, found 'Acrpora'. "
            "Did you mean Acropora?",
            id="unknown genus",
        ),
        pytest.param(
            lambda: ask_page(compiled(), Observer.UNKNOWN, "read_sea"),
            "field sheet, region: expected a region of the reference, found 'read_sea'. "
            "Did you mean red_sea?",
            id="unknown region",
        ),
        pytest.param(
            lambda: ask_page(
                compiled(), Observer.UNKNOWN, None, characters=("wall_structure", "pali")
            ),
            "field sheet, characters: expected one that can be seen, found wall_structure, pali. "
            "Allow characters seen in other ways, or name others.",
            id="only of the skeleton",
        ),
        pytest.param(
            lambda: ask_page(compiled(), Observer.UNKNOWN, None, genera=()),
            "field sheet, genera: expected one genus or more, found none. Name some genera.",
            id="no genera",
        ),
        pytest.param(
            lambda: search_sheet(trial(), PageBudget(2, 2, genera=GENERA[:3])),
            "field sheet, pages: expected 2 genera x 2 characters, "
            "found 3 x 0 that must have a place. Add pages, or ask for less.",
            id="no room for what must be there",
        ),
        pytest.param(
            lambda: search_sheet(trial(), PageBudget(2, 2, characters=("tissue",))),
            "field sheet, character: expected a character to choose from, found 'tissue'. "
            "Check the spelling.",
            id="not to choose from",
        ),
        pytest.param(
            lambda: choose_page(ask(), PageBudget(2, 2), np.random.default_rng(1), colonies=1),
            "field sheet, colonies: expected 2 or more, found 1. "
            "Some thousand give a steady choice.",
            id="one colony",
        ),
        pytest.param(
            lambda: choose_page(ask(), PageBudget(2, 2), np.random.default_rng(1), credit=1.5),
            "field sheet, credit: expected a number from 0 to 1, found 1.5. "
            "0 counts colonies off the sheet as wrong.",
            id="too much credit",
        ),
        pytest.param(
            lambda: team_errors(compiled(), ()),
            "field sheet, team: expected one observer or more, found nobody. Name an observer.",
            id="nobody",
        ),
    ],
)
def test_what_cannot_be_meant_is_refused(work: object, fault: str) -> None:
    """A bad budget or question is answered with what was expected and found, and what to do."""
    with pytest.raises(InputError) as caught:
        work()  # type: ignore[operator]
    assert str(caught.value) == fault


def test_all_faults_come_at_once() -> None:
    """A budget with three bad numbers names the three."""
    with pytest.raises(InputError) as caught:
        PageBudget(0, 0, 0)
    assert [fault.place for fault in caught.value.faults] == ["rows", "columns", "pages"]
