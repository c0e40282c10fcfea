"""Slates and plans as JSON texts, as they are kept, and back."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, fields

from corallum.records.survey import Effort, Line, Method, Stratum, SurveyPlan

__all__ = [
    "effort_from_text", "effort_to_text", "lines_from_text", "lines_to_text", "plan_from_text",
    "plan_to_text",
]  # fmt: skip

_DEFAULTS = {
    field.name: field.default for field in fields(Line) if field.name not in ("said", "label")
}


def _text(value: object) -> str:
    """Write JSON that is the same each time."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, allow_nan=False)


def lines_to_text(lines: Sequence[Line]) -> str:
    """Write lines; what is as it is by default is left out."""
    return _text([
        {name: value for name, value in asdict(line).items()
         if name not in _DEFAULTS or value != _DEFAULTS[name]}
        for line in lines
    ])  # fmt: skip


def lines_from_text(text: str) -> tuple[Line, ...]:
    """Read lines."""
    return tuple(Line(**values) for values in json.loads(text))


def effort_to_text(effort: Effort) -> str:
    """Write what was searched."""
    return _text({name: value for name, value in asdict(effort).items() if value is not None})


def effort_from_text(text: str) -> Effort:
    """Read what was searched."""
    return Effort(**json.loads(text))


def plan_to_text(plan: SurveyPlan) -> str:
    """Write a plan, its survey left out."""
    values = asdict(plan)
    del values["survey"]
    return _text(values)


def plan_from_text(survey: str, text: str) -> SurveyPlan:
    """Read the plan of a survey."""
    values = json.loads(text)
    strata = tuple(
        Stratum(one["name"], one["area"], tuple(one["sites"])) for one in values.pop("strata")
    )
    effort = Effort(**values.pop("effort"))
    observers = tuple(values.pop("observers"))
    method = Method(values.pop("method"))
    return SurveyPlan(
        survey, method, strata, values.pop("transects_per_site"), effort, observers, **values
    )
