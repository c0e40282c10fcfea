"""How large the next survey should be, from one that is done."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm

from corallum.actions.survey_effort import EffortAnswer, EffortQuestion, plan_effort
from corallum.errors import CorallumError, InputError, NotFoundError
from invented import Team
from invented_surveys import Made, laid_out, make_survey

COVER = (100, 300, 600, 200, 500, 400)


@dataclass
class Reserve:
    """One stratum of six tapes known by hand, one that was read again, and points."""

    team: Team
    plain: Made
    read: Made
    points: Made


@pytest.fixture(scope="module")
def reserve(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reserve]:
    """Built once."""
    team = Team(tmp_path_factory.mktemp("reserve") / "programme")
    plain = laid_out(team, sites=1, transects=6, areas=(1.0,))
    for transect, cm in zip(plain.view.transects, COVER, strict=True):
        plain.write(transect.id, [], f"{cm} porites\n1000 sand")
    read = make_survey(team, sites=2, transects=4)
    read.read_again(0.3)
    points = make_survey(team, "", "point_intercept", sites=2, transects=4)
    yield Reserve(team, plain, read, points)
    team.programme.close()


def ask(made: Made, **about: Any) -> EffortAnswer:  # noqa: ANN401  fields of EffortQuestion
    """Reckon from a pilot."""
    return plan_effort(made.team.programme, EffortQuestion(made.id, **about))


def test_the_half_width_of_a_pilot_by_hand(reserve: Reserve) -> None:
    """Six tapes: 1.96 standard errors of their mean, by numpy."""
    found = ask(reserve.plain)
    cover = np.array(COVER) / 10
    se = cover.std(ddof=1) / math.sqrt(6)
    assert (found.unit, found.value) == ("%", pytest.approx(cover.mean()))
    assert found.half_width == pytest.approx(1.959964 * se, rel=1e-6)
    assert found.planned.transects == 6
    assert found.transects is None


@pytest.mark.parametrize("half_width", [2.0, 5.0, 10.0])
def test_transects_for_a_half_width_by_hand(reserve: Reserve, half_width: float) -> None:
    """N = (1.96 s / half width)^2 (Cochran 1977, section 4.4)."""
    found = ask(reserve.plain, half_width=half_width)
    s = (np.array(COVER) / 10).std(ddof=1)
    assert found.transects == pytest.approx((1.959964 * s / half_width) ** 2, rel=1e-6)


def test_transects_for_a_change_by_hand(reserve: Reserve) -> None:
    """N = 2 s^2 (z.975 + z.8)^2 / change^2, normal theory (common practice)."""
    found = ask(reserve.plain, change=10.0)
    s = (np.array(COVER) / 10).std(ddof=1)
    z = norm.ppf(0.975) + norm.ppf(0.8)
    assert found.transects == pytest.approx(2 * s**2 * z**2 / 100, rel=1e-3)


def test_the_harder_wish_decides(reserve: Reserve) -> None:
    """Of a half width and a change, the one that takes more transects is answered."""
    one, two = ask(reserve.plain, half_width=5.0), ask(reserve.plain, change=10.0)
    both = ask(reserve.plain, half_width=5.0, change=10.0)
    assert one.transects is not None
    assert two.transects is not None
    assert both.transects == pytest.approx(max(one.transects, two.transects))


def test_twice_the_transects_show_a_smaller_change(reserve: Reserve) -> None:
    """Along each line half widths fall as transects grow, by the root of their number."""
    (line, *_) = ask(reserve.plain).lines
    assert line.label == "as planned"
    assert list(line.y) == sorted(line.y, reverse=True)
    at = dict(zip(line.x, line.y, strict=True))
    n = next(n for n in at if 4 * n in at)
    assert at[n] == pytest.approx(2 * at[4 * n])


def test_what_the_parts_could_not_be_told_from_is_said(reserve: Reserve) -> None:
    """One observer, and no second readings: both are notes, not parts of 0 unsaid."""
    notes = " ".join(ask(reserve.plain).notes)
    assert "The part of names is not known" in notes
    assert "One observer read the pilot" in notes


def test_names_are_a_part_where_a_survey_was_read_again(reserve: Reserve) -> None:
    """More second readings make less doubt, of a genus that is mistaken for others."""
    found = ask(reserve.read, group="Favites")
    assert found.parts.identification > 0
    more = ask(
        reserve.read, group="Favites", second_readings=10 * int(found.planned.second_readings)
    )
    assert more.parts.identification == pytest.approx(found.parts.identification / 10)
    assert more.half_width < found.half_width
    assert "twice the second readings" in [one.label for one in found.lines]


def test_points_are_a_part_of_a_survey_of_points(reserve: Reserve) -> None:
    """Binomial: p (1 - p) over all points, in percent squared."""
    found = ask(reserve.points, group="Porites")
    p = found.value / 100
    points = found.planned.points * found.planned.transects
    assert found.parts.points == pytest.approx(1e4 * p * (1 - p) / points)
    fewer = ask(reserve.points, group="Porites", points=10)
    assert fewer.parts.points == pytest.approx(found.parts.points * found.planned.points / 10)


def test_what_no_number_of_transects_reaches_is_told(reserve: Reserve) -> None:
    """Where names alone cause more doubt than is wanted, it says why."""
    found = ask(reserve.read, group="Favites", half_width=0.001, second_readings=1)
    assert found.transects is None
    assert found.why


def test_families_can_be_asked_for(reserve: Reserve) -> None:
    """A family is found by its name."""
    assert ask(reserve.read, group="Merulinidae").value > ask(reserve.read, group="Favites").value


@pytest.mark.parametrize(
    "about",
    [{"group": "Zzz"}, {"group": "a\nb"}, {"group": ""}, {"half_width": 0.0},
     {"half_width": math.nan}, {"half_width": -1.0}, {"change": math.inf}, {"power": 1.0},
     {"power": 0.0}, {"power": math.nan}, {"observers": -1}, {"second_readings": 10**9},
     {"points": -5}],
)  # fmt: skip
def test_wishes_that_can_not_be(reserve: Reserve, about: dict[str, Any]) -> None:
    """An unknown group and impossible numbers are refused, each in one printable line."""
    with pytest.raises(InputError) as caught:
        ask(reserve.plain, **about)
    assert all(str(fault).isprintable() for fault in caught.value.faults)


@pytest.mark.parametrize("id_", ["", "nowhere", None])
def test_a_pilot_that_is_not_there(reserve: Reserve, id_: Any) -> None:  # noqa: ANN401
    """It is said to be so; one without slates has nothing to reckon from."""
    with pytest.raises((InputError, NotFoundError)):
        plan_effort(reserve.team.programme, EffortQuestion(id_))
    with pytest.raises(CorallumError, match="Write or import slates first"):
        ask(laid_out(reserve.team))
