"""What a line counts for, what was searched, and in which unit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.records.amounts import COVER_METHODS, amount_of, searched_of, unit_of
from corallum.records.survey import Effort, Line, Method


def line(**values: object) -> Line:
    """A line of a slate."""
    return Line("Porites", "Porites", "genus", **values)  # type: ignore[arg-type]


# By hand, from what each method counts (common practice, no source).
@pytest.mark.parametrize(
    ("method", "values", "amount"),
    [
        pytest.param(Method.LINE, {"from_cm": 12.5, "to_cm": 40.0}, 27.5, id="centimetres"),
        pytest.param(Method.LINE, {"from_cm": 40.0, "to_cm": 12.5}, 0.0, id="backwards"),
        pytest.param(Method.LINE, {"to_cm": 40.0}, 40.0, id="from the start of the tape"),
        pytest.param(Method.LINE, {}, 0.0, id="no readings"),
        pytest.param(Method.POINTS, {"count": 7}, 1.0, id="a point"),
        pytest.param(Method.PHOTO, {"frame": 2}, 1.0, id="a point on a photo"),
        pytest.param(Method.BELT, {"count": 7}, 7.0, id="colonies of a belt"),
        pytest.param(Method.QUADRAT, {"count": 7, "cover_percent": 3.0}, 7.0, id="colonies"),
        pytest.param(Method.QUADRAT_COVER, {"count": 7, "cover_percent": 3.0}, 3.0, id="percent"),
        pytest.param(Method.QUADRAT_COVER, {}, 0.0, id="no percent"),
    ],
)
def test_amount_of_a_line(method: Method, values: dict[str, object], amount: float) -> None:
    """A line counts for its centimetres, its point, its percent or its colonies."""
    assert amount_of(method, line(**values)) == amount


@pytest.mark.parametrize(
    ("method", "effort", "searched"),
    [
        pytest.param(Method.LINE, Effort(length_cm=1000.0), 950.0, id="what could be read"),
        pytest.param(Method.LINE, Effort(), 0.0, id="no tape"),
        pytest.param(Method.POINTS, Effort(points=200), 100.0, id="points that were read"),
        pytest.param(Method.PHOTO, Effort(frames=9, points=20), 100.0, id="points on photos"),
        # 25 m x 1 m.
        pytest.param(Method.BELT, Effort(length_cm=2500.0, width_cm=100.0), 25.0, id="belt"),
        pytest.param(Method.BELT, Effort(length_cm=2500.0), 0.0, id="no width"),
        pytest.param(Method.QUADRAT, Effort(frames=8, frame_area_m2=0.25), 2.0, id="quadrats"),
        pytest.param(Method.QUADRAT, Effort(frames=8), 0.0, id="no area"),
        pytest.param(Method.QUADRAT_COVER, Effort(frames=8), 750.0, id="percent of all"),
    ],
)
def test_searched_on_a_transect(method: Method, effort: Effort, searched: float) -> None:
    """What was searched is what could be read, or the square metres, 0 where it is not told."""
    assert searched_of(method, effort, read=100.0, unread=50.0) == searched


@pytest.mark.parametrize("method", list(Method))
def test_a_method_tells_cover_or_density(method: Method) -> None:
    """Lines, points and judged quadrats tell percent; belts and counted quadrats density."""
    density = method in (Method.BELT, Method.QUADRAT)
    assert unit_of(method) == ("colonies per m2" if density else "%")
    assert (method in COVER_METHODS) != density


LENGTHS = st.floats(0.0, 1e5)


@given(st.sampled_from(list(Method)), LENGTHS, LENGTHS, LENGTHS, LENGTHS)
def test_nothing_is_ever_less_than_nothing(
    method: Method, start: float, end: float, read: float, unread: float
) -> None:
    """No amount and no search is negative, whatever was written."""
    effort = Effort(length_cm=start, width_cm=end, frames=2, frame_area_m2=1.0)
    assert amount_of(method, line(from_cm=start, to_cm=end)) >= 0.0
    assert searched_of(method, effort, read=read, unread=unread) >= 0.0


@given(st.lists(LENGTHS, min_size=1, max_size=20))
def test_intercepts_side_by_side_add_up_to_the_tape(lengths: list[float]) -> None:
    """Intercepts of which each begins where the last ended sum to the last reading."""
    ends = [sum(lengths[: at + 1]) for at in range(len(lengths))]
    lines = [line(from_cm=a, to_cm=b) for a, b in zip([0.0, *ends], ends, strict=False)]
    assert sum(amount_of(Method.LINE, one) for one in lines) == pytest.approx(ends[-1])
