"""How exactly positions are told."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.exchange.coordinates import EXACT, WITHHELD, parse_coordinate_rule

_latitudes, _longitudes = st.floats(-90, 90), st.floats(-180, 180)


def test_a_position_is_told_as_asked() -> None:
    """Exact keeps it, a step rounds it, withheld tells none, and each says so in words."""
    rounded = parse_coordinate_rule("0.01")

    assert EXACT.at(0.1234, 150.1996) == (0.1234, 150.1996)
    assert rounded.at(0.1234, 150.1996) == (0.12, 150.2)
    assert WITHHELD.at(0.1234, 150.1996) is None
    assert (EXACT.generalised, EXACT.withheld) == ("", "")
    assert rounded.generalised == "coordinates rounded to 0.01 degree"
    assert WITHHELD.withheld == "coordinates withheld"


def test_a_position_that_is_not_known_stays_so() -> None:
    """Without latitude or longitude there is no position."""
    assert EXACT.at(None, 150.0) is None
    assert EXACT.at(1.0, None) is None


def _degrees_m(latitude: float) -> tuple[float, float]:
    """Metres in a degree north and east on WGS84 (NIMA TR8350.2: a = 6378137, 1/f = 298.257...)."""
    a, flattening = 6_378_137.0, 1 / 298.257_223_563
    squared = flattening * (2 - flattening)
    sine = math.sin(math.radians(latitude))
    meridian = a * (1 - squared) / (1 - squared * sine**2) ** 1.5
    prime = a / math.sqrt(1 - squared * sine**2)
    return math.radians(meridian), math.radians(prime) * math.cos(math.radians(latitude))


@pytest.mark.parametrize("step", ["1", "0.1", "0.01", "0.001"])
@given(latitude=_latitudes, longitude=_longitudes)
def test_rounding_moves_a_position_no_further_than_said(
    step: str, latitude: float, longitude: float
) -> None:
    """What is said of the told latitude holds for every position that comes to it."""
    rule = parse_coordinate_rule(step)
    at = rule.at(latitude, longitude)
    assert at is not None
    most = rule.uncertainty_m(at[0])

    assert most is not None
    north = _degrees_m(max(abs(at[0]), abs(latitude)))[0] * (at[0] - latitude)
    east = _degrees_m(min(abs(at[0]), abs(latitude)))[1] * (at[1] - longitude)
    assert math.hypot(north, east) <= most + 1e-6


def test_the_uncertainty_of_a_cell_is_half_its_diagonal() -> None:
    """At the equator a degree is 110.6 km north and 111.3 km east (NIMA TR8350.2)."""
    assert parse_coordinate_rule("0.1").uncertainty_m(0.0) == pytest.approx(7845, abs=2)
    assert parse_coordinate_rule("1").uncertainty_m(90.0) == pytest.approx(55_850, abs=20)


@pytest.mark.parametrize("text", ["", "0.5", "close", "1e-2", "-0.01", "nan"])
def test_any_other_step_is_refused(text: str) -> None:
    """What is neither a word nor a step of ten is a fault that lists what may be."""
    with pytest.raises(InputError, match=r"exact, withheld or a step in degrees \(1, 0.1, 0.01"):
        parse_coordinate_rule(text)
