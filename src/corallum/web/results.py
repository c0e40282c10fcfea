"""What a survey says about the reef: figures as said and corrected, by group and by place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.places import get_event, list_sites
from corallum.actions.result_plots import draw_pairs, draw_sites
from corallum.actions.result_words import (
    Figure,
    doubt_sentence,
    estimate_sentence,
    figure,
    genera_of,
    group_label,
    largest_first,
    matters_most,
    names_share,
    row_figures,
    unit_words,
)
from corallum.actions.survey_csv import estimate_csv
from corallum.actions.survey_estimates import (
    BY,
    EstimateQuestion,
    SurveyEstimate,
    SurveyRow,
    estimate_survey,
)
from corallum.actions.survey_plans import SurveyCard, list_surveys
from corallum.errors import NotFoundError
from corallum.estimate.survey_table import ALL_CORAL
from corallum.records.amounts import unit_of
from corallum.web.results_files import csv_response, file_name, svg_response
from corallum.web.results_kept import kept
from corallum.web.visit import Visit, Visited

__all__ = ["TableRow", "address", "router", "survey_name", "table_rows"]

router = APIRouter()

Short = Annotated[str, Query(max_length=200)]
# Places in a table; all of them are in the file.
_MOST_PLACES = 200
# A report of growth forms is not made: that of genera is given.
_REPORTED = {"form": {"by": "genus"}}
UrlOf = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row of a table of figures."""

    label: str
    italic: bool
    href: str
    records: int
    transects: int
    said: Figure | None
    by_readings: Figure | None
    by_errors: Figure | None
    share: float | None


def address(path: str, **asked: str) -> str:
    """Return a path with what is asked; what is empty is left out."""
    kept_ = urlencode({key: value for key, value in asked.items() if value})
    return f"{path}?{kept_}" if kept_ else path


def survey_name(visit: Visit, survey: str) -> str:
    """Return the name of a survey.

    Raises
    ------
    NotFoundError
        Where there is none of that id.
    """
    event = get_event(visit.programme, survey)
    if event.kind != "survey":
        raise NotFoundError("survey", survey)
    return event.name


@router.get("/results")
def all_results(visit: Visited) -> Response:
    """List the surveys that have slates, and offer to compare two."""
    cards = list_surveys(visit.programme)
    done = [card for card in cards if card.done]
    names = {card.event.id: card.event.name for card in cards}
    return visit.page(
        "results.html",
        cards=done,
        waiting=[card for card in cards if not card.done],
        names=names,
        with_slates={card.event.id for card in done},
        pair=_pair(done),
    )


def _pair(done: Sequence[SurveyCard]) -> tuple[str, str]:
    """Return the two surveys to compare first: one after what it follows, or two of a unit."""
    ids = {card.event.id for card in done}
    for card in done:
        if card.plan.follows in ids:
            return str(card.plan.follows), card.event.id
    for after, before in combinations(done, 2):
        if unit_of(after.plan.method) == unit_of(before.plan.method):
            return before.event.id, after.event.id
    return "", ""


def estimate_of(visit: Visit, survey: str, by: str, errors: str) -> SurveyEstimate:
    """Estimate a survey, or return what was reckoned before."""
    question = EstimateQuestion(survey, by, errors=errors == "1")
    return kept(visit, question, lambda: estimate_survey(visit.programme, question))


@router.get("/results/{survey}")
def one_result(
    visit: Visited, survey: str, by: Short = "genus", errors: Short = "0", site: Short = ""
) -> Response:
    """Show a survey, or one of its sites."""
    name = survey_name(visit, survey)
    found = estimate_of(visit, survey, by, errors)
    rows = _rows_at(found, site)
    genera = genera_of(found.data.table)
    whole = next((row for row in rows if row.group == ALL_CORAL), None)
    place = rows[0].name if site and rows else ""
    where = f" at {place}" if place else ""
    unit = found.data.unit
    url = f"/results/{survey}"
    asked = {"by": by, "errors": errors if errors == "1" else ""}
    return visit.page(
        "result.html",
        survey=survey, name=name, place=place, site=site, unit=unit, found=found, by=by, ways=BY,
        errors=errors == "1",
        sentence=estimate_sentence(whole, unit, where) if whole else "",
        doubt=doubt_sentence(names_share(whole)) if whole else "",
        matters=[(group, share, group in genera) for group, share in matters_most(rows)],
        plot=draw_pairs(rows, unit, genera),
        rows=table_rows(rows, unit, genera, f"{url}/behind", {"by": by, "site": site}),
        no_end=any(_endless(row, unit) for row in rows),
        units=unit_words(unit),
        report_pdf=address(f"{url}/report.pdf", **asked | _REPORTED.get(by, {})),
        report_page=address(f"{url}/report.html", **asked | _REPORTED.get(by, {})),
        csv=address(f"{url}/table.csv", **asked),
        svg=address(f"{url}/plot.svg", **asked, site=site),
        with_errors=address(url, by=by, errors="1", site=site),
        without_site=address(url, **asked),
        **({} if site else _places(visit, found, url, asked)),
    )  # fmt: skip


