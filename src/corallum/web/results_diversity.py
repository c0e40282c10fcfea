"""How many genera, families or forms a survey met, and how many there are."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.survey_diversity import (
    DIVERSITY_BY,
    PlaceDiversity,
    SurveyDiversity,
    diversity_of,
)
from corallum.actions.survey_estimates import Span
from corallum.estimate.richness import RichnessEstimate
from corallum.estimate.singletons import Richness
from corallum.web.plots import KINDS, draw_curve
from corallum.web.results import survey_name
from corallum.web.results_kept import kept
from corallum.web.results_words import number
from corallum.web.visit import Visited

__all__ = ["RichnessLine", "router"]

router = APIRouter()

Short = Annotated[str, Query(max_length=200)]
_MOST_PLACES = 200


@dataclass(frozen=True, slots=True)
class RichnessLine:
    """A measure of richness or diversity, as said and with singletons looked at again."""

    label: str
    said: str
    rechecked: str


def _measures(one: Richness, kinds: str) -> list[tuple[str, str]]:
    """Say the measures of one sample."""
    observed, endless = one.diversity.observed, one.diversity.asymptotic
    return [
        (f"{kinds[:1].upper()}{kinds[1:]} met", str(one.met)),
        ("Met once", str(one.once)),
        ("Met twice", str(one.twice)),
        ("Share of records that are of those met", f"{100 * one.coverage:.1f} %"),
        ("Chao1, with (n − 1)/n", _chao(one.chao1)),
        ("Chao1, bias-corrected", _chao(one.chao1_bias_corrected)),
        ("ACE", _many(one.ace)),
        ("Shannon's H (natural logarithm)", _many(one.diversity.entropy, 2)),
        ("Hill number of order 1, in the sample", _many(observed.shannon)),
        ("Hill number of order 2, in the sample", _many(observed.simpson)),
        ("Hill number of order 1, of a sample without end", _many(endless.shannon)),
        ("Hill number of order 2, of a sample without end", _many(endless.simpson)),
    ]


def _many(value: float, digits: int = 1) -> str:
    """Say a number of genera; one without end can't be told."""
    return number(value, digits) if math.isfinite(value) else "can't be told"


def _chao(one: RichnessEstimate) -> str:
    """Say an estimate of richness and its interval."""
    if not math.isfinite(one.value):
        return "can't be told"
    low, high = (_many(part, 0) for part in (one.low, one.high))
    upper = f"to {high}" if math.isfinite(one.high) else "or more"
    return f"{one.value:.1f} ({low} {upper})" if math.isfinite(one.low) else f"{one.value:.1f}"


def _met(one: Richness, kinds: str) -> str:
    """Say how many were met, and how many there are."""
    if one.met == 1:
        kinds = {"genera": "genus", "families": "family"}.get(kinds, "growth form")
    met = f"{one.met} {kinds} of stony coral {'was' if one.met == 1 else 'were'} met"
    if not math.isfinite(one.chao1.value):
        return f"{met}; how many there are can't be told."
    if one.chao1.value < one.met + 0.05:
        return f"{met}; nothing in the records says that others are there."
    return f"{met}; about {_chao(one.chao1)} are there, by Chao1."


def _hill(span: Span | None) -> str:
    """Say a Hill number with its interval."""
    if span is None:
        return "no interval: a stratum has one transect"
    ends = (span.low, span.high)
    if not all(map(math.isfinite, ends)):
        return f"{number(span.value, 1)} (no interval)"
    return f"{number(span.value, 1)} ({number(span.low, 1)} to {number(span.high, 1)})"


def _place_line(one: PlaceDiversity) -> tuple[str, ...]:
    """Say the diversity of a stratum or a site."""
    observed = one.diversity.observed
    return (
        one.level, one.name, str(one.transects), _many(observed.richness, 0),
        _many(observed.shannon), _many(observed.simpson), f"{100 * one.coverage:.0f} %",
    )  # fmt: skip


@router.get("/results/{survey}/diversity")
def diversity(visit: Visited, survey: str, by: Short = "genus") -> Response:
    """Show how many genera, families or forms there are, and how evenly they share."""
    name = survey_name(visit, survey)
    found: SurveyDiversity = kept(
        visit, ("diversity", survey, by), lambda: diversity_of(visit.programme, survey, by)
    )
    kinds = KINDS[by]
    said = _measures(found.richness.said, kinds)
    again = _measures(found.richness.rechecked, kinds)
    rows = [
        RichnessLine(label, before, after)
        for (label, before), (_, after) in zip(said, again, strict=True)
    ]
    notes = [one.note for one in (found.richness.said.chao1, found.richness.rechecked.chao1)]
    return visit.page(
        "results_diversity.html",
        survey=survey, name=name, by=by, ways=DIVERSITY_BY, kinds=kinds, found=found, rows=rows,
        by_transects=_by_transects(found), sentence=_met(found.richness.rechecked, kinds),
        hill=(_hill(found.shannon), _hill(found.simpson)), plot=draw_curve(found),
        notes=[f"{one[:1].upper()}{one[1:]}." for one in dict.fromkeys(notes) if one],
        places=[_place_line(one) for one in found.places[:_MOST_PLACES]],
        more_places=max(0, len(found.places) - _MOST_PLACES),
    )  # fmt: skip


def _by_transects(found: SurveyDiversity) -> list[tuple[str, str]]:
    """Say the estimates that rest on presence on transects."""
    one = found.incidence
    if one is None:
        return []
    return [
        ("Chao2", _chao(one.chao2)),
        ("Jackknife, first order", f"{one.jackknife_1:.1f} ± {1.96 * one.jackknife_1_se:.1f}"),
        ("Jackknife, second order", _many(one.jackknife_2)),
        ("Bootstrap", f"{one.bootstrap:.1f} ± {1.96 * one.bootstrap_se:.1f}"),
    ]
