"""Change between two surveys: one difference, of pairs or of strangers, said and corrected."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from scipy.stats import t as student

from corallum.actions.survey_changes import (
    ChangeQuestion,
    ChangeRow,
    SurveyChange,
    change_between,
)
from corallum.errors import CorallumError, InputError, NotFoundError
from invented import Team
from invented_surveys import Made, laid_out, make_survey

ALL = "all stony coral"
FIRST = (200, 400, 300, 500, 600, 800, 700, 500)


@dataclass
class Reserve:
    """Surveys of the same eight transects: all fell by 50 cm, then some of Site 4 alone."""

    team: Team
    before: Made
    fallen: Made
    hit: Made
    strangers: Made
    belt: Made


def in_order(made: Made) -> list[str]:
    """Transects by stratum, site and name: the same order in every survey."""
    names = {id_: site.name for id_, site in made.view.sites.items()}
    ordered = sorted(made.view.transects, key=lambda one: (names[one.site or ""], one.name))
    return [one.id for one in ordered]


def write(made: Made, porites: Sequence[int], observer: str | None = None) -> Made:
    """Slates of so many centimetres of Porites, and 100 cm of Favites, a transect."""
    for transect, cm in zip(in_order(made), porites, strict=True):
        text = f"{cm} porites\n{cm + 100} favites\n1000 sand"
        made.write(transect, ["Porites", "Favites", "sand"], text, observer=observer)
    return made


@pytest.fixture(scope="module")
def reserve(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reserve]:
    """Built once."""
    team = Team(tmp_path_factory.mktemp("reserve") / "programme")
    before = write(laid_out(team), FIRST)
    again: dict[str, Any] = {"follows": before.id, "same_transects": True}
    fallen = write(laid_out(team, **again), [cm - 50 for cm in FIRST])
    hit = [cm - (300 + 10 * i if i > 5 else 10 * i) for i, cm in enumerate(FIRST)]
    yield Reserve(
        team, before, fallen, write(laid_out(team, **again), hit, team.second),
        write(laid_out(team), [cm - 50 for cm in FIRST]), make_survey(team, "", "belt"),
    )  # fmt: skip
    team.programme.close()


def ask(before: Made, after: Made, **about: Any) -> SurveyChange:  # noqa: ANN401  fields of ChangeQuestion
    """Compare two surveys."""
    given: dict[str, Any] = {"errors": False, "draws": 300} | about
    return change_between(before.team.programme, ChangeQuestion(before.id, after.id, **given))


def row(found: SurveyChange, group: str = "Porites") -> ChangeRow:
    """The row of one group."""
    return next(one for one in found.rows if one.group == group)


def test_pairs_that_all_fell_alike_fell_by_that(reserve: Reserve) -> None:
    """Each tape lost 50 of 1,000 cm: 5 points, with no error at all."""
    found = ask(reserve.before, reserve.fallen)
    assert found.paired
    moved = row(found).said
    assert moved.value == pytest.approx(-5.0)
    assert (moved.low, moved.high) == (pytest.approx(-5.0), pytest.approx(-5.0))
    same = row(found, "Favites").said
    assert (same.value, same.se) == (pytest.approx(0.0), pytest.approx(0.0))
    # (3 x 35 + 65) / 4 = 42.5 before, by hand.
    assert row(found).before.value == pytest.approx(42.5)
    assert row(found).after.value == pytest.approx(37.5)


def test_pairs_by_hand(reserve: Reserve) -> None:
    """One stratum at a time: the mean difference, and its error by numpy, weighted 3 to 1."""
    found = ask(reserve.before, reserve.hit, draws=4000)
    moved = np.array([-10.0 * i if i <= 5 else -300.0 - 10 * i for i in range(8)]) / 10
    means = [moved[:4].mean(), moved[4:].mean()]
    assert row(found).said.value == pytest.approx((3 * means[0] + means[1]) / 4)
    errors = [moved[part].std(ddof=1) / 2 for part in (slice(4), slice(4, 8))]
    se = math.hypot(0.75 * errors[0], 0.25 * errors[1])
    assert row(found).said.se == pytest.approx(se, rel=0.05)
    half = student.ppf(0.975, 6) * se
    assert row(found).said.high - row(found).said.low == pytest.approx(2 * half, rel=0.05)


def test_other_transects_are_no_pairs(reserve: Reserve) -> None:
    """The same fall between strangers has the errors of both surveys."""
    pairs, found = ask(reserve.before, reserve.fallen), ask(reserve.before, reserve.strangers)
    assert not found.paired
    assert row(found).said.value == pytest.approx(row(pairs).said.value)
    both = math.hypot(row(found).before.se, row(found).after.se)
    assert row(found).said.se == pytest.approx(both, rel=0.15)
    assert row(found).said.low < -5 < row(found).said.high


def test_a_fall_is_as_likely_as_it_was_large(reserve: Reserve) -> None:
    """Of 42.5 points 5 are an eighth: sure to be above a tenth, sure not to be above a fifth."""
    assert row(ask(reserve.before, reserve.fallen, fall=0.05)).decline > 0.8
    assert row(ask(reserve.before, reserve.fallen, fall=0.5)).decline < 0.2
    assert 0 <= row(ask(reserve.before, reserve.fallen)).decline <= 1


def test_without_second_readings_it_is_told_which_survey(reserve: Reserve) -> None:
    """No correction is made, and the reason names the survey before."""
    found = ask(reserve.before, reserve.fallen)
    assert row(found).by_readings is None
    assert row(found).best == row(found).said
    assert found.reasons["readings"].startswith("The survey before: This survey has no second")


def test_corrected_change_is_of_what_was_truly_there(reserve: Reserve) -> None:
    """New observers who call all Favites Goniastrea make a loss that correction takes back."""
    team = reserve.team
    before = make_survey(team, seed=31, mix={}, transects=4)
    after = make_survey(
        team, seed=31, mix={"Favites": ("Goniastrea", 0.8)}, follows=before.id,
        same_transects=True, transects=4,
    )  # fmt: skip
    before.read_again(0.2)
    after.read_again(0.2)
    found = ask(before, after)
    favites = row(found, "Favites")
    assert favites.by_readings is not None
    assert favites.said.high < 0
    assert favites.by_readings.low < 0 < favites.by_readings.high
    assert abs(favites.by_readings.value) < 0.5 * abs(favites.said.value)
    assert favites.best == favites.by_readings
    total = row(found, ALL)
    assert total.by_readings is not None
    assert total.by_readings.value == pytest.approx(total.said.value)


def test_changed_observers_are_told(reserve: Reserve) -> None:
    """Who left and who came is said; where nobody did, nothing is."""
    found = ask(reserve.before, reserve.hit)
    (note,) = (one for one in found.notes if one.startswith("The observers changed"))
    assert "Observer 1 left, Observer 2 came" in note
    assert not [one for one in ask(reserve.before, reserve.fallen).notes if "observers" in one]


def test_surveys_of_other_parts_of_the_reef_are_told(reserve: Reserve) -> None:
    """Other strata, or other areas of them, look like change: it is said, and only then."""
    team = reserve.team
    one = laid_out(team, sites=2, areas=(1.0,))
    other = laid_out(team, areas=(1.0, 3.0))
    for made in (one, other):
        for transect in made.view.transects:
            made.write(transect.id, [], "300 porites\n1000 sand")
    told = " ".join(ask(reserve.before, one).notes)
    assert "The strata differ: zone 2 only before, none only after." in told
    assert "The areas of the strata differ" in " ".join(ask(reserve.before, other).notes)
    assert "strata" not in " ".join(ask(reserve.before, reserve.strangers).notes)


def test_impact_less_control_by_hand(reserve: Reserve) -> None:
    """Site 4 against Sites 1 to 3 takes two impact sites: with two it is their difference."""
    sites = {site.name: id_ for id_, site in reserve.before.view.sites.items()}
    impact = (sites["Site 3"], sites["Site 4"])
    found = ask(reserve.before, reserve.hit, impact=impact)
    moved = np.array([-10.0 * i if i <= 5 else -300.0 - 10 * i for i in range(8)]) / 10
    means = moved.reshape(4, 2).mean(axis=1)
    wanted = means[2:].mean() - means[:2].mean()
    assert found.contrast["Porites"].value == pytest.approx(wanted)
    assert ask(reserve.before, reserve.hit).contrast == {}


@pytest.mark.parametrize("sites", [("nowhere",), ("",)])
def test_impact_sites_are_of_both_surveys(reserve: Reserve, sites: tuple[str, ...]) -> None:
    """A site that neither survey has is refused."""
    with pytest.raises(InputError, match="sites of both surveys"):
        ask(reserve.before, reserve.fallen, impact=sites)


def test_one_impact_site_is_too_few(reserve: Reserve) -> None:
    """Sites are the units: one impact site tells nothing of how sites differ."""
    site = reserve.before.view.plan.strata[1].sites[0]
    with pytest.raises(InputError):
        ask(reserve.before, reserve.fallen, impact=(site,))


def test_cover_and_density_can_not_be_compared(reserve: Reserve) -> None:
    """A survey in percent and one in colonies per m2 are told apart."""
    with pytest.raises(InputError, match=r"expected a survey in %, found colonies per m2"):
        ask(reserve.before, reserve.belt)


def test_families_change_as_their_genera(reserve: Reserve) -> None:
    """By family the fall of Porites is that of Poritidae (its only genus here)."""
    found = ask(reserve.before, reserve.fallen, by="family")
    assert row(found, "Poritidae").said.value == pytest.approx(-5.0)
    assert row(found, ALL).said.value == pytest.approx(-5.0)


@pytest.mark.parametrize(
    "about",
    [{"fall": -0.1}, {"fall": 1.0}, {"fall": math.nan}, {"by": "colour"}, {"draws": 1},
     {"level": 2.0}],
)  # fmt: skip
def test_questions_that_can_not_be(reserve: Reserve, about: dict[str, Any]) -> None:
    """A fall that is no share, an unknown grouping, too few resamples or a level are refused."""
    with pytest.raises(CorallumError):
        ask(reserve.before, reserve.fallen, **about)


@pytest.mark.parametrize("id_", ["", "nowhere", None])
def test_surveys_that_are_not_there(reserve: Reserve, id_: Any) -> None:  # noqa: ANN401
    """Either survey that is not there is said to be so."""
    for pair in ((id_, reserve.before.id), (reserve.before.id, id_)):
        with pytest.raises((InputError, NotFoundError)):
            change_between(reserve.team.programme, ChangeQuestion(*pair))