def _rows_at(found: SurveyEstimate, site: str) -> list[SurveyRow]:
    """Return the rows of all the survey or of one site: all coral first, then the largest."""
    rows = found.of("site", site) if site else found.of("survey")
    if site and not rows:
        raise NotFoundError("site with slates", site)
    return largest_first(rows)


def _endless(row: SurveyRow, unit: str) -> bool:
    """Whether some interval of a row has no upper end."""
    spans = (row.said, row.by_readings, row.by_errors)
    return any(
        one is not None and "no upper end" in one.interval
        for one in (figure(span, unit) for span in spans)
    )


def _row(row: SurveyRow, unit: str, label: str, href: str, *, italic: bool) -> TableRow:
    """Return a row of a table; its figures have the same digits, to be compared."""
    told = row_figures(row, unit)
    return TableRow(
        label,
        italic,
        href,
        row.lines,
        row.transects,
        told.said,
        told.by_readings,
        told.by_errors,
        names_share(row),
    )


def table_rows(
    rows: Iterable[SurveyRow],
    unit: str,
    genera: Iterable[str],
    behind: str,
    asked: dict[str, str],
) -> list[TableRow]:
    """Return figures as the table shows them, each group leading to the records behind it."""
    italic = frozenset(genera)
    return [
        _row(
            row, unit, group_label(row.group), address(behind, group=row.group, **asked),
            italic=row.group in italic,
        )
        for row in rows
    ]  # fmt: skip


def _places(visit: Visit, found: SurveyEstimate, url: str, asked: dict[str, str]) -> dict[str, Any]:
    """Return all stony coral by stratum and by site, and the map of the sites."""
    unit = found.data.unit
    plan = found.data.plan
    stratum_of = {site: one.name for one in plan.strata for site in one.sites}
    strata = [row for row in found.of("stratum") if row.group == ALL_CORAL]
    sites = [row for row in found.of("site") if row.group == ALL_CORAL]
    known = [one for one in list_sites(visit.programme) if one.id in stratum_of]

    def url_of(site: str) -> str:
        return address(url, **asked, site=site)

    return {
        "strata": _place_rows(strata, unit, lambda _: ""),
        "sites": _place_rows(sites[:_MOST_PLACES], unit, url_of),
        "more_sites": max(0, len(sites) - _MOST_PLACES),
        "stratum_of": {row.name: stratum_of.get(row.place, "") for row in sites},
        "map": draw_sites(
            known, {row.place: row.best.value for row in sites}, stratum_of, unit, url_of
        ),
        "placed": any(one.latitude is not None for one in known),
    }


def _place_rows(rows: Sequence[SurveyRow], unit: str, url: UrlOf) -> list[TableRow]:
    """Return the figures of places."""
    return [_row(row, unit, row.name, url(row.place), italic=False) for row in rows]


@router.get("/results/{survey}/table.csv")
def table(visit: Visited, survey: str, by: Short = "genus", errors: Short = "0") -> Response:
    """Hand out every figure as a table."""
    name = survey_name(visit, survey)
    found = estimate_of(visit, survey, by, errors)
    return csv_response(estimate_csv(found), file_name(name, "by", by))


@router.get("/results/{survey}/plot.svg")
def plot(
    visit: Visited, survey: str, by: Short = "genus", errors: Short = "0", site: Short = ""
) -> Response:
    """Hand out the plot as a picture of its own."""
    name = survey_name(visit, survey)
    found = estimate_of(visit, survey, by, errors)
    drawn = draw_pairs(_rows_at(found, site), found.data.unit, genera_of(found.data.table))
    return svg_response(drawn, file_name(name, "by", by))
