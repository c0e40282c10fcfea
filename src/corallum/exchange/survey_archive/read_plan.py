"""Build plans, efforts and draws out of the properties of events, which anybody may have written.

What is not as it was written raises one of ``NOT_AS_WRITTEN``; whoever calls says where.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from corallum.records.survey import Effort, Method, Stratum, SurveyPlan

__all__ = [
    "NOT_AS_WRITTEN",
    "draw_of_properties",
    "effort_of_properties",
    "one_line",
    "plan_of_properties",
]

NOT_AS_WRITTEN = (KeyError, TypeError, ValueError, AttributeError, OverflowError)
_COUNTS = ("frames", "points")
_MOST_NUMBER, _MOST_NOTE = 2**31, 4000


def one_line(value: object, most: int = 120) -> str:
    """Return a text of one line that is not blank."""
    if not isinstance(value, str) or not value.isprintable() or not 0 < len(value) <= most:
        raise ValueError(value)
    return value


def _number(value: object) -> float:
    """Return a number; true and false are none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(value)
    if not abs(value) < _MOST_NUMBER:
        raise ValueError(value)
    return value


def _whole(value: object) -> int:
    """Return a whole number."""
    if not isinstance(value, int) or isinstance(value, bool):
        raise TypeError(value)
    return int(_number(value))


def _choice(value: object) -> bool:
    """Return true or false."""
    if not isinstance(value, bool):
        raise TypeError(value)
    return value


def effort_of_properties(values: Mapping[str, Any]) -> Effort:
    """Return what was searched."""
    found: dict[str, Any] = {
        name: _whole(value) if name in _COUNTS else _number(value)
        for name, value in values.items()
        if value is not None
    }
    return Effort(**found)


def plan_of_properties(survey: str, values: Mapping[str, Any]) -> SurveyPlan:
    """Return the plan of a survey."""
    note = values["note"]
    if note and not one_line(note.replace("\n", " ").replace("\t", " "), _MOST_NOTE):
        raise ValueError(note)
    follows = values["follows"]
    return SurveyPlan(
        survey,
        Method(values["method"]),
        tuple(
            Stratum(one_line(one["name"]), _number(one["area"]), tuple(map(one_line, one["sites"])))
            for one in values["strata"]
        ),
        _whole(values["transects_per_site"]),
        effort_of_properties(values["effort"]),
        tuple(map(one_line, values["observers"])),
        _number(values["second_share"]),
        None if follows is None else one_line(follows),
        _choice(values["same_transects"]),
        _whole(values["seed"]),
        one_line(values["scatter"]),
        note,
        _choice(values["sites_drawn"]),
    )


def draw_of_properties(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return a draw of records to be read again, without the records."""
    asked_of = values["asked_of"]
    return {
        "id": _whole(values["id"]),
        "share": _number(values["share"]),
        "asked_of": None if asked_of is None else one_line(asked_of),
        "strata": {one_line(k): (_whole(a), _whole(b)) for k, (a, b) in values["strata"].items()},
    }
