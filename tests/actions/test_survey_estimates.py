"""What a survey says: counted by hand, said beside corrected, and why where it can't be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from corallum.actions.survey_estimates import EstimateQuestion, SurveyEstimate, estimate_survey
from corallum.actions.survey_tables import survey_data
from corallum.errors import CorallumError, InputError, NotFoundError
from invented import Team
from invented_surveys import EFFORTS, Made, laid_out, make_survey

ALL = "all stony coral"


@dataclass
class Reserve:
    """A programme with a survey of each method, all read again, and one that is not."""

    team: Team
    of: dict[str, Made]
    unread: Made


@pytest.fixture(scope="module")
def reserve(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reserve]:
    """Built once: 8 transects a survey."""
    team = Team(tmp_path_factory.mktemp("reserve") / "programme")
    of = {}
    for method in EFFORTS:
        of[method] = make_survey(team, "", method)
        of[method].read_again(0.25)
    yield Reserve(team, of, make_survey(team, seed=9))
    team.programme.close()


def ask(made: Made, **about: Any) -> SurveyEstimate:  # noqa: ANN401  fields of EstimateQuestion
    """Estimate a survey."""
    given: dict[str, Any] = {"errors": False, "draws": 200} | about
    return estimate_survey(made.team.programme, EstimateQuestion(made.id, **given))


def said(found: SurveyEstimate, level: str = "survey") -> dict[str, float]:
    """Uncorrected figures of the first place of a level by group."""
    rows = found.of(level)
    return {row.group: row.said.value for row in rows if row.place == rows[0].place}


def by_hand(made: Made) -> dict[str, float]:
    """Figures reckoned from the slates alone: mean of equal transects by stratum and area."""
    method, effort = made.view.plan.method.value, made.view.plan.effort
    amounts: dict[str, dict[str, float]] = {}
    for slate in made.slates:
        own = amounts.setdefault(slate.transect, {})
        for line in slate.lines:
            amount = {
                "line_intercept": lambda one: (one.to_cm - one.from_cm) / 1000 * 100,
                "point_intercept": lambda _: 100 / 40, "photo_points": lambda _: 100 / 40,
                "belt": lambda _: 1 / 10, "quadrat": lambda one: one.count / 3,
                "quadrat_cover": lambda one: one.cover_percent / 3,
            }[method](line)  # fmt: skip
            own[line.label] = own.get(line.label, 0.0) + amount
            if line.kind in ("genus", "unidentified"):
                own[ALL] = own.get(ALL, 0.0) + amount
    assert effort == EFFORTS[method]
    sites = {one.id: made.view.stratum_of(one.site or "") for one in made.view.transects}
    found: dict[str, float] = {}
    for name in {label for own in amounts.values() for label in own}:
        means = [
            np.mean([amounts[t].get(name, 0.0) for t in amounts if sites[t] == h]) for h in (0, 1)
        ]
        found[name] = float((3 * means[0] + means[1]) / 4)
    return found


@pytest.mark.parametrize("method", EFFORTS)
def test_figures_are_those_counted_by_hand(reserve: Reserve, method: str) -> None:
    """Every group of every method is the mean of its strata by area, in percent or per m2."""
    made = reserve.of[method]
    found, wanted = ask(made), by_hand(made)
    assert found.data.unit == ("colonies per m2" if method in ("belt", "quadrat") else "%")
    assert said(found)
    for group, value in said(found).items():
        assert value == pytest.approx(wanted[group], rel=1e-9)


@pytest.mark.parametrize("method", EFFORTS)
def test_said_and_corrected_stand_side_by_side(reserve: Reserve, method: str) -> None:
    """Coral mistaken for other coral: all coral is the same, and corrected lies in its interval."""
    found = ask(reserve.of[method])
    assert "readings" not in found.reasons
    for row in found.of("survey"):
        assert row.by_readings is not None
        assert row.by_errors is None
        assert row.by_readings.low <= row.by_readings.value <= row.by_readings.high
        assert row.said.low <= row.said.value <= row.said.high
        assert row.best == row.by_readings
    total = next(row for row in found.of("survey") if row.group == ALL)
    assert total.by_readings is not None
    assert total.by_readings.value == pytest.approx(total.said.value)


def test_correction_moves_towards_the_truth(reserve: Reserve) -> None:
    """Wholly read again, a survey tells exactly what was there."""
    made = make_survey(reserve.team, seed=21, sites=4)
    made.read_again(1.0)
    found = ask(made)
    lengths = {
        (slate.history, n): (line.to_cm or 0) - (line.from_cm or 0)
        for slate in made.slates for n, line in enumerate(slate.lines, start=1)
    }  # fmt: skip
    of = {slate.history: slate.transect for slate in made.slates}
    h = {one.id: made.view.stratum_of(one.site or "") for one in made.view.transects}
    wrong, right = [], []
    for row in found.of("survey"):
        if row.group == ALL or row.by_readings is None:
            continue
        parts = [
            sum(cm for (slate, n), cm in lengths.items()
                if made.true[slate, n] == row.group and h[of[slate]] == stratum) / 4000 * 100
            for stratum in (0, 1)
        ]  # fmt: skip
        truth = (3 * parts[0] + parts[1]) / 4
        wrong.append(abs(row.said.value - truth))
        right.append(abs(row.by_readings.value - truth))
    # Records are read, not centimetres: what is left is that wrong ones are longer or shorter.
    assert sum(right) < 0.5 * sum(wrong)


def test_families_add_up_to_their_genera(reserve: Reserve) -> None:
    """Favites and Goniastrea are Merulinidae (Huang et al. 2014), said and corrected."""
    made = reserve.of["line_intercept"]
    genera = {row.group: row for row in ask(made).of("survey")}
    family = {row.group: row for row in ask(made, by="family").of("survey")}["Merulinidae"]
    parts = [genera[name] for name in ("Favites", "Goniastrea")]
    assert family.said.value == pytest.approx(sum(one.said.value for one in parts))
    assert family.lines == sum(one.lines for one in parts)
    corrected = [one.by_readings for one in (family, *parts)]
    assert all(corrected)
    assert corrected[0] is not None
    assert corrected[0].value == pytest.approx(
        sum(one.value for one in corrected[1:] if one is not None)
    )


def test_growth_forms_are_not_corrected(reserve: Reserve) -> None:
    """By form all coral is the same; second readings are of names."""
    made = laid_out(reserve.team, sites=1, areas=(1.0,))
    for transect in made.view.transects:
        made.write(transect.id, [], "100 por/massive\n300 acr/branching\n400 favites\n1000 sand")
    found = ask(made, by="form")
    assert said(found) == pytest.approx(
        {ALL: 40.0, "massive": 10.0, "branching": 20.0, "no form written": 10.0}
    )
    assert all(row.by_readings is None for row in found.rows)
    assert set(found.reasons) == {"readings", "errors"}


def test_a_survey_without_second_readings_says_so(reserve: Reserve) -> None:
    """It has figures as said, no correction by readings, and says what to do."""
    found = ask(reserve.unread)
    assert all(row.by_readings is None for row in found.rows)
    assert "no second readings" in found.reasons["readings"]
    assert "read by somebody else" in found.reasons["readings"]
    assert said(found) == pytest.approx(
        {name: value for name, value in by_hand(reserve.unread).items() if name in said(found)}
    )


def test_observers_without_practice_are_named(reserve: Reserve) -> None:
    """Who never practised counts as a new member; genera nobody practised are named."""
    found = ask(reserve.of["line_intercept"], errors=True)
    assert any("Nothing is known of the errors of Observer 1" in one for one in found.notes)
    assert any("Nobody practised" in one and "Porites" in one for one in found.notes)
    corrected = [row.by_errors for row in found.of("survey")]
    assert all(corrected) or "errors" in found.reasons
    if all(corrected):
        total = next(row for row in found.of("survey") if row.group == ALL)
        assert total.by_errors is not None
        assert total.by_errors.value == pytest.approx(total.said.value)


def test_one_genus_can_not_be_mistaken(reserve: Reserve) -> None:
    """Where a single genus was met, observers' errors say nothing, and it is told why."""
    made = make_survey(reserve.team, reef={"Porites": 0.5, "sand": 0.5}, mix={}, sites=2)
    found = ask(made, errors=True)
    assert found.reasons["errors"].startswith("Fewer than two genera were met")


