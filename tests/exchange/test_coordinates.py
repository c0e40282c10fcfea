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


@pytest.mark.parametrize("step", ["1", "0.1", "0.01", "0.001"])
@given(latitude=_latitudes, longitude=_longitudes)
def test_rounding_moves_a_position_no_further_than_said(
    step: str, latitude: float, longitude: float
) -> None:
    """The distance on a sphere of WGS84's greatest radius is at most the uncertainty."""
    rule = parse_coordinate_rule(step)
    at = rule.at(latitude, longitude)
    most = rule.uncertainty_m(latitude)

    assert at is not None
    assert most is not None
    north, east = math.radians(at[0] - latitude), math.radians(at[1] - longitude)
    narrowest = min(abs(at[0]), abs(latitude))
    moved = 6_378_137.0 * math.hypot(north, east * math.cos(math.radians(narrowest)))
    # Half a step of latitude makes meridians lie a little closer or wider.
    assert moved <= most * 1.01


@pytest.mark.parametrize("text", ["", "0.5", "close", "1e-2", "-0.01", "nan"])
def test_any_other_step_is_refused(text: str) -> None:
    """What is neither a word nor a step of ten is a fault that lists what may be."""
    with pytest.raises(InputError, match=r"exact, withheld or a step in degrees \(1, 0.1, 0.01"):
        parse_coordinate_rule(text)
