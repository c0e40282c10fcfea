"""Ticks are round, even, cover the data, and have room."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.draw.plots.axes import known, lay_axis, round_ticks, tick_texts
from corallum.draw.plots.text import wide

DATA = st.floats(-1e12, 1e12, allow_subnormal=False)


@pytest.mark.parametrize(
    ("low", "high", "most", "ticks"),
    [
        # Worked by hand from the rule: the finest step of 1, 2 or 5 that gives no more.
        (0, 43, 6, [0, 10, 20, 30, 40, 50]),
        (0, 1, 6, [0, 0.2, 0.4, 0.6, 0.8, 1]),
        (-3, 5, 6, [-4, -2, 0, 2, 4, 6]),
        (0.12, 0.31, 5, [0.1, 0.2, 0.3, 0.4]),
        (7, 3, 5, [3, 4, 5, 6, 7]),
        (0, 0, 6, [0, 0.2, 0.4, 0.6, 0.8, 1]),
    ],
)
def test_ticks_are_those_worked_by_hand(
    low: float, high: float, most: int, ticks: list[float]
) -> None:
    """Known ends give the ticks that a person would rule."""
    assert round_ticks(low, high, most) == ticks


@given(low=DATA, high=DATA, most=st.integers(2, 12))
def test_ticks_are_round_even_and_cover_the_data(low: float, high: float, most: int) -> None:
    """Steps are even, 1, 2 or 5 times a power of ten, and the ends lie at or beyond the data."""
    ticks = round_ticks(low, high, most)

    assert 2 <= len(ticks) <= max(most, 3)
    slack = 1e-8 * (ticks[-1] - ticks[0])
    assert ticks[0] <= min(low, high) + slack
    assert ticks[-1] >= max(low, high) - slack
    step = (ticks[-1] - ticks[0]) / (len(ticks) - 1)
    assert all(math.isclose(b - a, step, rel_tol=1e-6) for a, b in pairwise(ticks))
    leading = step / 10.0 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(leading - part) for part in (1, 2, 5)) < 1e-6


@given(low=DATA, high=DATA, most=st.integers(2, 12))
def test_ticks_texts_are_exact_and_differ(low: float, high: float, most: int) -> None:
    """A tick's text, read back, is the tick itself, so no two are the same."""
    ticks = round_ticks(low, high, most)
    texts = tick_texts(ticks)

    plain = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹\u2212", "-0123456789-")
    for tick, text in zip(ticks, texts, strict=True):
        mantissa, _, power = text.translate(plain).partition("×10")
        value = Fraction(mantissa) * Fraction(10) ** int(power or 0)
        assert math.isclose(value, tick, rel_tol=1e-9, abs_tol=1e-15)
    assert len(set(texts)) == len(texts)


@given(values=st.lists(DATA, min_size=1, max_size=6), room=st.floats(180, 600))
def test_ticks_texts_of_an_axis_from_0_keep_apart(values: list[float], room: float) -> None:
    """On an axis that holds 0, as those of estimates do, texts stay within the room and apart."""
    axis = lay_axis([0.0, *values], 20, 20 + room)

    ends = [(x - wide(text) / 2, x + wide(text) / 2) for x, text in axis.places()]
    assert ends[0][0] >= 20 - 1e-6
    assert ends[-1][1] <= 20 + room + 1e-6
    assert all(a[1] < b[0] for a, b in pairwise(ends))


@given(values=st.lists(DATA, min_size=2, max_size=6))
def test_places_keep_the_order_of_values(values: list[float]) -> None:
    """The greater value lies further along the axis, all of them on it."""
    axis = lay_axis(values, 0, 300)

    places = [axis.at(value) for value in sorted(values)]

    assert places == sorted(places)
    assert all(axis.start <= place <= axis.end for place in places)


def test_an_axis_is_even() -> None:
    """Half way between two values lies half way between their places."""
    axis = lay_axis([0, 40], 0, 300)

    assert axis.at(20) == pytest.approx((axis.at(0) + axis.at(40)) / 2)


def test_what_no_survey_counts_is_unknown() -> None:
    """Missing, endless and absurd numbers are unknown; 0 and negative ones are known."""
    assert [known(v) for v in (None, math.nan, math.inf, 1e13)] == [None] * 4
    assert [known(v) for v in (0.0, -2.0)] == [0.0, -2.0]
