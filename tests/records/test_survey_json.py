"""Slates and plans as they are kept come back as they were."""

from __future__ import annotations

import json
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.records.survey import Effort, Line, Method, Stratum, SurveyPlan
from corallum.records.survey_json import (
    effort_from_text,
    effort_to_text,
    lines_from_text,
    lines_to_text,
    plan_from_text,
    plan_to_text,
)

TEXTS = st.text(max_size=12)
FLOATS = st.floats(allow_nan=False, allow_infinity=False)
WHOLE = st.integers(0, 10**9)
MAYBE = st.none() | FLOATS
LINES = st.builds(
    Line, TEXTS, TEXTS, st.sampled_from(["genus", "unidentified", "other", "unreadable"]),
    form=TEXTS, from_cm=MAYBE, to_cm=MAYBE, frame=st.none() | WHOLE, point=st.none() | WHOLE,
    x=MAYBE, y=MAYBE, diameter_cm=MAYBE, off_line_cm=MAYBE, count=WHOLE, cover_percent=MAYBE,
    colony=TEXTS, photo=st.none() | TEXTS, note=TEXTS,
)  # fmt: skip
EFFORTS = st.builds(
    Effort, MAYBE, MAYBE, MAYBE, st.none() | WHOLE, st.none() | WHOLE, MAYBE
)  # fmt: skip
STRATA = st.builds(Stratum, TEXTS, FLOATS, st.lists(TEXTS, max_size=3).map(tuple))
PLANS = st.builds(
    SurveyPlan, TEXTS, st.sampled_from(list(Method)), st.lists(STRATA, max_size=3).map(tuple),
    WHOLE, EFFORTS, st.lists(TEXTS, max_size=3).map(tuple), FLOATS, st.none() | TEXTS,
    st.booleans(), WHOLE, note=TEXTS,
)  # fmt: skip


@given(st.lists(LINES, max_size=5))
def test_lines_come_back(lines: list[Line]) -> None:
    """Lines written and read are the same, in the same order."""
    assert lines_from_text(lines_to_text(lines)) == tuple(lines)


@given(EFFORTS)
def test_an_effort_comes_back(effort: Effort) -> None:
    """An effort written and read is the same; what is None is left out."""
    text = effort_to_text(effort)
    assert effort_from_text(text) == effort
    assert None not in json.loads(text).values()


@given(PLANS)
def test_a_plan_comes_back(plan: SurveyPlan) -> None:
    """A plan written and read is the same, its method and strata of their own kinds."""
    found = plan_from_text(plan.survey, plan_to_text(plan))
    assert found == plan
    assert type(found.method) is Method


def test_a_line_is_kept_short() -> None:
    """What is as it is by default takes no room, and every field is kept where it is not."""
    plain = Line("sand", "sand", "other")
    assert lines_to_text([plain]) == '[{"kind": "other", "label": "sand", "said": "sand"}]'
    full = Line("a", "b", "c", "d", 1.0, 2.0, 3, 4, 0.5, 0.6, 7.0, 8.0, 9, 10.0, "e", "f", "g")
    (kept,) = json.loads(lines_to_text([full]))
    assert set(kept) == {field.name for field in fields(Line)}


@given(st.lists(LINES, max_size=3))
def test_the_same_lines_are_the_same_text(lines: list[Line]) -> None:
    """Read and written again, the text is the same to the letter."""
    text = lines_to_text(lines)
    assert lines_to_text(lines_from_text(text)) == text


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_what_is_no_number_is_never_kept(value: float) -> None:
    """No text is written that other readers of JSON could not read."""
    with pytest.raises(ValueError, match="JSON"):
        lines_to_text([Line("a", "b", "genus", from_cm=value)])
    with pytest.raises(ValueError, match="JSON"):
        effort_to_text(Effort(length_cm=value))