def test_the_same_seed_gives_the_same_figures(reserve: Reserve) -> None:
    """All that is drawn is by the seed; figures don't depend on it."""
    made = reserve.of["line_intercept"]
    assert ask(made).rows == ask(made).rows
    other = {row.group: row for row in ask(made, seed=2).of("survey")}
    for row in ask(made).of("survey"):
        assert other[row.group].said.value == pytest.approx(row.said.value)


def test_places_have_their_own_rows(reserve: Reserve) -> None:
    """Survey, strata and sites; a stratum's transects are those of its sites."""
    found = ask(reserve.of["belt"])
    assert {row.name for row in found.of("site")} == {f"Site {i}" for i in range(1, 5)}
    assert {row.place for row in found.of("stratum")} == {"zone 1", "zone 2"}
    assert {row.transects for row in found.of("survey")} == {8}
    assert {row.transects for row in found.of("stratum")} == {4}
    assert {row.level for row in ask(reserve.of["belt"], levels=("stratum",)).rows} == {"stratum"}


def test_transects_without_slates_are_counted(reserve: Reserve) -> None:
    """What was planned and not read is no figure of 0: it is told."""
    made = laid_out(reserve.team, sites=1, transects=4, areas=(1.0,))
    for transect in made.view.transects[:2]:
        made.write(transect.id, [], "500 porites\n1000 sand")
    found = ask(made)
    assert said(found)["Porites"] == pytest.approx(50.0)
    assert "2 of 4 planned transects have no slate yet." in found.notes


