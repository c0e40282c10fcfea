"""How many genera, families or forms a survey met, and how many there are."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.diversity_words import (
    hill_words,
    met_sentence,
    place_line,
    richness_lines,
    richness_notes,
    transect_lines,
)
from corallum.actions.result_plots import KINDS, draw_curve
from corallum.actions.survey_diversity import DIVERSITY_BY, SurveyDiversity, diversity_of
from corallum.web.results import survey_name
from corallum.web.results_kept import kept
from corallum.web.visit import Visited

__all__ = ["router"]

router = APIRouter()

Short = Annotated[str, Query(max_length=200)]
_MOST_PLACES = 200


@router.get("/results/{survey}/diversity")
def diversity(visit: Visited, survey: str, by: Short = "genus") -> Response:
    """Show how many genera, families or forms there are, and how evenly they share."""
    name = survey_name(visit, survey)
    found: SurveyDiversity = kept(
        visit, ("diversity", survey, by), lambda: diversity_of(visit.programme, survey, by)
    )
    kinds = KINDS[by]
    return visit.page(
        "results_diversity.html",
        survey=survey, name=name, by=by, ways=DIVERSITY_BY, kinds=kinds, found=found,
        rows=richness_lines(found),
        by_transects=transect_lines(found), sentence=met_sentence(found.richness.rechecked, kinds),
        hill=(hill_words(found.shannon), hill_words(found.simpson)), plot=draw_curve(found),
        notes=richness_notes(found),
        places=[place_line(one) for one in found.places[:_MOST_PLACES]],
        more_places=max(0, len(found.places) - _MOST_PLACES),
    )  # fmt: skip
