"""How large the next survey should be, with one that is done as its pilot."""

from __future__ import annotations

import math
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.result_plots import draw_effort, draw_parts
from corallum.actions.result_words import group_label, number, points_word
from corallum.actions.survey_effort import EffortAnswer, EffortQuestion, plan_effort
from corallum.actions.survey_tables import survey_data
from corallum.errors import Fault, InputError
from corallum.estimate.survey_table import ALL_CORAL
from corallum.web.forms import optional_number
from corallum.web.results import survey_name
from corallum.web.results_kept import kept
from corallum.web.visit import Visited
from corallum.web.words import percent

__all__ = ["effort_sentences", "router"]

router = APIRouter()

Short = Annotated[str, Query(max_length=200)]
_MOST = 100_000
_LEAST = 0.005


def _count(text: str, place: str) -> int:
    """Read a whole number; 0 where nothing was typed."""
    value = optional_number(text, place) or 0.0
    if value != int(value) or not 0 <= value <= _MOST:
        remedy = "Leave it empty for as many as in the pilot."
        raise InputError([Fault("plan", place, f"a whole number to {_MOST}", text, remedy)])
    return int(value)


@router.get("/results/{survey}/effort")
def effort(  # noqa: PLR0913, PLR0917  one for each field of the form
    visit: Visited,
    survey: str,
    half_width: Short = "",
    change: Short = "",
    observers: Short = "",
    second_readings: Short = "",
    points: Short = "",
    group: Short = ALL_CORAL,
) -> Response:
    """Show what the next survey takes, and what each effort buys."""
    name = survey_name(visit, survey)
    question = EffortQuestion(
        survey,
        group.strip() or ALL_CORAL,
        half_width=optional_number(half_width, "half width"),
        change=optional_number(change, "change"),
        observers=_count(observers, "observers"),
        second_readings=_count(second_readings, "second readings"),
        points=_count(points, "points") or None,
    )
    answer = kept(visit, question, lambda: plan_effort(visit.programme, question))
    data = kept(visit, ("data", survey), lambda: survey_data(visit.programme, survey))
    table = data.table
    labels = [one for one, coral in zip(table.labels, table.is_coral, strict=True) if coral]
    asked = {
        "half_width": half_width, "change": change, "observers": observers,
        "second_readings": second_readings, "points": points,
    }  # fmt: skip
    return visit.page(
        "results_effort.html",
        survey=survey, name=name, question=question, answer=answer, asked=asked,
        groups=[ALL_CORAL, *labels], label=group_label,
        told=effort_sentences(answer, question), with_points=answer.parts.points > 0,
        plot=draw_effort(answer, question.half_width), parts=draw_parts(answer),
        planned=answer.planned, unit=points_word(answer.unit), rows=_parts(answer),
        found=_found(answer, group_label(question.group)),
    )  # fmt: skip


def effort_sentences(answer: EffortAnswer, question: EffortQuestion) -> list[str]:
    """Say what the next survey takes, and what one as large as the pilot can see."""
    unit = points_word(answer.unit)
    digits = _digits(answer.half_width)
    told = []
    wishes = []
    if question.half_width is not None:
        wishes.append(f"know it to ± {question.half_width:g} {unit}")
    if question.change is not None:
        wishes.append(
            f"see a change of {question.change:g} {unit} {percent(question.power)} of the time"
        )
    if answer.transects is not None:
        needed = max(2, math.ceil(answer.transects))
        told.append(f"To {' and '.join(wishes)}, it takes {needed} transects.")
    elif answer.why:
        told.append(f"No number of transects will do to {' and '.join(wishes)}.")
        told.append(answer.why)
    as_large = f"{answer.planned.transects:.0f} transects, as many as this survey had,"
    told.append(
        f"{as_large} would tell it to ± {number(answer.half_width, digits)} {unit}, and show a "
        f"change between two such surveys of {number(answer.detectable, digits)} {unit} "
        f"{percent(question.power)} of the time."
    )
    fixed = answer.parts.observers + answer.parts.identification
    if answer.parts.total > 0 and fixed / answer.parts.total >= _LEAST:
        told.append(
            f"{percent(fixed / answer.parts.total)} of the variance comes from observers and "
            "names: more transects don't lessen that part, second readings and practice do."
        )
    else:
        told.append(
            "Observers and names add next to nothing to it, as far as this survey can tell."
        )
    return told


def _found(answer: EffortAnswer, label: str) -> str:
    """Say what the pilot found."""
    value = number(answer.value, max(_digits(answer.half_width), 1))
    if answer.unit == "%":
        return f"{label} covered {value} % of the bottom."
    return f"There were {value} colonies per m²: {label[:1].lower()}{label[1:]}."


def _digits(value: float) -> int:
    """Return how many digits after the point tell a half width."""
    if not math.isfinite(value) or value <= 0:
        return 1
    return min(max(1 - math.floor(math.log10(value)), 0), 4)


def _parts(answer: EffortAnswer) -> list[tuple[str, str, str, str]]:
    """Return each part of the variance: its name, its share, its own ±, and what lessens it."""
    total = answer.parts.total
    named = (
        ("The reef between transects", answer.parts.transects, "more transects"),
        ("Points within transects", answer.parts.points, "more points on each transect"),
        ("Observers who differ", answer.parts.observers, "more observers, or practice together"),
        ("Names", answer.parts.identification, "more second readings"),
    )
    return [
        (
            label, percent(part / total) if total > 0 else "—",
            number(1.96 * math.sqrt(part), _digits(1.96 * math.sqrt(part))), remedy,
        )
        for label, part, remedy in named
    ]  # fmt: skip