def test_a_stratum_of_one_transect_is_left_out(reserve: Reserve) -> None:
    """It has no error of its own: the figures are of the other strata, and say so."""
    made = laid_out(reserve.team, sites=2, transects=2)
    first, second, third, _ = sorted(
        made.view.transects, key=lambda one: made.view.stratum_of(one.site or "")
    )
    for transect, end in ((first, 200), (second, 400), (third, 900)):
        made.write(transect.id, [], f"{end} porites\n1000 sand")
    found = ask(made)
    assert said(found)["Porites"] == pytest.approx(30.0)
    assert any(one.startswith("Stratum zone 2 has 1 transects") for one in found.notes)


def test_nothing_to_estimate_from(reserve: Reserve) -> None:
    """Without slates, or with one, it is said what to do."""
    made = laid_out(reserve.team, sites=1, areas=(1.0,))
    with pytest.raises(InputError, match="Write or import slates first"):
        ask(made)
    made.write(made.view.transects[0].id, [], "1000 porites")
    with pytest.raises(InputError, match="2 transects with slates"):
        ask(made)


def test_what_could_not_be_read_is_no_bottom(reserve: Reserve) -> None:
    """200 cm that nobody could read leave a tape of 800 cm: 400 cm of coral are half of it."""
    made = laid_out(reserve.team, sites=1, areas=(1.0,))
    for transect in made.view.transects:
        made.write(transect.id, [], "400 porites\n600 unreadable\n1000 sand")
    assert said(ask(made))["Porites"] == pytest.approx(50.0)
    assert "unreadable" not in survey_data(reserve.team.programme, made.id).table.labels


def test_two_slates_of_one_transect_are_one_transect(reserve: Reserve) -> None:
    """Two observers on one tape read it twice: the cover is that of both together."""
    made = laid_out(reserve.team, sites=1, areas=(1.0,))
    for transect in made.view.transects:
        made.write(transect.id, [], "200 porites\n1000 sand")
        made.write(transect.id, [], "400 porites\n1000 sand", observer=reserve.team.second)
    found = ask(made)
    assert said(found)["Porites"] == pytest.approx(30.0)
    assert {row.transects for row in found.of("survey")} == {2}


@pytest.mark.parametrize(
    "about",
    [{"by": "colour"}, {"draws": 1}, {"draws": 0}, {"level": 1.5}, {"level": 0.0},
     {"level": float("nan")}],
)  # fmt: skip
def test_questions_that_can_not_be(reserve: Reserve, about: dict[str, Any]) -> None:
    """An unknown grouping, too few resamples and a level that is none are refused."""
    with pytest.raises(CorallumError):
        ask(reserve.unread, **about)
    with pytest.raises(CorallumError):
        ask(reserve.of["belt"], **about)


@pytest.mark.parametrize("id_", ["", "nowhere", None, 3])
def test_a_survey_that_is_not_there(reserve: Reserve, id_: Any) -> None:  # noqa: ANN401
    """It is said to be so."""
    with pytest.raises((InputError, NotFoundError)):
        estimate_survey(reserve.team.programme, EstimateQuestion(id_))


def test_progress_goes_from_nought_to_one(reserve: Reserve) -> None:
    """What is told never goes back, and ends at 1."""
    told: list[float] = []
    question = EstimateQuestion(reserve.unread.id, errors=False, draws=200)
    estimate_survey(reserve.team.programme, question, told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
